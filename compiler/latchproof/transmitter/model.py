"""A transmitter as far as rules depend on it. Every answer may be "don't know" (None): then both are proved for.

Quantities are exact; times in seconds, pulse widths in microseconds, percentages as they are shown.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from latchproof.rules.model import Reads, Starts

Way = Literal["away", "middle", "towards"]


@dataclass(frozen=True, slots=True)
class Steps:
    """What a field lets one enter: from `low` to `high` by `step`; above a bound perhaps by a larger step.

    `wider`: (from this size on, this step), in rising order.
    """

    low: Fraction
    high: Fraction
    step: Fraction
    wider: tuple[tuple[Fraction, Fraction], ...] = ()


@dataclass(frozen=True, slots=True)
class Threshold:
    """How thresholds of one kind of quantity are entered. `shown` and `kept` are unit symbols of the language.

    A number is entered in `shown` by `steps`, whose numbers are numbers of that unit (10 stands for 10 ft); the device
    then compares with the nearest multiple of `kept_step` in `kept`, as where feet are kept as whole metres (both None:
    with what is shown).
    """

    quantity: str
    """A word for the kind: height, voltage, current, power, speed, capacity, rate (of a sensor), link quality, percent,
    time, angle, temperature, revolutions, number. `schema.QUANTITIES` has the units of each."""
    shown: str
    steps: Steps
    kept: str | None = None
    kept_step: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Hand:
    """A switch, button, stick, slider or knob of the transmitter.

    `name` is what the pilot calls it. `places`: of a switch, from one end to the other, in `Way`s. `springs`: returns
    by itself. `rests`: the place to which it then goes, None where nobody has said so. `taken`: what it already does,
    "" for nothing. `serves`: the name in a rule file that it is meant for. `means`: for a switch, the way of each
    position named in the rule file, (position, way); two ways may be one position.
    `turned`: a stick or slider that shows its numbers the other way round.
    """

    kind: Literal["switch", "button", "stick", "slider"]
    name: str
    places: tuple[Way, ...] = ()
    springs: bool = False
    taken: str = ""
    serves: str = ""
    means: tuple[tuple[str, Way], ...] = ()
    turned: bool | None = False
    rests: Way | None = None


Kind = Literal[
    "comparison", "gate", "delay", "latch", "counter", "kept value", "calculation", "edge", "action", "announcement"
]  # fmt: skip
"""Kinds of entry; `kept value` is a sample, `edge` one that is true for a single pass."""


@dataclass(frozen=True, slots=True)
class Room:
    """How many entries fit. `total`: in the one list that kinds share; `each`: kinds with a list of their own.

    A kind in `absent` does not exist on this transmitter. One that stands in neither shares the list of `total`; where
    there is none (None), it does not exist either.
    """

    total: int | None
    each: tuple[tuple[Kind, int], ...] = ()
    absent: frozenset[Kind] = frozenset()


@dataclass(frozen=True, slots=True)
class Gates:
    """`inputs`: the most that one gate takes. `kinds` of "all", "any", "one" that exist. `inverts`: an input may be
    taken as its opposite. `later`: an entry may read one further down the list."""

    inputs: int
    kinds: frozenset[Literal["all", "any", "one"]] = frozenset({"all", "any", "one"})
    inverts: bool = True
    later: bool | None = True


@dataclass(frozen=True, slots=True)
class Delays:
    """`kinds`: "on" (before true), "off" (before false), "pulse" (true for a time). `where`: whether the time runs
    before or after the gate of the same entry. `again`: a pulse begins anew when its cause comes again."""

    steps: Steps
    zero: bool = True
    kinds: frozenset[Literal["on", "off", "pulse"]] = frozenset({"on", "off", "pulse"})
    where: Literal["before", "after"] | None = "after"
    again: bool | None = None


@dataclass(frozen=True, slots=True)
class Comparisons:
    """What can be compared how. `orders`: of below, at most, above, at least, equal. `of_two`: a number with another
    that varies. `difference`: of two numbers with a threshold. `rate`: the rate of a sensor. `band`: two thresholds."""

    orders: frozenset[Literal["<", "<=", ">", ">=", "=="]]
    of_two: bool = True
    difference: bool = True
    rate: bool = True
    band: bool = False
    thresholds: tuple[Threshold, ...] = ()


@dataclass(frozen=True, slots=True)
class Actions:
    """What may act on a channel. `kinds`: "drive", "move", "limit most", "limit least". `percent`: the steps of its
    values. `ramps`: steps of a rate in percent a second, None where there are none. `level`: "before mixing" or "after
    mixing"; `trim`: whether trims come before it; `ends`: whether reversal and end points come after it."""

    kinds: frozenset[Literal["drive", "move", "limit most", "limit least"]]
    percent: Steps
    ramps: Steps | None
    level: Literal["before mixing", "after mixing"] | None = "after mixing"
    trim: Literal["before", "after"] | None = "before"
    ends: Literal["before", "after"] | None = "after"


