"""What reading back works with: the entries by number, what the things of the rules are called, and what is wrong."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import partial
from typing import Literal, TypeVar

from latchproof.listing.desk import Desk
from latchproof.listing.model import Entry, FieldKind
from latchproof.readback import model as m
from latchproof.readback.model import Problem
from latchproof.readback.values import read
from latchproof.rules.model import Channel, RuleSet
from latchproof.rules.units import Dimension
from latchproof.source import Span
from latchproof.transmitter.model import Transmitter

Yields = Literal["state", "number", "channel", "control", "sensor", "action", "announcement", "nothing"]
K = TypeVar("K")
V = TypeVar("V")
WHERE = "the listing"
"""The name of the text that entries stand in; an entry further down stands later in it."""

YIELDS: dict[str, Yields] = {
    **dict.fromkeys(
        (
            "comparison", "comparison of a rate of change", "comparison with two thresholds", "sensor has gone stale",
            "sensor has been heard", "who has the channel", "ALL of these (and)", "ANY of these (or)",
            "EXACTLY ONE of these", "the same as its input", "the opposite of its input (not)",
            "true for one pass when its input becomes true", "true for one pass when its input becomes false",
            "delay before true", "delay before false", "pulse", "latch (set and reset)", "time-out of a latch",
            "lock-out of a latch",
        ), "state",
    ),
    **dict.fromkeys(("counter", "kept value (sample)", "calculation"), "number"),
    **dict.fromkeys(
        ("replaces the value", "adds to the value", "limits the value: AT MOST", "limits the value: AT LEAST"), "action"
    ),
    **dict.fromkeys(("spoken announcement", "tone", "vibration"), "announcement"),
    "channel": "channel", "stick or knob before mixing": "control", "sensor and its link": "sensor",
    "receiver failsafe": "nothing",
}  # fmt: skip
"""What each kind of entry gives to those that read it."""


class WrongError(Exception):
    """Raised where an entry cannot be read, caught where all of them are gone through."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


def yields(x: Entry) -> Yields:
    if x.kind.startswith("phase ") and x.kind.endswith(" of a sequence"):
        return "state"
    return YIELDS.get(x.kind, "nothing")


@dataclass
class Back:
    """`rules` give the header: what there is to name, what is promised. `named`: what each entry is called in what is
    read back."""

    rules: RuleSet
    entries: dict[int, Entry]
    device: Transmitter | None = None
    problems: list[Problem] = field(default_factory=list)
    named: dict[int, str] = field(default_factory=dict)
    dimensions: dict[int, Dimension | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        desk = self.desk = Desk(self.rules)
        self.positions = _only(
            ((desk.switch(s.name), desk.position(s.name, i)), (s.name, i))
            for s in self.rules.switches
            for i in range(len(s.positions))
        )
        self.switches = _only((desk.switch(s.name), s.name) for s in self.rules.switches)
        self.buttons = _only((desk.button(b.name), b.name) for b in self.rules.buttons)
        self.controls = _only((desk.control(c.name), c.name) for c in self.rules.controls)
        self.sensors = _only((desk.sensor(s.name), s.name) for s in self.rules.sensors)
        self.channels = _only((desk.channel(c.name), c) for c in self.rules.channels)

    # ---------- what is wrong

    def wrong(self, at: Entry | int, message: str, may: str = "", label: str = "") -> WrongError:
        number = at if isinstance(at, int) else at.number
        return WrongError(Problem(message, may, 0, number, label))

    def tried(self, make: Callable[[], V]) -> V | None:
        """What `make` gives, or nothing, and the problem is kept."""
        try:
            return make()
        except WrongError as error:
            self.problems.append(error.problem)
            return None

    def each(self, entries: Iterable[Entry], make: Callable[["Back", Entry], V]) -> list[V]:
        """What each comes to; those that are wrong are left out."""
        found = ((x, self.tried(partial(make, self, x))) for x in entries)
        return [got for _, got in found if got is not None]

    # ---------- things

    def known(self, names: dict[K, V | None], said: K, what: str, at: Entry) -> V:
        if said not in names:
            raise self.wrong(at, f"no {what} is called {_said(said)}", _some(names))
        found = names[said]
        if found is None:
            raise self.wrong(at, f"several things are called {_said(said)}: give them names that differ")
        return found

    def channel(self, place: m.Place, at: Entry) -> Channel:
        x = self.known(self.channels, place.name, "channel", at)
        if x.number != place.number:
            number = "no number" if x.number is None else f"number {x.number}"
            raise self.wrong(at, f"channel {place.number} is said to be {place.name}, which has {number} in the rules")
        return x

    def there(self, number: int, wanted: tuple[Yields, ...], at: Entry) -> Entry:
        """The entry of that number, which gives what is wanted."""
        x = self.entries.get(number)
        if x is None:
            raise self.wrong(at, f"there is no entry {number}", f"a number from 1 to {max(self.entries, default=0)}")
        if yields(x) not in wanted:
            raise self.wrong(at, f"entry {number} is a {x.kind}, not a {' or '.join(wanted)}")
        return x

    def span(self, at: Entry) -> Span:
        return Span(WHERE, at.number, at.number + 1)

    def name(self, number: int) -> str:
        return self.named[number]


def _only(pairs: Iterable[tuple[K, V]]) -> dict[K, V | None]:
    """What each stands for; None for what two things are called."""
    found: dict[K, V | None] = {}
    for said, meant in pairs:
        found[said] = None if said in found else meant
    return found


def _said(x: object) -> str:
    return f"`{' at '.join(x) if isinstance(x, tuple) else x}`"


def _some(names: dict[K, V | None]) -> str:
    return ", ".join(sorted(map(_said, names))[:12]) or "nothing: the rules have none"


class Fields:
    """The fields of one entry, each taken once; what is left over is told."""

    def __init__(self, back: Back, entry: Entry) -> None:
        self.back, self.entry, self.left = back, entry, list(entry.fields)

    def has(self, label: str) -> bool:
        return any(f.label == label for f in self.left)

    def one(self, label: str, kind: FieldKind, *choices: str) -> m.Value:
        found = next((f for f in self.left if f.label == label), None)
        if found is None:
            raise WrongError(Problem("a field is missing", f"{label}: ...", 0, self.entry.number, label))
        self.left.remove(found)
        value = read(found.value, kind, choices)
        if isinstance(value, Problem):
            raise WrongError(Problem(value.message, value.may, value.at, self.entry.number, label))
        return value

    def fixed(self, label: str, *choices: str) -> str:
        value = self.one(label, "choice", *choices)
        assert isinstance(value, m.Choice)
        return value.text

    def states(self, first: str, more: str) -> tuple[m.Value, ...]:
        found = [self.one(first, "state")]
        while self.has(more):
            found.append(self.one(more, "state"))
        return tuple(found)

    def facts(self, expected: dict[str, str]) -> None:
        """The rest is what the rule file takes for granted, and must say the same."""
        for f in list(self.left):
            if f.kind == "fact" and f.label in expected:
                self.left.remove(f)
                if f.value != expected[f.label]:
                    said = f"the rules take for granted that it is {expected[f.label]}"
                    raise WrongError(Problem(f"{f.value}: {said}", expected[f.label], 0, self.entry.number, f.label))
        missing = [label for label in expected if label not in {f.label for f in self.entry.fields}]
        if missing:
            raise WrongError(Problem("a field is missing", f"{missing[0]}: ...", 0, self.entry.number, missing[0]))

    def done(self) -> None:
        over = self.left[0] if self.left else None
        if over is not None:
            raise WrongError(Problem("an entry of this kind has no such field", "", 0, self.entry.number, over.label))
