"""The facts that a verdict rests on, as they stand behind `proved if`."""

from fractions import Fraction

from latchproof.prove.assumed import Fact
from latchproof.rules import model
from latchproof.rules.units import UNITS, Unit
from latchproof.rules.words import per_second
from latchproof.show import device
from latchproof.show.quantities import quantity, seconds, span


def fact(f: Fact, rules: model.RuleSet) -> str:
    """`a cycle takes 4 ms to 25 ms (ASSUMED)`."""
    return f"{what(f, rules)} ({basis(f.basis)})"


def what(f: Fact, rules: model.RuleSet) -> str:
    """The fact without where it comes from."""
    if f.what == "cycle":
        return f"a cycle takes {_short(rules.cycle.shortest)} to {_short(rules.cycle.longest)}"
    if f.subject == "device":
        return device.fact(f.what, rules.device)
    if f.what == "assumption":
        assumption = next(a for a in rules.assumptions if a.name == f.subject)
        return assumption.sentence or assumption.text
    if f.what == "fact":
        number = next(n for n in rules.facts if n.name == f.subject)
        return f"{f.subject} is {span(number.low, number.high, number.unit)}"
    sensor = next(s for s in rules.sensors if s.name == f.subject)
    return _of_sensor(sensor, f.what)


def basis(b: model.Basis | None) -> str:
    """Assumed facts stand out; measured ones have their date."""
    if b is None or b.kind == "assumed":
        return "ASSUMED"
    return f"measured {b.date}" if b.date else "measured"


def _of_sensor(s: model.Sensor, clause: str) -> str:
    match clause:
        case "reads":
            return f"{s.name} reads from {span(s.low, s.high, s.unit)}"
        case "step":
            return f"{s.name} shows steps of {_number(s.step, s.unit)}"
        case "frame_every":
            return f"a frame of {s.name} comes at least every {_short(s.frame_every or Fraction(0))}"
        case "stale_after":
            return f"{s.name} is stale after {seconds(s.stale_after or Fraction(0))}"
        case "keeps_value":
            return f"{s.name} keeps its last value once stale"
        case "reads_value":
            return f"{s.name} reads {_number(s.stale_reads, s.unit)} once stale"
        case "error":
            return f"{s.name} is within {_number(s.error, s.unit)} of the truth"
        case "lag":
            return f"{s.name} lags by at most {seconds(s.lag)}"
        case "changes" if s.change is not None:
            return f"{s.name} changes by {span(*s.change, per_second(s.unit))}"
        case _:
            return f"{s.name}: {clause.replace('_', ' ')}"


def _number(value: Fraction | None, unit: Unit) -> str:
    return quantity(value or Fraction(0), unit)


def _short(value: Fraction) -> str:
    """A time of a few milliseconds, in milliseconds."""
    return quantity(value, UNITS["ms"] if value < 1 else UNITS["s"])
