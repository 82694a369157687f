"""Floors: heights below which a rule comes in, against drift of the sensor (H08) and the speed of a dive (H11)."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from latchproof.hazards.causes import Threshold, behind, inside, levels, only_stops
from latchproof.hazards.flight import engaged
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Procedure, Remedy
from latchproof.hazards.numbers import raised, rounded_up, value_of
from latchproof.hazards.promise import Names, amount, claim, figure, kind, own, words
from latchproof.hazards.remedies import inside_named
from latchproof.hazards.site import Site
from latchproof.hazards.vocabulary import fact, line, number
from latchproof.rules import expressions as e
from latchproof.rules.model import Always, Announce, Claim, Fact, Rule, Scope, Sensor, Sequence
from latchproof.rules.units import LENGTH

NO_FLOOR = "no rule acts on a height that becomes too low"


@dataclass(frozen=True, slots=True)
class Floor:
    """A level of height below which a rule comes in: `signal` compares with it, in the rule or in a latch behind it.

    `where` names the statement; `own`: it is not inside a part.
    """

    x: Rule | Sequence
    at: Threshold
    signal: e.Signal
    sensor: Sensor
    where: str
    own: bool


def _floors(site: Site) -> tuple[Floor, ...]:
    found: list[Floor] = []
    for x in site.guards:
        if only_stops(site, x):
            continue
        places = [(f"{kind(x)} {x.name}", x.name, x.condition)]
        places += [(f"latch {a.name}", a.name, s) for a in behind(site, x.condition).helping for s in a.sets]
        found += [
            Floor(x, t, signal, site.sensor(t.sensor), where, own(name))
            for where, name, signal in places
            for t in levels(site, signal)
            if t.sensor and t.side == "low" and site.sensor(t.sensor).unit.dimension == LENGTH
        ]
    return tuple(found)


def _missing(site: Site, names: tuple[str, ...]) -> NotNamed | None:
    absent = [n for n in names if fact(site, n) is None]
    if not absent:
        return None
    said = {
        "lowest_safe": "how low the model may get",
        "drift": "how far the zero of the height moves",
        "recovery": "how much height a recovery takes",
        "delay": "how long news takes to the surfaces",
    }
    return NotNamed("", f"no fact says {' or '.join(said[n] for n in absent)}", "\n".join(line(n) for n in absent))


def _stated(site: Site, name: str) -> Fact:
    found = fact(site, name)
    assert found is not None
    return found


def _most(site: Site, name: str) -> Fraction:
    found = fact(site, name)
    return Fraction(0) if found is None else found.high


def _higher(site: Site, f: Floor, least: Fraction) -> tuple[Remedy, ...]:
    unit = f.sensor.unit
    up = figure(rounded_up(least, unit), unit.symbol)
    changes = raised(site, f.at.at, rounded_up(least, unit), up, unit, where=f.where) if f.own else ()
    return (Remedy(f"raise `{words(site, f.at.at)}` to at least {up}", changes),) if changes else ()


def _level(site: Site, f: Floor, least: Fraction, name: str, sentence: str) -> Claim:
    bound = amount(least / f.sensor.unit.factor, f.sensor.unit.symbol, f.at.cause.test.span)
    text = f"always {words(site, f.at.at)} is at least {figure(least, f.sensor.unit.symbol)}"
    test = e.Comparison(f.at.at, ">=", bound, span=f.at.cause.test.span)
    return claim(name, sentence, text, Always(test, span=f.x.span))


def h08(site: Site) -> Iterator[Outcome]:
    """The air pressure falls while you fly: about 8 m for each hectopascal. The guard still reads 30 m at 15 m.

    Checked for each height below which a rule comes in: it is at least `fact lowest_safe` and `fact drift` and the
    sensor's `error` together, whatever the tunes are. And a step for the cards.

    Remedy: a higher floor; let the sensor start from zero before each take-off, and look at what it shows after each
    landing: that is the drift.
    """
    floors = _floors(site)
    if not floors:
        yield NotApplicable("H08", NO_FLOOR)
        return
    step = "Switch the sensor on just before the take-off, and write down what it shows after the landing: the drift"
    yield Procedure("H08", step, "every flight")
    if missing := _missing(site, ("lowest_safe", "drift")):
        yield replace(missing, hazard="H08")
        return
    names = Names("H08")
    for f in floors:
        least = _most(site, "lowest_safe") + _most(site, "drift") + f.sensor.error
        sentence = (
            f"{f.x.name} comes in above the lowest safe height, also when the zero of {f.sensor.name} has drifted"
        )
        made = _level(site, f, least, names.next(f.x.name), sentence)
        yield Check("H08", f.x.name, made, site.rules, _higher(site, f, least))


def h11(site: Site) -> Iterator[Outcome]:
    """One frame a second and a dive of 15 m/s: 15 m are gone before the first low reading, and more before the model
    does anything.

    Checked for each height below which a rule comes in. With `changes from`, `frame every` and an assumption about
    the truth of the height: while the rule acts and frames arrive, the model truly stays above `fact lowest_safe`,
    with `fact drift` added to the error. Otherwise by the sum, whatever the tunes are: the height is at least
    `lowest_safe` + sink x (`frame every` + delays of latch and rule + longest cycle + `delay`) + `recovery` + error +
    `drift`, where sink is the fastest descent of `changes from`, or `fact sink`.

    Remedy: a higher floor, or shorter delays.
    """
    floors = _floors(site)
    if not floors:
        yield NotApplicable("H11", NO_FLOOR)
        return
    names = Names("H11")
    for f in floors:
        modelled = f.sensor.change is not None and f.sensor.frame_every is not None and _recovers(site, f.sensor)
        if missing := _missing(site, ("lowest_safe",) if modelled else ("lowest_safe", "recovery", "delay")):
            yield replace(missing, hazard="H11")
        elif modelled:
            yield _flown(site, f, names)
        else:
            yield _summed(site, f, names)


def _recovers(site: Site, sensor: Sensor) -> bool:
    """Whether an assumption says what the true height does."""
    told = (n for a in site.rules.assumptions for n in inside(a.form))
    return any(isinstance(n, e.Truth) and n.sensor == sensor.name for n in told)


def _flown(site: Site, f: Floor, names: Names) -> Check:
    drift = fact(site, "drift")
    rules, variant = site.rules, ""
    if drift is not None:
        sensors = tuple(replace(s, error=s.error + drift.high) if s == f.sensor else s for s in rules.sensors)
        rules, variant = replace(rules, sensors=sensors), f"with {f.sensor.name} wrong by the drift as well"
    truth = e.Truth(f.sensor.name, span=f.x.span)
    safe = number(_stated(site, "lowest_safe"))
    said = f"while {f.x.name} acts the model truly never gets below the lowest safe height"
    made = claim(
        names.next(f.x.name),
        said,
        f"always truth of {f.sensor.name} is at least lowest_safe while {f.x.name} acts "
        f"provided {f.sensor.name} keeps arriving",
        Always(e.Comparison(truth, ">=", safe, span=f.x.span), span=f.x.span),
        scope=Scope("while", engaged(f.x, rules.device.starts), span=f.x.span),
        arriving=(f.sensor.name,),
    )
    return Check("H11", f.x.name, made, rules, _higher(site, f, _surely(site, f)), variant)


def _surely(site: Site, f: Floor) -> Fraction:
    """A height that is enough if the model sinks as fast as it can until the last assumption has come true."""
    assert f.sensor.change is not None
    assert f.sensor.frame_every is not None
    fastest = max(-f.sensor.change[0], Fraction(0))
    told = [n for a in site.rules.assumptions for n in inside(a.form) if isinstance(n, e.Duration)]
    waits = sum((_wait(site, d) or Fraction(0) for d in (*_delays(site, f), *told)), Fraction(0))
    time = f.sensor.frame_every + waits + f.sensor.lag + 2 * site.rules.cycle.longest
    wrong = f.sensor.error + _most(site, "drift") + (f.sensor.step or Fraction(0)) / 2
    return _most(site, "lowest_safe") + wrong + fastest * time


def _summed(site: Site, f: Floor, names: Names) -> Outcome:
    sink = fact(site, "sink")
    fastest = -f.sensor.change[0] if f.sensor.change is not None else None if sink is None else sink.high
    if fastest is None:
        return NotNamed("H11", "nothing says how fast the model can sink", line("sink"))
    if f.sensor.frame_every is None:
        return NotNamed("H11", f"nothing says how often {f.sensor.name} reports", "frame every ... ms")
    waits = [_wait(site, d) for d in _delays(site, f)]
    if any(w is None for w in waits):
        return NotNamed("H11", f"how long {f.x.name} waits changes in flight", "tune ... = ... s  from ... to ...")
    time = f.sensor.frame_every + sum((w for w in waits if w is not None), Fraction(0))
    time += site.rules.cycle.longest + _most(site, "delay")
    sunk = max(fastest, Fraction(0)) * time
    least = _most(site, "lowest_safe") + sunk + _most(site, "recovery") + f.sensor.error + _most(site, "drift")
    unit = f.sensor.unit.symbol
    sentence = (
        f"{f.x.name} comes in early enough for the fastest descent: {figure(_up(sunk), unit)} are lost before "
        f"anything moves, {figure(_most(site, 'recovery'), unit)} in the recovery"
    )
    return Check(
        "H11", f.x.name, _level(site, f, least, names.next(f.x.name), sentence), site.rules, _higher(site, f, least)
    )


def _up(value: Fraction) -> Fraction:
    return Fraction(-(-value * 10 // 1), 10)


def _delays(site: Site, f: Floor) -> tuple[e.Duration, ...]:
    """What the reading must last for, and what the rule waits for before its first action."""
    lasting = [n.duration for n in inside_named(site, f.signal) if isinstance(n, e.Timed) and n.kind == "for"]
    afters = [a.modifiers.after for a in site.actions_of(f.x) if not isinstance(a, Announce)]
    waits = [a for a in afters if a is not None]
    if waits and len(waits) == len(afters):
        lasting.append(min(waits, key=lambda a: _wait(site, a) or Fraction(0)))
    return tuple(lasting)


def _wait(site: Site, d: e.Duration) -> Fraction | None:
    """The longest that it can be."""
    longest = value_of(site, d.amount, "high")
    if longest is None:
        return None
    return longest * site.rules.cycle.longest if d.in_cycles else longest
