"""The levels at which a latch comes on and goes off: far enough apart (H09), and in order (H10)."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from latchproof.hazards.causes import Threshold, behind, levels
from latchproof.hazards.edits import instead
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Remedy, Seen
from latchproof.hazards.numbers import raised, rounded_up, unit_of, value_of
from latchproof.hazards.promise import Names, amount, claim, figure, kind, own, words
from latchproof.hazards.remedies import inside_named
from latchproof.hazards.site import Site, all_of
from latchproof.hazards.vocabulary import fact, line
from latchproof.rules import expressions as e
from latchproof.rules.model import Always, Latch, Never, Rule, Sensor, Sequence
from latchproof.rules.units import LENGTH, Unit

NO_PAIR = "no rule comes in at one reading and lets go at another"


# ---------- pairs of levels


@dataclass(frozen=True, slots=True)
class Pair:
    """A latch that comes on beyond one level of a reading and goes off beyond another, on the other side."""

    latch: Latch
    set_when: e.Signal
    reset_when: e.Signal
    on: Threshold
    off: Threshold

    @property
    def lower(self) -> Threshold:
        """The one that must be the lower: where it comes on below, that one."""
        return self.on if self.on.side == "low" else self.off

    @property
    def upper(self) -> Threshold:
        return self.off if self.on.side == "low" else self.on


def _pairs(site: Site, latches: tuple[Latch, ...]) -> Iterator[Pair]:
    for latch in latches:
        for set_, reset in product(latch.sets, latch.resets):
            for on, off in product(levels(site, set_), levels(site, reset)):
                if on.subject == off.subject and on.side != off.side:
                    yield Pair(latch, set_, reset, on, off)


def _acting_latches(site: Site) -> tuple[Latch, ...]:
    return tuple(dict.fromkeys(latch for x in site.guards for latch, _, _ in behind(site, x.condition).latches))


def _gap(site: Site, t: Threshold) -> tuple[Fraction, Unit]:
    """A distance between two levels that the noise does not bridge, and the unit to say it in. Without a figure for
    the noise a fiftieth of the range, or of the level where it is not the sensor's own."""
    if not t.sensor:
        unit = unit_of(site, t.at)
        return rounded_up(abs(value_of(site, t.at) or unit.factor) / 50, unit), unit
    sensor = site.sensor(t.sensor)
    noise = _noise(site, sensor)
    if noise is None:
        return rounded_up((sensor.high - sensor.low) / 50, sensor.unit), sensor.unit
    return rounded_up(2 * noise + (sensor.step or Fraction(0)), sensor.unit), sensor.unit


def _noise(site: Site, sensor: Sensor) -> Fraction | None:
    """How far a reading flickers: `fact noise`, if that is in the sensor's unit; else its error and half a step."""
    stated = fact(site, "noise")
    if stated is not None and stated.unit.dimension == sensor.unit.dimension:
        return stated.high
    return sensor.error + (sensor.step or Fraction(0)) / 2 if sensor.error else None


def _apart(site: Site, pair: Pair) -> tuple[Remedy, ...]:
    """The upper level is raised until it lies well above the lower one."""
    lower, (gap, unit) = value_of(site, pair.lower.at), _gap(site, pair.on)
    beyond = pair.on.sensor and lower is not None and lower + gap > site.sensor(pair.on.sensor).high
    if lower is None or beyond or not own(pair.latch.name) or _crosses(site, pair, lower + gap):
        return ()
    text = f"{words(site, pair.lower.at)} + {figure(gap, unit.symbol)}"
    changes = raised(site, pair.upper.at, lower + gap, text, unit, where=f"latch {pair.latch.name}")
    said = f"raise `{words(site, pair.upper.at)}` to {figure(gap, unit.symbol)} above `{words(site, pair.lower.at)}`"
    return (Remedy(said, changes),) if changes else ()


def _crosses(site: Site, pair: Pair, raised_to: Fraction) -> bool:
    """Whether the upper level, so high, would lie beyond the one at which its own test ends: a band or a range."""
    t = pair.upper
    test = t.cause.test
    ends: list[e.Number] = []
    if isinstance(test, e.Band) and t.at == test.enter[1] and test.enter[0] in ("<", "<="):
        ends.append(test.leave[1])
    for x in (*inside_named(site, pair.set_when), *inside_named(site, pair.reset_when)):
        if isinstance(x, e.AllOf) and test in x.operands:
            same = (o for o in x.operands if isinstance(o, e.Comparison) and o.left == t.subject)
            ends += [o.right for o in same if o.order in ("<", "<=") and o != test]
    known = (value_of(site, end) for end in ends)
    return any(end is not None and end < raised_to for end in known)