@dataclass(frozen=True, slots=True)
class Sounds:
    """`voice`: own texts can be spoken; `longest`: seconds of one. `repeats`: steps of the time
    between repeats, None where a sound is not repeated."""

    voice: bool
    tone: bool
    vibration: bool
    longest: Fraction | None = None
    repeats: Steps | None = None


@dataclass(frozen=True, slots=True)
class Telemetry:
    """What sensors do on this transmitter.

    `stale`: what a sensor reads that is no longer heard: its last value, or zero. `height_zero`: where height counts
    from. `cell`: of several cells, which one a cell voltage is. `quality`: unit of the link quality, and `worse`.
    `renamed`: a sensor discovered twice gets another name.
    """

    stale: Literal["last", "zero"] | None = "last"
    stale_after: Fraction | None = None
    height_zero: Literal["power-on", "button", "sea level"] | None = None
    cell: Literal["lowest", "average", "pack"] | None = None
    quality: Literal["%", "dB", "dBm", "number"] | None = None
    worse: Literal["smaller", "greater"] | None = None
    renamed: bool | None = None


@dataclass(frozen=True, slots=True)
class Periods:
    """Shortest and longest time of one pass over the entries, and of the outputs and of telemetry where they differ."""

    logic: tuple[Fraction, Fraction]
    outputs: tuple[Fraction, Fraction] | None = None
    telemetry: tuple[Fraction, Fraction] | None = None


@dataclass(frozen=True, slots=True)
class Pulses:
    """What the transmitter shows for 1000, 1500 and 2000 us, and the greatest travel in its percent."""

    low: Fraction
    middle: Fraction
    high: Fraction
    travel: Fraction


@dataclass(frozen=True, slots=True)
class Has:
    """Something that the model already has: throttle cut, mix, flight phase, mode channel, soft start, a sound."""

    what: Literal["throttle cut", "mix", "flight phase", "mode channel", "soft start", "sound", "other"]
    name: str
    channels: tuple[int, ...] = ()
    uses: tuple[str, ...] = ()
    """Names of the switches and sliders it hangs on."""


@dataclass(frozen=True, slots=True)
class Transmitter:
    """`unknown`: keys (as in the file, dotted) answered with "don't know"; `assumed`: keys that nobody has measured.

    The keys are the fields of this model: `telemetry.stale`, `periods.logic`, `reads`, `hand.NAME.turned`. An unknown
    key holds the value that `schema` gives for it: None where both are to be proved for, `unknown order`, `any`, the
    widest period, or for something that an entry can do that it cannot (then it is not counted on).
    """

    name: str
    pulses: Pulses
    channels: int
    order: tuple[str, ...]
    """Names of the first channels in the order in which this transmitter numbers them, as far as told."""
    hands: tuple[Hand, ...]
    room: Room
    gates: Gates
    delays: Delays
    comparisons: Comparisons
    actions: Actions
    sounds: Sounds
    telemetry: Telemetry
    periods: Periods
    reads: Reads = "unknown order"
    starts: Starts = "any"
    pulse: Fraction | None = None
    """Seconds for which a start signal is true after power-up; None where there is none."""
    no_frame_before: Fraction | None = None
    active_only: bool | None = None
    """Entries are worked out in the flight phase and model that are active, and stand still otherwise."""
    has: tuple[Has, ...] = ()
    unknown: frozenset[str] = frozenset()
    assumed: frozenset[str] = frozenset()
