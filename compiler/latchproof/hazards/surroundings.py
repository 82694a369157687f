"""H27 and H31 to H33: the ground, the battery, the greatest height allowed, and people."""

import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import Threshold, behind, powers, read_in, thresholds
from latchproof.hazards.flight import heights
from latchproof.hazards.model import Check, Edit, NotApplicable, NotNamed, Outcome, Remedy
from latchproof.hazards.operation import at_most
from latchproof.hazards.promise import amount, claim, figure, kind, lasting, off, own, words
from latchproof.hazards.remedies import narrowed, only_while, reset_when, unused_name
from latchproof.hazards.site import Site, acts, all_of, any_of
from latchproof.hazards.takers import NOTHING_FLIES, Actor, alone, followed, seconds, surfaces, takers
from latchproof.hazards.vocabulary import fact, line, number
from latchproof.rules import expressions as e
from latchproof.rules.model import Always, Announce, Drive, Fact, Limit, Move, Never, Scope, Sensor, Tune
from latchproof.source import Span

CLEARANCE = Fraction(5)
"""Metres to be left above the highest thing around: common practice, no source."""
SAG = Fraction(3)
"""Seconds that a battery must be low before it counts, since full power pulls it down for a moment: common practice,
no source."""
ROLL = ("aileron", "rudder", "roll", "yaw", "steer")
"""What a surface or stick is called by which the pilot turns the model away."""

NO_HEIGHT = "no rule that gives power or moves a surface reads a height"


# ---------- H27


def h27(site: Site) -> Iterator[Outcome]:
    """The sensor counts from the place where it was switched on. At a slope, over a rise or above trees the model can
    be 30 m "high" and 5 m above the ground, and the guard comes in when it is too late.

    Looked for: each height below which a rule comes in is at least the facts `terrain` and `obstacles` (if stated),
    the sensor's error and `drift` (if stated), and 5 m, taken together: for every value that may be tuned.

    Remedy: raise the height, or its lowest value; a site of its own gets a stage of its own.
    """
    asking = [(x, t) for x in takers(site) for t in _floors(site, x)]
    if not asking:
        yield NotApplicable("H27", "no rule gives power or moves a surface because the model is low")
        return
    ground = fact(site, "terrain")
    if ground is None:
        yield NotNamed("H27", "no fact says how high the ground is around the take-off", line("terrain"))
        return
    above = [ground, *(f for f in (fact(site, "obstacles"), fact(site, "drift")) if f is not None)]
    for count, (x, t) in enumerate(asking, 1):
        sensor = next(s for s in site.rules.sensors if s.name == t.sensor)
        spare = CLEARANCE + sensor.error
        least = sum((f.high for f in above), spare)
        need: e.Number = amount(spare, "m", t.at.span)
        for f in above:
            need = e.Plus(need, number(f), span=t.at.span)
        text = f"always {words(site, t.at)} is at least {' + '.join(f.name for f in above)} + {figure(spare, 'm')}"
        high = figure(least, sensor.unit.symbol)
        said = f"{x.name} comes in at {high} or higher: above the ground around, whatever is tuned"
        form = Always(e.Comparison(t.at, ">=", need, span=t.at.span), span=x.span)
        yield Check("H27", x.name, claim(f"H27 {x.name} {count}", said, text, form), site.rules,
                    _raised(site, t, least))  # fmt: skip


def _floors(site: Site, x: Actor) -> Iterator[Threshold]:
    """Heights below which it comes in, each once."""
    lengths = {s.name for s in heights(site, x)}
    seen: set[e.Number] = set()
    for t in thresholds(site, behind(site, x.condition).tests):
        if t.side == "low" and t.cause.helps and t.sensor in lengths and t.at not in seen:
            seen.add(t.at)
            yield t


def _raised(site: Site, t: Threshold, least: Fraction) -> tuple[Remedy, ...]:
    """The number or tune is made at least so large."""
    match t.at:
        case e.Constant(unit=unit):
            new = figure(least, unit.symbol)
            return (Remedy("come in higher", (edits.instead(site, t.at, new, where="the comparison"),)),)
        case e.Parameter(name=name):
            tune = next((x for x in site.rules.tunes if x.name == name), None)
            return () if tune is None else (raised_tune(site, tune, least),)
        case _:
            return ()