def h09(site: Site) -> Iterator[Outcome]:
    """At 30 m the reading flickers between 29 m and 31 m, and the motor goes on and off several times a second.

    Checked for each latch that comes on at one level of a reading and goes off at another: they lie further apart
    than the reading flickers to both sides (twice `fact noise`, else twice the sensor's `error` and half a step),
    whatever the tunes are. A rule that compares a reading itself has one level for both.

    Remedy: two levels, `is below 30 m until above 35 m`, or a higher one for the reset. Never a delay on letting go.
    """
    names = Names("H09")
    nothing, unknown = True, list[Sensor]()
    for pair in _pairs(site, _acting_latches(site)):
        if not pair.on.sensor:
            continue
        nothing, sensor = False, site.sensor(pair.on.sensor)
        noise = _noise(site, sensor)
        if noise is None:
            unknown.append(sensor)
            continue
        span = pair.latch.span
        between = e.Minus(pair.upper.at, pair.lower.at, span=span)
        wide = e.Comparison(between, ">=", amount(2 * noise / sensor.unit.factor, sensor.unit.symbol, span), span=span)
        made = claim(
            names.next(pair.latch.name),
            f"{sensor.name} must change by more than it flickers before {pair.latch.name} changes back",
            f"always {words(site, pair.upper.at)} is at least {words(site, pair.lower.at)} + "
            f"{figure(2 * noise, sensor.unit.symbol)}",
            Always(wide, span=span),
        )
        yield Check("H09", pair.latch.name, made, site.rules, _apart(site, pair))
    for x in site.guards:
        for t in _single(site, x):
            nothing = False
            said = f"{x.name} begins and ends at one level, `{words(site, t.cause.test)}`, and flickers there"
            yield Seen("H09", x.name, False, said, t.cause.test.span, _two_levels(site, x, t))
    for sensor in dict.fromkeys(unknown):
        missing = f"nothing says how far the reading of {sensor.name} flickers"
        add = line("noise") if sensor.unit.dimension == LENGTH else f"error ... {sensor.unit.symbol}  assumed"
        yield NotNamed("H09", missing, add)
    if nothing:
        yield NotApplicable("H09", NO_PAIR)


def _single(site: Site, x: Rule | Sequence) -> tuple[Threshold, ...]:
    """Levels that a rule compares itself, with no second one."""
    return tuple(t for t in levels(site, x.condition) if t.sensor and isinstance(t.cause.test, e.Comparison))


def _two_levels(site: Site, x: Rule | Sequence, t: Threshold) -> tuple[Remedy, ...]:
    test = t.cause.test
    if not own(x.name) or not isinstance(test, e.Comparison) or not isinstance(test.left, e.Reading):
        return ()
    level, (distance, unit) = words(site, t.at), _gap(site, t)
    gap = figure(distance, unit.symbol)
    back = f"above {level} + {gap}" if t.side == "low" else f"below {level} - {gap}"
    strict = f"{t.sensor} is {'below' if t.side == 'low' else 'above'} {level} until {back}"
    return (Remedy("give it two levels", (instead(site, test, strict, where=f"{kind(x)} {x.name}"),)),)


def h10(site: Site) -> Iterator[Outcome]:
    """The height at which the latch goes off was typed below the one at which it comes on. Between the two both are
    true, and which of them wins decides about the guard.

    Checked for each latch that comes on and goes off at levels of one reading: no `set when` and `reset when` of it
    are true in the same cycle, whatever the tunes are.

    Remedy: raise the one that lies too low, and a `require` that keeps them in order.
    """
    names = Names("H10")
    done: set[tuple[str, e.Signal, e.Signal]] = set()
    for pair in _pairs(site, site.rules.latches):
        latch, set_, reset = pair.latch, pair.set_when, pair.reset_when
        if (latch.name, set_, reset) in done:
            continue
        done.add((latch.name, set_, reset))
        made = claim(
            names.next(latch.name),
            f"{latch.name} is never told to come on and to go off at the same time{_overlap(site, pair)}",
            f"never ({words(site, set_)}) and ({words(site, reset)})",
            Never(all_of(set_, reset), span=latch.span),
        )
        yield Check("H10", latch.name, made, site.rules, _apart(site, pair))
    if names.unused:
        yield NotApplicable("H10", "no latch comes on and goes off at levels of one reading")


def _overlap(site: Site, pair: Pair) -> str:
    """With the tunes as they are: between which readings both are true."""
    low, high = value_of(site, pair.upper.at), value_of(site, pair.lower.at)
    if low is None or high is None or low >= high:
        return ""
    unit = _gap(site, pair.on)[1].symbol
    return f"; between {figure(low, unit)} and {figure(high, unit)} both are true now"
