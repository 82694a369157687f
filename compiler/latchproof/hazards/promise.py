"""Claims that a check makes, and the words for them in the language of the file."""

from collections import Counter
from fractions import Fraction

from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Claim, Form, Role, Rule, Scope, Sensor, Sequence
from latchproof.rules.units import UNITS
from latchproof.rules.words import shown
from latchproof.source import Span


def claim(
    name: str,
    sentence: str,
    text: str,
    form: Form,
    *,
    scope: Scope | None = None,
    arriving: tuple[str, ...] = (),
) -> Claim:
    """`name` is "H01 climb"; `text` is the form as a pilot would write it."""
    return Claim(name, sentence, text, form, scope, arriving, span=form.span)


def amount(value: Fraction | int | str, unit: str, span: Span) -> e.Constant:
    """So many of a unit."""
    of = UNITS[unit]
    return e.Constant(Fraction(value) * of.factor, of, span=span)


def lasting(signal: e.Signal, seconds: Fraction) -> e.Signal:
    """`signal for seconds`."""
    return e.Timed("for", signal, e.Duration(amount(seconds, "s", signal.span), span=signal.span), span=signal.span)


def figure(value: Fraction, symbol: str) -> str:
    """A number of base units as it is to be typed in a unit, rounded up to a tenth of it where it has no end."""
    unit = UNITS[symbol]
    x = value / unit.factor
    return shown(value if (x * 1000).denominator == 1 else Fraction(-(-x * 10 // 1), 10) * unit.factor, unit)


# ---------- words of the file


def words(site: Site, x: e.Located) -> str:
    """What stands there in the file, on one line."""
    return site.line(x.span)


def one(text: str, signal: e.Signal) -> str:
    """The text of a signal so that it may stand beside `and`."""
    if isinstance(signal, e.AnyOf | e.Timed | e.Edge | e.AllOf):
        return f"({text})"
    return text


def and_also(site: Site, signal: e.Signal, more: str) -> str:
    """The signal of the file, and something more."""
    text = words(site, signal)
    return f"{text} and {more}" if isinstance(signal, e.AllOf) else f"{one(text, signal)} and {more}"


def off(site: Site, role: Role) -> str:
    """The words for a role's signal not being so: `guard is off`, where the switch has two positions."""
    match role.signal:
        case e.AtPosition(switch=switch, position=position):
            positions = next(s.positions for s in site.rules.switches if s.name == switch)
            if len(positions) == 2:
                return f"{switch} is {positions[1 - position]}"
    return f"not ({words(site, role.signal)})"


def on(site: Site, role: Role) -> str:
    return words(site, role.signal)


def no(site: Site, signal: e.Signal) -> str:
    """The words for a signal of the file not being so."""
    match signal:
        case e.NamedSignal():
            return f"not {words(site, signal)}"
        case e.Not(operand=operand):
            return one(words(site, operand), operand)
        case e.AtPosition(switch=switch, position=position):
            positions = next(s.positions for s in site.rules.switches if s.name == switch)
            if len(positions) == 2:
                return f"{switch} is {positions[1 - position]}"
    return f"not ({words(site, signal)})"


def kind(x: Rule | Sequence) -> str:
    return "rule" if isinstance(x, Rule) else "sequence"


def own(name: str) -> bool:
    """Whether a name is not from inside a part: only then can its statement be changed by itself."""
    return "." not in name


def stale(sensor: Sensor, seconds: Fraction, span: Span) -> e.Signal:
    """Its reading is old: by the file's own `stale after`, else after `seconds`."""
    if sensor.stale_after is not None:
        return e.SensorState(sensor.name, "stale", span=span)
    unheard = e.Not(e.SensorState(sensor.name, "heard", span=span), span=span)
    late = e.Comparison(e.Age(sensor.name, span=span), ">=", amount(seconds, "s", span), span=span)
    return e.AnyOf((unheard, late), span=span)


class Names:
    """Names for the claims of one hazard: "H05 armed", then "H05 armed 2"."""

    def __init__(self, hazard: str) -> None:
        self.hazard = hazard
        self._given: Counter[str] = Counter()

    def next(self, about: str) -> str:
        self._given[about] += 1
        count = self._given[about]
        return f"{self.hazard} {about}" + (f" {count}" if count > 1 else "")

    @property
    def unused(self) -> bool:
        return not self._given
