"""The bench test as a card: what to do, what to expect, where to look if it is not so, and what to put back.

All texts are whole phrases; a renderer only lays them out.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from latchproof.bench.can_do import Way
from latchproof.bench.slips import CODES, Slip
from latchproof.bench.trial import Done, Fate, Trial
from latchproof.bench.trial_numbers import Numbers
from latchproof.bench.wording import doing, expected, standing, substituted
from latchproof.listing.amounts import seconds
from latchproof.listing.desk import Desk
from latchproof.listing.model import Listing
from latchproof.rules.model import RuleSet

PROPELLER = "PROPELLER OFF. Take it off, do not only trust the switch: this test runs the motor line."


@dataclass(frozen=True, slots=True)
class Look:
    """Where to look when a step shows something else: an entry, and its fields that could be wrong."""

    entry: int
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardStep:
    number: int
    do: str
    wait: str
    expect: tuple[str, ...]
    if_not: tuple[Look, ...]


@dataclass(frozen=True, slots=True)
class PutBack:
    """Something that the test changed: `field` of `entry` gets `value` again. `entry` 0: no entry."""

    text: str
    entry: int = 0


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One slip in words, and the checks that can show it."""

    entry: int
    text: str
    shown_by: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Totals:
    """`alone`: the steps of one test a slip, at most. `least`: no shorter test exists, None if that is not known."""

    slips: int
    shown: int
    nothing: int
    unseen: int
    not_decided: int
    refused: int
    steps: int
    alone: int
    least: int | None
    minutes: int


@dataclass(frozen=True, slots=True)
class Card:
    title: str
    version: str
    stage: str
    fingerprint: tuple[str, str]
    way: str
    """How the sensors are moved."""
    first: tuple[str, ...]
    substitute: tuple[str, ...]
    start: tuple[str, ...]
    steps: tuple[CardStep, ...]
    put_back: tuple[PutBack, ...]
    not_here: tuple[SlipLine, ...]
    nothing_today: tuple[SlipLine, ...]
    refused: tuple[SlipLine, ...]
    otherwise: tuple[str, ...]
    """Slips of whoever reads and checks, which make no entries of their own."""
    by_nothing: tuple[SlipLine, ...]
    """Slips that no check here shows. To be empty."""
    totals: Totals


def card(
    listing: Listing, rules: RuleSet, t: Trial, ways: dict[str, Way], flown: frozenset[int],
    numbers: Numbers | None = None,
) -> Card:  # fmt: skip
    """`flown`: places among the fates of slips that a flight which only warns would show."""
    desk = Desk(rules)
    lines = {n: _line(f, n in flown) for n, f in enumerate(t.fates)}

    def those(*states: str) -> tuple[SlipLine, ...]:
        return tuple(lines[n] for n, f in enumerate(t.fates) if f.state in states)

    swaps = substituted(desk, listing, ways, numbers)
    return Card(
        listing.title,
        listing.version,
        listing.stage,
        listing.fingerprint,
        ", ".join(dict.fromkeys(w.kind for w in ways.values())),
        FIRST,
        tuple(s.text for s in swaps),
        standing(desk, t.table.bench.rest, ways),
        tuple(_step(n, d, desk, t, ways) for n, d in enumerate(t.steps, 1)),
        tuple(PutBack(s.back, s.entry) for s in swaps),
        those("unseen", "not decided"),
        those("nothing"),
        those("refused"),
        OTHERWISE,
        tuple(x for n, x in lines.items() if t.fates[n].state in ("unseen", "not decided") and not x.shown_by),
        _totals(t),
    )


OTHERWISE = (
    "a row skipped or read twice, a sheet of another version: compare the fingerprint and count the rows",
    "ticked what was meant, not what is on the screen: a second person reads from the device to the sheet",
)


FIRST = (
    PROPELLER,
    "Hold the model fast, keep fingers, ties and tools away from everything that moves.",
    "The entries are in the transmitter and were read back from its screen once.",
    "Throttle at its lowest. Transmitter off and on again, then the model on: what was not kept is gone now.",
    "Do the steps in this order, without others between them. Being half a second early or late does no harm.",
    "If a step shows something else, stop. Look at the entries it points to, mend them, begin again from step 1.",
)


def _step(number: int, d: Done, desk: Desk, t: Trial, ways: dict[str, Way]) -> CardStep:
    seen = expected(d, desk, t.table)
    return CardStep(
        number,
        doing(desk, d, ways),
        f"wait {seconds(d.step.seconds)[0]}",
        seen,
        looks(t.fates[n].slip for n in d.points_to),
    )


MOST_LOOKS = 6


def looks(slips: Iterable[Slip]) -> tuple[Look, ...]:
    """The entries of these slips, those with the most first."""
    fields: dict[int, dict[str, None]] = {}
    often: Counter[int] = Counter()
    for s in slips:
        fields.setdefault(s.entry, {})[s.field or "the whole entry"] = None
        often[s.entry] += 1
    order = sorted(often, key=lambda n: (-often[n], n))
    return tuple(Look(n, tuple(fields[n])) for n in order)


def _line(f: Fate, flown: bool) -> SlipLine:
    s = f.slip
    where = f"entry {s.entry}" if s.entry else "the list"
    field = f", {s.field}" if s.field else ""
    text = f"{where}{field}: {s.stands} instead of {s.meant} ({CODES[s.code]})"
    if f.why:
        text += f"; {f.why}"
    if f.state == "not decided":
        text += "; not decided whether it does anything"
    checks = []
    if f.state == "shown":
        checks.append(f"step {f.step}")
    if f.read_back:
        checks.append("read back")
    if flown:
        checks.append("flight that only warns")
    return SlipLine(s.entry, text, tuple(checks))


def _totals(t: Trial) -> Totals:
    states = Counter(f.state for f in t.fates)
    total = sum((d.step.seconds + 6 for d in t.steps), Fraction(0))
    return Totals(
        len(t.fates), states["shown"], states["nothing"], states["unseen"], states["not decided"], states["refused"],
        len(t.steps), t.alone, None, -(-int(total) // 60),
    )  # fmt: skip