def raised_tune(site: Site, tune: Tune, least: Fraction) -> Remedy:
    value, high = max(tune.value, least), max(tune.high, least)
    return Remedy(f"let {tune.name} be no lower than that", (tune_line(site, tune, value, least, high),))


def tune_line(site: Site, tune: Tune, value: Fraction, low: Fraction, high: Fraction) -> Edit:
    """The tune with another value and range."""
    now, least, most = (figure(x, tune.unit.symbol) for x in (value, low, high))
    text = f"tune {tune.name} = {now}  from {least} to {most}"
    old = words(site, tune)
    if " in steps of " in old:
        text += f"  in steps of {old.split(' in steps of ')[1]}"
    return edits.instead(site, tune, text, where="the tunes")


# ---------- H31


def h31(site: Site) -> Iterator[Outcome]:
    """The battery is almost empty, and the guard asks it for full power: the voltage breaks down, and with it the
    supply of receiver and servos.

    Looked for: when the fresh voltage has been below the fact `weak_voltage` for 3 s, no rule that reads a sensor
    gives a motor more than the fact `weak_power`, unless the pilot's own stick does.

    Remedy: the rule that gives power acts only while the battery is not weak. What steers may go on in a rule of its
    own, and the weak battery deserves a warning.
    """
    giving = [x for x in takers(site) if powers(site, x)]
    batteries = site.sensors_in("V")
    if not giving:
        yield NotApplicable("H31", "no reading of a sensor makes a rule give a motor power")
        return
    if not batteries:
        yield NotNamed("H31", "no sensor tells how full the battery is",
                       "sensor pack { from 0 V to 18 V  stale after 3 s }")  # fmt: skip
        return
    low, most = fact(site, "weak_voltage"), fact(site, "weak_power")
    if low is None or most is None:
        missing = [name for name, f in (("weak_voltage", low), ("weak_power", most)) if f is None]
        yield NotNamed("H31", f"no fact says what a nearly empty battery is ({' and '.join(missing)})",
                       "\n".join(map(line, missing)))  # fmt: skip
        return
    for x in giving:
        for battery in batteries:
            yield _battery(site, x, battery, low, most)


def _battery(site: Site, x: Actor, battery: Sensor, low: Fact, most: Fact) -> Check:
    at = x.span
    below = e.Comparison(e.Reading(battery.name, span=at), "<", number(low), span=at)
    fresh = e.Not(e.SensorState(battery.name, "stale", span=at), span=at)
    with_age = battery.stale_after is not None
    weak = lasting(all_of(fresh, below) if with_age else below, SAG)
    said_weak = (
        f"({battery.name} is fresh and {battery.name} is below {low.name})" if with_age else below_text(battery, low)
    )
    mine = _motors(site, x)
    more = [
        e.Comparison(
            e.Output(m, span=at), ">", e.Largest((e.Own(m, span=at), number(most)), span=at), span=at)
        for m in mine
    ]  # fmt: skip
    form = Never(all_of(acts(x), weak, any_of(*more)), span=at)
    tests = " or ".join(f"{m} is above larger of (pilot_value of {m}, {most.name})" for m in mine)
    text = f"never {x.name}.acting and ({said_weak} for {seconds(SAG)}) and ({tests})"
    said = f"{x.name} never asks a weak battery ({battery.name} below {low.name}) for more than {most.name}"
    mend = _not_when_weak(site, x, f"{battery.name}_weak", f"{said_weak} for {seconds(SAG)}")
    return Check("H31", x.name, claim(f"H31 {x.name} {battery.name}", said, text, form), site.rules, mend)


def _not_when_weak(site: Site, x: Actor, name: str, weak: str) -> tuple[Remedy, ...]:
    """A latch remembers that the battery was weak, so that the rule does not come and go with it."""
    if not own(x.name):
        return ()
    name, arm = unused_name(site, name), site.arm
    reset = f"  reset when {off(site, arm)}\n" if arm is not None else ""
    made = edits.statement(site, f"\nlatch {name} {{\n  set when {weak}\n{reset}}}")
    said = f"let {x.name} act only while the battery was not weak, until it is switched off and on"
    return (Remedy(said, (narrowed(site, x, f"not {name}"), made)),)


