"""Which switch, button, stick or slider of the transmitter serves which name of the rules."""

from dataclasses import dataclass
from typing import Literal

from latchproof.rules.model import RuleSet
from latchproof.transmitter.model import Hand, Transmitter, Way

InputKind = Literal["switch", "button", "stick", "knob"]

TAKES: dict[InputKind, tuple[str, ...]] = {
    "switch": ("switch", "button"),
    "button": ("button", "switch"),
    "stick": ("stick", "slider"),
    "knob": ("slider", "stick"),
}
"""What of a transmitter can serve as what in the rules; the better one first."""


@dataclass(frozen=True, slots=True)
class Serving:
    """An input of the rules and the hand that serves it, if the description names one.

    `ways`: of a switch, each position with its place, None where nothing says which it is; of three places two may be
    the same position, which then comes twice.
    """

    name: str
    kind: InputKind
    positions: tuple[str, ...]
    hand: Hand | None
    ways: tuple[tuple[str, Way | None], ...] = ()


def serving(t: Transmitter, rules: RuleSet) -> tuple[Serving, ...]:
    """All inputs of the rules that a hand moves, in the order of the file."""
    by_name = {h.serves: h for h in t.hands if h.serves}
    found: list[Serving] = []
    for s in rules.switches:
        hand = by_name.get(s.name)
        told = () if hand is None else hand.means
        found.append(
            Serving(s.name, "switch", s.positions, hand, tuple(w for p in s.positions for w in _ways(p, told)))
        )
    found += [Serving(b.name, "button", (), by_name.get(b.name)) for b in rules.buttons]
    found += [Serving(c.name, c.kind, (), by_name.get(c.name)) for c in rules.controls]
    return tuple(found)


def _ways(position: str, means: tuple[tuple[str, Way], ...]) -> tuple[tuple[str, Way | None], ...]:
    return tuple((p, way) for p, way in means if p == position) or ((position, None),)


def free(t: Transmitter, kind: InputKind, places: int = 0) -> tuple[Hand, ...]:
    """Hands that could serve and do nothing yet: of the right kind, with enough places, the fewest first."""
    used = {name for has in t.has for name in has.uses}
    fit = [
        h
        for h in t.hands
        if h.kind == TAKES[kind][0] and not h.taken and not h.serves and h.name not in used and len(h.places) >= places
    ]
    return tuple(sorted(fit, key=lambda h: (len(h.places), h.springs)))
