"""The desk at which entries are drafted: what is there already, what has been asked for, what a name stands for."""

from collections.abc import Callable
from collections.abc import Sequence as Sequence_
from dataclasses import dataclass, field, fields, is_dataclass, replace
from fractions import Fraction
from typing import Any, TypeVar, cast

from latchproof.listing import amounts
from latchproof.listing.draft import Draft
from latchproof.listing.fixed import Names, names_of
from latchproof.listing.layers import Layers, layers_of
from latchproof.listing.plain import word
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Counter, Latch, NamedSignalDefinition, Phase, RuleSet, Sequence
from latchproof.transmitter.model import Transmitter

Key = e.Signal | e.Number
X = TypeVar("X")


@dataclass
class Desk:
    """Equal expressions share one entry. What is named but not drafted yet is in `wanted`, in the order of asking."""

    rules: RuleSet
    device: Transmitter | None = None
    """How numbers are entered, where that is known."""
    drafts: dict[str, Draft] = field(default_factory=dict)
    alias: dict[str, str] = field(default_factory=dict)
    wanted: list[str] = field(default_factory=list)
    untouched: dict[str, Draft] = field(default_factory=dict)
    """Channels that nothing acts on and nothing reads, with what they have already."""
    _keys: dict[Key, str] = field(default_factory=dict)
    _layers: dict[str, Layers] = field(default_factory=dict)
    _asked: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.n: Names = names_of(self.rules)
        r = self.rules
        things = (r.switches, r.buttons, r.controls, r.sensors, r.channels)
        self._plainly = _plainly([x.name for several in things for x in several])
        self.signals: dict[str, NamedSignalDefinition] = {s.name: s for s in self.rules.signals}
        self.latches: dict[str, Latch] = {x.name: x for x in self.rules.latches}
        self.counters: dict[str, Counter] = {c.name: c for c in self.rules.counters}
        self.conditions: dict[str, e.Signal] = {
            **{str(r.role): r.signal for r in self.rules.roles},
            **{s.name: s.condition for s in self.rules.sequences},
            **{r.name: r.condition for r in self.rules.rules},
            **{s.name: s.signal for s in self.rules.signals},
        }
        self.phases: dict[str, tuple[Sequence, int, Phase]] = {
            f"{s.name}.{p.name}": (s, i, p) for s in self.rules.sequences for i, p in enumerate(s.phases)
        }
        self.acted_on: frozenset[str] = frozenset(
            a.channel
            for actions in (*(r.actions for r in self.rules.rules), *(p.actions for _, _, p in self.phases.values()))
            for a in actions
            if not isinstance(a, Announce)
        )

    def layers(self, name: str) -> Layers:
        """Who acts on this channel or control."""
        if name not in self._layers:
            self._layers[name] = layers_of(self.rules, name)
        return self._layers[name]

    def want(self, name: str) -> str:
        """The key under which the thing of this name will stand."""
        if name not in self._asked:
            self._asked.add(name)
            self.wanted.append(name)
        return name

    def mention(self, name: str) -> None:
        """A name that needs no entry of its own is used."""
        self._asked.add(name)

    def was_asked(self, name: str) -> bool:
        return name in self._asked

    def once(self, x: Key, make: Callable[[str], None]) -> str:
        """The key of the entry for an expression, drafted by `make` when it is the first of its kind."""
        key = self._keys.get(x)
        if key is None:
            key = self._keys[x] = f"@{len(self._keys) + 1}"
            make(key)
        return key

    def put(self, draft: Draft) -> Draft:
        self.drafts[draft.key] = draft
        return draft

    def found(self, key: str) -> Draft | None:
        return self.drafts.get(self.alias.get(key, key))

    # ---------- what the pilot calls the things in his hand

    def switch(self, name: str) -> str:
        return _called(name, "switch", self._plainly)

    def button(self, name: str) -> str:
        return _called(name, "button", self._plainly)

    def control(self, name: str) -> str:
        return _called(name, self.n.controls[name].kind, self._plainly)

    def sensor(self, name: str) -> str:
        return word(name) if name in self._plainly else name

    def channel(self, name: str) -> str:
        return word(name) if name in self._plainly else name

    def pulse(self, value: Fraction, low: Fraction) -> str:
        """The pulse of a channel at so many percent of the rules, and what a known transmitter shows then."""
        width = amounts.pulse_width(value, low)
        if self.device is None:
            return width
        p, us = self.device.pulses, amounts.microseconds(value, low)
        ends = (p.middle, p.high) if us >= 1500 else (p.low, p.middle)
        at = ends[0] + (ends[1] - ends[0]) * (us - (1500 if us >= 1500 else 1000)) / 500
        return width if at == value else f"{width}, shown here as {amounts.digits(at)} %"

    def points(self, value: Fraction, low: Fraction, per: str = "") -> str:
        """A difference in percent of the rules, as a known transmitter shows it, where that is another number."""
        if self.device is None:
            return ""
        p = self.device.pulses
        if p.high - p.middle != p.middle - p.low:
            return ""
        there = value * (p.high - p.low) / 1000 * (5 if low < 0 else 10)
        return "" if there == value else f"shown here as {amounts.digits(there)} %{per}"

    def position(self, switch: str, position: int) -> str:
        places = next(s.positions for s in self.rules.switches if s.name == switch)
        return word(places[position]) if places[position] in _plainly(places) else places[position]

    def positions(self, switch: str) -> int:
        return next(len(s.positions) for s in self.rules.switches if s.name == switch)


_THINGS = (
    "button", "dial", "grip", "handle", "key", "knob", "lever", "pedal", "slider", "stick", "switch", "trigger",
    "wheel",
)  # fmt: skip
"""Names that already say what a hand takes hold of."""


_SPOKEN_FOR = frozenset(
    ("entry", "sensor", "seconds", "what", "at", "not", "held", "always", "never", "and", "times", "divided", "without",
     "plus", "minus", "smaller", "larger", "by", "about", "rate")
)  # fmt: skip
"""Words that fields are made of: a name with one of them is printed as it stands in the rule file."""


def _plainly(names: Sequence_[str]) -> frozenset[str]:
    """Names that can be printed in words without being taken for another, or for what is said about it."""
    said = [word(n).lower() for n in names]
    return frozenset(
        n for n, s in zip(names, said, strict=True) if said.count(s) == 1 and not _SPOKEN_FOR & set(s.split())
    )


def _called(name: str, kind: str, plainly: frozenset[str]) -> str:
    if name not in plainly:
        return f"{name} {kind}"
    said = word(name)
    if kind in said.split():
        return said
    return f"{said} ({kind})" if said.split()[-1] in _THINGS else f"{said} {kind}"


def reading_itself(x: X, name: str) -> X:
    """A reference of a memory to itself means the pass before; here that is said."""
    return cast(X, _rewritten(x, name))


def _rewritten(x: object, name: str) -> object:
    match x:
        case e.NamedSignal(name=named) if named == name:
            return e.PreviousSignal(x, span=x.span)
        case e.NamedNumber(name=named) if named == name:
            return e.PreviousNumber(x, span=x.span)
        case e.PreviousSignal() | e.PreviousNumber():
            return x  # what is said to be earlier is no earlier than that
        case tuple():
            return tuple(_rewritten(y, name) for y in x)
        case e.Located() if is_dataclass(x):
            inside = {f.name: getattr(x, f.name) for f in fields(x) if f.name != "span"}
            changed: dict[str, Any] = {k: _rewritten(v, name) for k, v in inside.items()}
            return replace(x, **changed) if changed != inside else x
        case _:
            return x
