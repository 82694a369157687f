"""Which field of the transmitter a number goes into, and by which steps."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.fit.steps import Grid, of_threshold
from latchproof.fit.still import Numbers
from latchproof.rules import expressions as e
from latchproof.rules.units import PERCENT, PLAIN, TIME, UNITS, Dimension, Unit
from latchproof.transmitter.model import Steps, Threshold, Transmitter

FACTOR = Unit("%", PLAIN, Fraction(1, 100))
"""A factor as a mix shows it: 0.6 is 60 %."""

_QUANTITIES: dict[Dimension, str] = {
    UNITS["m"].dimension: "height",
    UNITS["V"].dimension: "voltage",
    UNITS["A"].dimension: "current",
    UNITS["W"].dimension: "power",
    UNITS["m/s"].dimension: "speed",
    UNITS["mAh"].dimension: "capacity",
    UNITS["deg"].dimension: "angle",
    UNITS["degC"].dimension: "temperature",
    UNITS["rpm"].dimension: "revolutions",
    UNITS["dB"].dimension: "link quality",
    UNITS["dBm"].dimension: "link quality",
    PERCENT: "percent",
    TIME: "time",
    PLAIN: "number",
}


@dataclass(frozen=True, slots=True)
class Place:
    """A number that the pilot enters: what goes in, what kind of quantity it is for the transmitter, and the field;
    no field where the description does not tell. `where` is what the place is called. `ends`: the ends of what it is
    compared with, where they are known."""

    number: e.Number
    quantity: str
    grid: Grid | None
    where: str
    ends: tuple[Fraction, Fraction] | None = None

    def telling(self, value: Fraction, wanted: Fraction) -> bool:
        """Whether a test against the value can be both true and false, if it can be with the number wanted."""
        if self.ends is None or not self.ends[0] < wanted < self.ends[1]:
            return True
        return self.ends[0] < value < self.ends[1]


def quantity(x: e.Number, numbers: Numbers, *, rate: bool = False) -> str:
    """The word for it in a description; "" for something that no description has."""
    if rate:
        return "rate"
    dimension = numbers.dimension(x)
    if dimension in (PERCENT, PLAIN) and reads_a_sensor(x):
        return "link quality"
    return _QUANTITIES.get(dimension, "")


def reads_a_sensor(x: e.Number) -> bool:
    return isinstance(x, e.Reading) or (isinstance(x, e.PreviousNumber) and reads_a_sensor(x.operand))


def threshold(t: Transmitter, wanted: str, dimension: Dimension) -> Threshold | None:
    """How numbers of this kind are entered; for a plain or percent reading of which nothing is said, as any other."""
    known = [x for x in t.comparisons.thresholds if UNITS[x.shown].dimension == dimension]
    for word in (wanted, _QUANTITIES.get(dimension, "")):
        for x in known:
            if x.quantity == word:
                return x
    return None


def grid(t: Transmitter, wanted: str, dimension: Dimension) -> Grid | None:
    found = threshold(t, wanted, dimension)
    return None if found is None else of_threshold(found)


def of_delay(t: Transmitter) -> Grid:
    return Grid(t.delays.steps, UNITS["s"])


def of_percent(t: Transmitter) -> Grid:
    return Grid(t.actions.percent, UNITS["%"])


def of_ramp(t: Transmitter) -> Grid | None:
    return None if t.actions.ramps is None else Grid(t.actions.ramps, UNITS["%/s"])


def of_repeat(t: Transmitter) -> Grid | None:
    return None if t.sounds.repeats is None else Grid(t.sounds.repeats, UNITS["s"])


def of_factor(t: Transmitter) -> Grid:
    """A factor of a mix or calculation, entered in percent by the steps of all percentages, but not bounded by them:
    a description says nothing about how great a factor may be."""
    s = t.actions.percent
    most = max(abs(s.low), abs(s.high)) * 10
    return Grid(Steps(-most - most % s.step if s.step else -most, most, s.step), FACTOR)