def below_text(battery: Sensor, low: Fact) -> str:
    return f"{battery.name} is below {low.name}"


def _motors(site: Site, x: Actor) -> tuple[str, ...]:
    """The motor channels to which it gives power, also by way of the stick that they follow."""
    given = set(powers(site, x))
    return tuple(
        c.name for c in site.motors
        if c.name in given or followed(c.source) & given
    )  # fmt: skip


# ---------- H32


def h32(site: Site) -> Iterator[Outcome]:
    """The guard saves the model from the ground and sends it through the greatest height that is allowed; or a guard
    for the ceiling pushes it down again, and the two play ball with it.

    Looked for: no rule that gives power or moves a surface because of a height acts while the true height (the reading,
    where the sensor has no `changes from`) is above the fact `ceiling`; nor together with a rule that takes power away
    because of the same sensor.

    Remedy: the rule ends below the ceiling, by as much as the model can climb until it is noticed.
    """
    several = [x for x in takers(site) if heights(site, x)]
    if not several:
        yield NotApplicable("H32", NO_HEIGHT)
        return
    top = fact(site, "ceiling")
    if top is None:
        yield NotNamed("H32", "no fact says how high the model may fly", line("ceiling"))
        return
    for x in several:
        for s in heights(site, x):
            yield _below(site, x, s, top)
        for y in site.guards:
            if y is not x and _takes_away(site, y) and set(heights(site, x)) & set(heights(site, y)):
                text = f"never {x.name}.acting and {y.name}.acting"
                form = Never(all_of(acts(x), acts(y)), span=x.span)
                said = f"{x.name} and {y.name} never act at the same time"
                mend = only_while(site, y, f"not ({words(site, x.condition)})")
                yield Check("H32", x.name, claim(f"H32 {x.name} {y.name}", said, text, form), site.rules, mend)


def _below(site: Site, x: Actor, s: Sensor, top: Fact) -> Check:
    at = x.span
    true = s.change is not None
    height: e.Number = e.Truth(s.name, span=at) if true else e.Reading(s.name, span=at)
    shown = f"truth of {s.name}" if true else s.name
    form = Never(all_of(acts(x), e.Comparison(height, ">", number(top), span=at)), span=at)
    arriving = (s.name,) if true and s.frame_every is not None else ()
    text = f"never {x.name}.acting and {shown} is above {top.name}"
    text += f"  provided {s.name} keeps arriving" if arriving else ""
    said = f"{x.name} never acts above {top.name}" + ("" if true else f", as {s.name} shows it")
    margin = _rise(site, s) if true else Fraction(0)
    mend = _ends_below(site, x, s, top, margin)
    return Check("H32", x.name, claim(f"H32 {x.name} {s.name}", said, text, form, arriving=arriving), site.rules, mend)


def _ends_below(site: Site, x: Actor, s: Sensor, top: Fact, margin: Fraction) -> tuple[Remedy, ...]:
    def lower(by: Fraction) -> str:
        return f"{top.name} - {figure(by, 'm')}" if by else top.name

    latch = alone(site, x.condition)
    if latch is not None and any(s in read_in(site, signal) for signal in latch.sets):
        mends = reset_when(site, latch, f"{s.name} is above {lower(margin)}", f"{s.name} is at most {lower(margin)}")
        return tuple(Remedy(f"end {x.name} below {top.name}", m.edits) for m in mends)
    return only_while(site, x, f"{s.name} is below {lower(margin + 10)} until above {lower(margin)}")


