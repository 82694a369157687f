"""Resolved expressions: every name is known, every number exact and in base units, every kind checked.

Two closed unions, `Number` and `Signal`. Equality ignores spans, so two tests written in two places are equal.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from latchproof.rules.units import Unit
from latchproof.source import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Located:
    span: Span = field(compare=False, repr=False)


# ---------- numbers


@dataclass(frozen=True, slots=True)
class Constant(Located):
    """`value` in base units; `unit` is how it was written."""

    value: Fraction
    unit: Unit


@dataclass(frozen=True, slots=True)
class Parameter(Located):
    """A tune or a fact, by name. A fact with one value may also have been folded into a `Constant`."""

    name: str


@dataclass(frozen=True, slots=True)
class Held(Located):
    """A stick or knob, as the pilot holds it (before any action on the control)."""

    control: str


@dataclass(frozen=True, slots=True)
class Controlled(Located):
    """A stick or knob after the actions that name it: what channels that follow it receive. Only inside `follows`."""

    control: str


@dataclass(frozen=True, slots=True)
class Reading(Located):
    """What the sensor shows now, stale or not."""

    sensor: str


@dataclass(frozen=True, slots=True)
class Truth(Located):
    """The true quantity behind a sensor's reading."""

    sensor: str


@dataclass(frozen=True, slots=True)
class Age(Located):
    """Seconds since the sensor's last frame (since power-up if there was none)."""

    sensor: str


@dataclass(frozen=True, slots=True)
class Output(Located):
    """The final value of a channel."""

    channel: str


@dataclass(frozen=True, slots=True)
class Own(Located):
    """What the pilot alone would give the channel (or control): `pilot_value of motor`."""

    channel: str


@dataclass(frozen=True, slots=True)
class NamedNumber(Located):
    """A `value`, `sample` or `counter`, by name."""

    name: str


@dataclass(frozen=True, slots=True)
class Plus(Located):
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Minus(Located):
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Product(Located):
    """At most one side varies, or a stepped tune times anything linear."""

    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Quotient(Located):
    """The divisor is a number, or a stepped tune, and never zero."""

    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Size(Located):
    """`size of (x)`: without its sign."""

    operand: "Number"


@dataclass(frozen=True, slots=True)
class Smallest(Located):
    operands: tuple["Number", ...]


@dataclass(frozen=True, slots=True)
class Largest(Located):
    operands: tuple["Number", ...]


@dataclass(frozen=True, slots=True)
class PreviousNumber(Located):
    """The value in the cycle before; 0 in the first cycle."""

    operand: "Number"


@dataclass(frozen=True, slots=True)
class FromTable(Located):
    """A value by switch position: `values[i]` for position i."""

    switch: str
    values: tuple["Number", ...]


Number = (
    Constant
    | Parameter
    | Held
    | Controlled
    | Reading
    | Truth
    | Age
    | Output
    | Own
    | NamedNumber
    | Plus
    | Minus
    | Product
    | Quotient
    | Size
    | Smallest
    | Largest
    | PreviousNumber
    | FromTable
)


@dataclass(frozen=True, slots=True)
class Duration(Located):
    """A time in seconds, or a whole number of cycles when `in_cycles`."""

    amount: Number
    in_cycles: bool = False


# ---------- signals


@dataclass(frozen=True, slots=True)
class AtPosition(Located):
    switch: str
    position: int


@dataclass(frozen=True, slots=True)
class Pressed(Located):
    button: str


@dataclass(frozen=True, slots=True)
class NamedSignal(Located):
    """A signal, latch, phase (`gear.lift`), role (`kill`) or announcement (`recover.voice`, `recover.announced`)."""

    name: str


Order = Literal["<", "<=", ">", ">=", "=="]


@dataclass(frozen=True, slots=True)
class Comparison(Located):
    left: Number
    order: Order
    right: Number


@dataclass(frozen=True, slots=True)
class RateComparison(Located):
    """`rate of X is below R`, or with `size`: `size of (rate of X) is below R`. R is constant, in X's unit per second.

    X a sensor's reading: compared at each frame over the gap since the frame before, held between frames.
    X anything else: compared in each cycle over that cycle.
    """

    subject: Number
    order: Order
    bound: Fraction
    unit: Unit
    size: bool = False


@dataclass(frozen=True, slots=True)
class Band(Located):
    """`X is below A until above B`: true from `enter` until `leave`."""

    subject: Number
    enter: tuple[Order, Number]
    leave: tuple[Order, Number]


@dataclass(frozen=True, slots=True)
class SensorState(Located):
    sensor: str
    state: Literal["stale", "fresh", "heard"]


@dataclass(frozen=True, slots=True)
class ChannelState(Located):
    channel: str
    state: Literal["free", "driven", "moved", "limited"]


@dataclass(frozen=True, slots=True)
class Not(Located):
    operand: "Signal"


@dataclass(frozen=True, slots=True)
class AllOf(Located):
    operands: tuple["Signal", ...]


@dataclass(frozen=True, slots=True)
class AnyOf(Located):
    operands: tuple["Signal", ...]


@dataclass(frozen=True, slots=True)
class ExactlyOne(Located):
    operands: tuple["Signal", ...]


@dataclass(frozen=True, slots=True)
class Timed(Located):
    """`for` on-delay, `extended` off-delay, `pulsed` pulse."""

    kind: Literal["for", "extended", "pulsed"]
    operand: "Signal"
    duration: Duration


@dataclass(frozen=True, slots=True)
class Edge(Located):
    kind: Literal["begins", "ends"]
    operand: "Signal"


@dataclass(frozen=True, slots=True)
class PreviousSignal(Located):
    """The state in the cycle before; false in the first cycle."""

    operand: "Signal"


Signal = (
    AtPosition
    | Pressed
    | NamedSignal
    | Comparison
    | RateComparison
    | Band
    | SensorState
    | ChannelState
    | Not
    | AllOf
    | AnyOf
    | ExactlyOne
    | Timed
    | Edge
    | PreviousSignal
)
