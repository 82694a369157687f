"""The machine: state, inputs and one step, as terms. The only form between the rules and everything that judges them.

In each cycle the inputs and the cycle time are given, every definition gets its value, and every state its next value.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from latchproof.machine.terms import Sort, Term, Terms
from latchproof.rules.expressions import Number, Signal
from latchproof.rules.model import RuleSet

DT = "@dt"
"""The variable that holds the seconds since the cycle before."""


Holds = tuple[Fraction | None, Fraction | None]
"""The least and the most that a number can be, as far as that is known."""


@dataclass(frozen=True, slots=True)
class State:
    """A memory cell. `initial` None: anything that the machine's `starts` allow; a number lies within what it `holds`,
    and `whole` ones are counts.

    `flows`: between events it moves linearly with time (timers, ages, ramps, readings); other cells change at events
    only. `echoes`: it flows because it repeats what another value was in the cycle before.
    """

    name: str
    sort: Sort
    initial: Term | None
    next: Term
    flows: bool = False
    echoes: bool = False
    holds: Holds = (None, None)
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Input:
    """What the world gives in each cycle. Numbers lie in `low`..`high`; `grid` is the step of a displayed reading."""

    name: str
    sort: Sort
    low: Fraction | None = None
    high: Fraction | None = None
    grid: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Parameter:
    """A tune or a fact with a span: any value of its range, or one of `steps`, that stays for the whole run."""

    name: str
    value: Fraction
    low: Fraction
    high: Fraction
    steps: tuple[Fraction, ...] = ()


@dataclass(frozen=True, slots=True)
class Constraint:
    """Holds in every cycle. `why` names the fact or assumption it comes from."""

    term: Term
    why: str


@dataclass(frozen=True, slots=True)
class Element:
    """What a building block yields: its output and its memory."""

    output: Term
    states: tuple[State, ...] = ()


@dataclass(frozen=True, slots=True)
class Fight:
    """Two rules or sequences, or one twice, that drive a channel and between which no priority decides."""

    channel: str
    one: str
    other: str


@dataclass(frozen=True, slots=True)
class Glitch:
    """A latch that entries which read one another late could set by disagreeing for a cycle."""

    latch: str


Unwritten = Fight | Glitch
"""What is to be shown never to happen although nobody has claimed it."""


@dataclass(frozen=True, slots=True)
class Property:
    """A claim as a monitor: `signal` is true in a cycle in which the claim is broken (or, for `reach`, fulfilled).

    `arriving`: what the claim takes for granted about frames. `scope`: the signal of its `while` or the beginnings of
    its `since`. `unwritten`: what never happens by a property that nobody wrote; None for a claim.
    """

    name: str
    kind: Literal["safe", "reach"]
    signal: Term
    arriving: tuple[Constraint, ...] = ()
    scope: Term | None = None
    unwritten: Unwritten | None = None


@dataclass(frozen=True, slots=True)
class Assumed:
    """An assumption about the world: a constraint over a monitor's memory."""

    name: str
    constraint: Constraint


@dataclass(frozen=True, slots=True)
class Order:
    """A choice of the device that is made at power-up and stays: whether `reader` sees the last cycle of `read`.

    Without a reader: whether the entries stand in the order of the file.
    """

    cell: str
    reader: str
    read: Signal | Number | str


@dataclass(frozen=True)
class Machine:
    rules: RuleSet
    terms: Terms
    states: tuple[State, ...]
    inputs: tuple[Input, ...]
    parameters: tuple[Parameter, ...]
    requires: tuple[Constraint, ...]
    starts: tuple[Constraint, ...]
    constraints: tuple[Constraint, ...]
    definitions: dict[str, Term]
    reads: dict[str, frozenset[str]]
    """The dependency graph: which names each name reads in the same cycle."""
    watching: tuple[State, ...] = ()
    """The memory of monitors, and of delays that only claims speak of."""
    picks: tuple[Input, ...] = ()
    """Inputs of monitors: where a window starts."""
    assumed: tuple[Assumed, ...] = ()
    properties: tuple[Property, ...] = ()
    orders: tuple[Order, ...] = ()
    chain: int = 0
    """How many cycles late the longest chain of entries reads on this device."""
    allowances: Mapping[str, int] = field(default_factory=dict)
    """How many of those a claim allows for, by its name; the others allow for none."""
    sets: Mapping[str, Term] = field(default_factory=dict)
    """What sets each latch, as the latch sees it."""
