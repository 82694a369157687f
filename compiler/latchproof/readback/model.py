"""What can stand in a field of a listing, as data, and what is wrong with a text that cannot be read.

A name is kept as it is printed (`motor stop switch`); what it stands for is known only where the rules are. What stands
in brackets behind an entry (`called`, `note`) only helps to find it and takes no part in comparisons.
"""

from dataclasses import dataclass, field
from fractions import Fraction

from latchproof.rules.expressions import Order


@dataclass(frozen=True, slots=True)
class Problem:
    """A text that nothing can be made of. `at`: from which character on; `may`: what may stand there, in words.
    `entry` and `field` (its label) are filled in by whoever knows them."""

    message: str
    may: str = ""
    at: int = 0
    entry: int = 0
    field: str = ""


# ---------- states: what an input of an entry can be


@dataclass(frozen=True, slots=True)
class EntryState:
    """`entry 7 (armed) true, one pass earlier`."""

    entry: int
    state: bool = True
    earlier: int = 0
    called: str = field(default="", compare=False)
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Speaks:
    """`entry 50 starts or is repeated`: the pass in which an announcement begins or comes again; with `state` false
    `entry 50 neither starts nor is repeated`."""

    entry: int
    state: bool = True
    earlier: int = 0
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class SwitchAt:
    """`flaps switch NOT at landing`. With `earlier`, `state` false is the opposite of having been there."""

    switch: str
    position: str
    state: bool = True
    earlier: int = 0
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class ButtonHeld:
    button: str
    state: bool = True
    earlier: int = 0
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class StartSignal:
    """What the transmitter itself gives after switching on."""

    name: str
    state: bool = True
    earlier: int = 0
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Always:
    note: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class Never:
    note: str = field(default="", compare=False)


State = EntryState | Speaks | SwitchAt | ButtonHeld | StartSignal | Always | Never


# ---------- numbers


@dataclass(frozen=True, slots=True)
class Quantity:
    """`amount` in its unit, as printed; `about`: it was rounded when it was printed."""

    amount: Fraction
    unit: str = ""
    about: bool = False


@dataclass(frozen=True, slots=True)
class EntryValue:
    entry: int
    earlier: int = 0
    called: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class SensorValue:
    """`settings`: the entry with the settings of the sensor."""

    sensor: str
    settings: int
    earlier: int = 0


@dataclass(frozen=True, slots=True)
class SensorAge:
    sensor: str
    settings: int
    earlier: int = 0


@dataclass(frozen=True, slots=True)
class Stick:
    """A stick or knob as the pilot holds it."""

    name: str
    earlier: int = 0


@dataclass(frozen=True, slots=True)
class PilotsOwn:
    """What the pilot alone gives a channel; `entry` is that of the channel."""

    channel: str
    entry: int
    earlier: int = 0


@dataclass(frozen=True, slots=True)
class Sum:
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Difference:
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Times:
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class DividedBy:
    left: "Number"
    right: "Number"


@dataclass(frozen=True, slots=True)
class Unsigned:
    """Without its sign."""

    inner: "Number"


@dataclass(frozen=True, slots=True)
class SmallerOf:
    several: tuple["Number", ...]


@dataclass(frozen=True, slots=True)
class LargerOf:
    several: tuple["Number", ...]


@dataclass(frozen=True, slots=True)
class ByPosition:
    """`rows`: (position, value)."""

    switch: str
    rows: tuple[tuple[str, "Number"], ...]


Atom = Quantity | EntryValue | SensorValue | SensorAge | Stick | PilotsOwn
Calculation = Sum | Difference | Times | DividedBy | Unsigned | SmallerOf | LargerOf | ByPosition
Number = Atom | Calculation


# ---------- what is made of them


@dataclass(frozen=True, slots=True)
class RateOf:
    """`rate of change of ...`."""

    subject: Number


@dataclass(frozen=True, slots=True)
class Threshold:
    order: Order
    bound: Number


@dataclass(frozen=True, slots=True)
class Passes:
    """A time counted in passes."""

    count: int


Time = Quantity | Passes | EntryValue | SensorValue | SensorAge | Stick | PilotsOwn


@dataclass(frozen=True, slots=True)
class AtOnce:
    pass


@dataclass(frozen=True, slots=True)
class After:
    """A delay before an action, or how long a phase lasts."""

    time: Time


@dataclass(frozen=True, slots=True)
class AtMostRate:
    rate: Quantity


@dataclass(frozen=True, slots=True)
class Offset:
    sign: int
    amount: Number


@dataclass(frozen=True, slots=True)
class Once:
    """Announced once each time it begins."""


@dataclass(frozen=True, slots=True)
class Every:
    time: Time


@dataclass(frozen=True, slots=True)
class BeginsWith:
    """In the pass in which a state becomes true."""

    state: State


@dataclass(frozen=True, slots=True)
class Follows:
    """In the pass in which another phase comes to its end by itself."""

    entry: int
    called: str = field(default="", compare=False)


@dataclass(frozen=True, slots=True)
class EndsWhen:
    state: State


@dataclass(frozen=True, slots=True)
class NeverOfItself:
    pass


@dataclass(frozen=True, slots=True)
class ResetBy:
    """The time-out of a latch: a state that resets it and wins even over set."""

    state: State


@dataclass(frozen=True, slots=True)
class BlockedWhile:
    """The lock-out of a latch: set counts for nothing while a state holds."""

    state: State


@dataclass(frozen=True, slots=True)
class Nothing:
    """`none`: no time-out, no lock-out, no entries."""


@dataclass(frozen=True, slots=True)
class Count:
    most: int


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the fixed words that a field allows."""

    text: str


@dataclass(frozen=True, slots=True)
class Place:
    """A channel by its number (None where the rules give none) and name."""

    number: int | None
    name: str


@dataclass(frozen=True, slots=True)
class OutputOf:
    """What an action acts on: the output of a channel."""

    place: Place


@dataclass(frozen=True, slots=True)
class BeforeMixing:
    """What an action acts on: a stick or knob, before any mixing."""

    stick: str


@dataclass(frozen=True, slots=True)
class Entries:
    """Entries one after the other, each with what it is called."""

    several: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class SensorNamed:
    name: str


@dataclass(frozen=True, slots=True)
class UnitOf:
    """The unit that a sensor shows."""

    symbol: str


@dataclass(frozen=True, slots=True)
class Span:
    low: Quantity
    high: Quantity


@dataclass(frozen=True, slots=True)
class KeepsValue:
    """A stale sensor keeps its last value."""


@dataclass(frozen=True, slots=True)
class MustRead:
    """A stale sensor reads a fixed value."""

    value: Quantity


@dataclass(frozen=True, slots=True)
class Sound:
    """`text` None: any sound that the pilot can tell from the others, or a `short` one."""

    text: str | None
    short: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """Text that changes nothing in what the entries do."""

    text: str


Value = (
    State
    | Number
    | RateOf
    | Threshold
    | Passes
    | AtOnce
    | After
    | AtMostRate
    | Offset
    | Once
    | Every
    | BeginsWith
    | Follows
    | EndsWhen
    | NeverOfItself
    | ResetBy
    | BlockedWhile
    | Nothing
    | Count
    | Choice
    | Place
    | OutputOf
    | BeforeMixing
    | Entries
    | SensorNamed
    | UnitOf
    | Span
    | KeepsValue
    | MustRead
    | Sound
    | Note
)