def _rise(site: Site, s: Sensor) -> Fraction:
    """Whole metres that the model can be above the last reading."""
    assert s.change is not None
    wait = (s.frame_every or s.stale_after or Fraction(2)) + s.lag + 2 * site.rules.cycle.longest
    most = max(s.change[1], Fraction(0)) * wait + s.error + (s.step or Fraction(0))
    return Fraction(-(-most // 1) + 1)


def _takes_away(site: Site, y: Actor) -> bool:
    motors = {c.name for c in site.motors}
    mine = site.actions_of(y)
    return not powers(site, y) and any(isinstance(a, Limit) and a.bound == "most" and a.channel in motors for a in mine)


# ---------- H33


def h33(site: Site) -> Iterator[Outcome]:
    """The guard holds the model for eight seconds at 15 m/s: 120 m in whatever direction it happens to point, and
    people stand somewhere.

    Looked for: a rule that gives power or moves a surface because of a sensor acts no longer at a stretch than the
    model needs at `cruise_speed` for `line_distance`; and it never touches what the model is turned away by (a channel
    or stick named after ailerons, rudder, roll, yaw or steering).

    Remedy: a short time-out, and hands off the ailerons. Never switch the guard on near people: no rule can know.
    """
    several = takers(site)
    if not several:
        yield NotApplicable("H33", NOTHING_FLIES)
        return
    for x in several:
        for name in surfaces(site, x):
            if _turns(site, name):
                yield _hands_off(site, x, name)
    speed, distance = fact(site, "cruise_speed"), fact(site, "line_distance")
    if speed is None or distance is None or not speed.high:
        missing = [name for name, f in (("cruise_speed", speed), ("line_distance", distance)) if f is None]
        said = "no fact says how fast the model flies, or how far away people are"
        yield NotNamed("H33", said, "\n".join(map(line, missing or ["cruise_speed"])))
        return
    longest = distance.low / speed.high
    tenths = Fraction(int(longest * 10), 10)
    for x in several:
        most = e.Duration(amount(longest, "s", x.span), span=x.span)
        said = f"never flies the model for {line_of(distance)}: it acts for {seconds(tenths)} at the most"
        yield at_most("H33", site, x, most, tenths if tenths else longest, said)


def line_of(distance: Fact) -> str:
    return f"{distance.name} ({figure(distance.low, distance.unit.symbol)})"


def _turns(site: Site, name: str) -> bool:
    """Whether the channel or stick is named after turning, or a channel follows a stick alone that is."""
    source = site.channels[name].source if name in site.channels else None
    names = {name, source.control} if isinstance(source, e.Controlled) else {name}
    return any(word in n for n in names for word in ROLL)


def _hands_off(site: Site, x: Actor, name: str) -> Check:
    free: e.Signal = e.ChannelState(name, "free", span=x.span)
    scope = Scope("while", acts(x), span=x.span)
    said = f"while {x.name} acts, {name} stays the pilot's own"
    made = claim(f"H33 {x.name} {name}", said, f"always {name} is free  while {x.name}.acting",
                 Always(free, span=x.span), scope=scope)  # fmt: skip
    actions = [a for a in site.actions_of(x) if not isinstance(a, Announce) and a.channel == name]
    changes = tuple(Edit(span, "", f"in {kind(x)} {x.name}, take out `{site.text(span).strip()}`")
                    for span in (without_channel(site, a) for a in actions))  # fmt: skip
    mend = (Remedy(f"leave {name} to the pilot", changes),) if own(x.name) else ()
    return Check("H33", x.name, made, site.rules, mend)


_ACTION = re.compile(r'#[^\n]*|"[^"]*"|\b(?:drive|move|limit|announce)\b|}')


def without_channel(site: Site, action: Drive | Move | Limit) -> Span:
    """What is to go from the text so that the action leaves its channel alone: the channel from a list of several, or
    the whole action."""
    span = action.span
    text = site.sources[span.source].text
    before, after = text[: span.start], text[span.end :]
    if listed := re.match(r"\s*,\s*", after):
        return Span(span.source, span.start, span.end + listed.end())
    if listed := re.search(r"\s*,\s*$", before):
        return Span(span.source, listed.start(), span.end)
    start = re.search(r"(?:drive|move|limit)\s+$", before)
    ends = (m.start() for m in _ACTION.finditer(text, span.end) if m[0][0] not in '#"')
    assert start is not None
    return Span(span.source, start.start(), next(ends))


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {"H27": h27, "H31": h31, "H32": h32, "H33": h33}
