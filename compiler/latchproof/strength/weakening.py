"""One step by which rules may be weakened, as data: what was changed where, and the rule set with the change."""

from dataclasses import dataclass
from typing import Literal

from latchproof.rules import expressions as e
from latchproof.rules.model import Action, RuleSet, Timeout
from latchproof.source import Span

Noun = Literal["signal", "latch", "counter", "sample", "rule", "sequence", "role", "value", "priority"]

Slot = Literal[
    "signal", "set", "reset", "blocked until", "counts", "clears", "when", "condition", "until", "role", "value"
]
"""Where in its element a signal stands."""


@dataclass(frozen=True, slots=True)
class Place:
    """An element by its kind and name; for a signal in it, its slot and the whole of what stands in that slot."""

    noun: Noun
    name: str
    slot: Slot | None = None
    whole: e.Signal | None = None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """One operand of an `and`, `or` or `exactly_one of`."""

    operand: e.Signal
    joined: Literal["and", "or", "exactly_one"]


How = Literal["turned", "moved", "not", "delay", "edge", "band", "previous"]


@dataclass(frozen=True, slots=True)
class Replaced:
    """A test, or what lasts, with something else in its place.

    `how`: the comparison turned, its threshold moved, a `not` left out, a delay or edge left out, the second
    threshold of a band left out.
    """

    how: How
    before: e.Signal
    after: e.Signal


@dataclass(frozen=True, slots=True)
class LineGone:
    """A `set when`, `reset when` or `clears when` line."""

    line: Literal["set when", "reset when", "clears when"]
    signal: e.Signal


@dataclass(frozen=True, slots=True)
class Swapped:
    """What sets resets, and what resets sets."""


@dataclass(frozen=True, slots=True)
class Dominance:
    """When set and reset meet, the other one wins; `set_wins` is how it was."""

    set_wins: bool


@dataclass(frozen=True, slots=True)
class NoTimeout:
    timeout: Timeout


@dataclass(frozen=True, slots=True)
class NoBlock:
    """After its time-out the latch may be set again at once."""

    timeout: Timeout


@dataclass(frozen=True, slots=True)
class NoAction:
    action: Action


@dataclass(frozen=True, slots=True)
class NoModifier:
    action: Action
    which: Literal["after", "rising", "falling", "back", "every"]


@dataclass(frozen=True, slots=True)
class OtherAction:
    """The same action with another amount, or a move in the other direction."""

    action: Action
    instead: Action


@dataclass(frozen=True, slots=True)
class NoPriority:
    over: str
    under: str


Change = (
    LeftOut
    | Replaced
    | LineGone
    | Swapped
    | Dominance
    | NoTimeout
    | NoBlock
    | NoAction
    | NoModifier
    | OtherAction
    | NoPriority
)


@dataclass(frozen=True, slots=True)
class Weakening:
    """`span` is what was changed, as it stands in the file."""

    place: Place
    change: Change
    span: Span
    rules: RuleSet
