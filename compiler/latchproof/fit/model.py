"""What came of fitting rules into a transmitter, as data; `words.py` says it in sentences."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from latchproof.rules.model import RuleSet
from latchproof.rules.units import Unit
from latchproof.source import Span

Way = Literal["up", "down", "nearest"]

Reason = Literal[
    "acts rather than not",
    "never more",
    "never less",
    "required",
    "no safe direction known",
    "needed both ways",
    "the end of what can be entered",
    "else always the same",
    "else nothing",
    "middle of a fact",
]
"""Why a number was rounded the way it was; `needed both ways`: it makes one rule act sooner and another later;
`else always the same`: on the other side the test would hold always or never, `else nothing`: there it would be 0.
`middle of a fact`: of one that is not known exactly."""


@dataclass(frozen=True, slots=True)
class Rounding:
    """A number that cannot be entered as it stands. All in base units.

    `entered` is what the pilot types, in `unit`; `kept` what the device then works with, in `works`: not the same where
    it keeps another unit. `written`: the unit of the rule file.
    `tunes`: what the number is called in the rule file; none for a number written in place.
    """

    where: str
    wanted: Fraction
    entered: Fraction
    kept: Fraction
    unit: Unit
    works: Unit
    written: Unit
    way: Way
    reason: Reason
    tunes: tuple[str, ...] = ()
    span: Span | None = field(default=None, compare=False)


ChangeKind = Literal[
    "wide gate", "no any", "no all", "no one", "no inversion", "edge", "band", "order", "two numbers", "spare channel",
    "zero delay", "cycles", "no off-delay", "no pulse", "pulse again", "latch", "time-out", "sequence", "limit", "move",
    "merged", "solved", "counter", "channel state", "mirror",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """Something made of other things, exactly. `where`: what the rule file calls it. `late`: on a transmitter whose
    entries read one pass late, what was made is later than what it stands for."""

    kind: ChangeKind
    where: str
    much: int = 0
    """Inputs of a gate that takes fewer; passes of a time in passes."""
    late: bool = True
    span: Span | None = field(default=None, compare=False)


MisfitKind = Literal[
    "threshold unknown", "out of reach", "tune out of range", "require", "no gate", "no inversion", "no delay",
    "delay in cycles", "no latch", "time-out", "no counter", "no kept value", "no calculation", "no rate",
    "no comparison", "no action", "no ramp", "no repeat", "no sound", "no order", "fact with a span", "too many",
    "not percent", "varying time", "no channel state",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Misfit:
    """What the transmitter cannot do. `needs` and `has` are words or counts; `values` are numbers that are in question,
    `proposed` such as would do: (name, value in base units, unit)."""

    kind: MisfitKind
    where: str
    needs: str = ""
    has: str = ""
    values: tuple[tuple[str, Fraction, Unit], ...] = ()
    proposed: tuple[tuple[str, Fraction, Unit], ...] = ()
    helps: tuple[str, ...] = ()
    """What would make it fit, in words."""
    span: Span | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Fitted:
    """`rounded`: the rules as they are built, at the numbers that are entered; tunes stay at them. `rules`: the same
    made of what the transmitter has. With misfits both are as far as it went and stand in no transmitter."""

    rounded: RuleSet
    rules: RuleSet
    roundings: tuple[Rounding, ...] = ()
    changes: tuple[Change, ...] = ()
    misfits: tuple[Misfit, ...] = ()

    @property
    def fits(self) -> bool:
        return not self.misfits


def once(found: Iterable[Misfit]) -> tuple[Misfit, ...]:
    return tuple(dict.fromkeys(found))
