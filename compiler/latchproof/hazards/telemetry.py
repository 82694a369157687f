"""What a sensor does: it falls silent or starts again from zero (H06, H07); those about levels stand beside."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind, gives_back, obeys, only_stops, powers, read_by, read_in
from latchproof.hazards.flight import (
    GROUND,
    IN_THE_AIR,
    OLD,
    engaged,
    giving_power,
    heights,
    in_the_air,
    only_in_the_air,
)
from latchproof.hazards.floors import h08, h11
from latchproof.hazards.levels import h09, h10
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Remedy, Seen
from latchproof.hazards.numbers import rounded_up
from latchproof.hazards.promise import Names, amount, claim, figure, lasting, off, on, own, stale
from latchproof.hazards.remedies import lets_go_blind, narrowed, set_aside, unused_name
from latchproof.hazards.site import Site, all_of, any_of, not_
from latchproof.hazards.vocabulary import fact, line
from latchproof.rules import expressions as e
from latchproof.rules.model import Before, Never, Rule, RuleSet, Scope, Sensor, Sequence, Whenever

WARNED = Fraction(1)
"""Seconds of silence after which it must have been said. Common practice, no source."""
REPEATED = Fraction(10)
"""Seconds after which it must be said again. Common practice, no source."""
HELD = Fraction(2)
"""Seconds after a jump of the reading in which nothing may act on it. Common practice, no source."""
ANY_JUMP = "a sensor may start again from zero"


def h06(site: Site) -> Iterator[Outcome]:
    """The frames stop. A guard that is engaged climbs on blindly; one that is not is absent, and nobody knows.

    Checked for each rule that acts on a reading: one cycle after the reading became stale (`stale after`, else 2 s
    without a frame) the rule has ended; 1 s of silence with the guard on and it is announced, again every 10 s at the
    least; and a rule that gives a motor power does not begin again before the height was fresh and above 5 m (or
    `fact ground`) for 2 s.

    Remedy: `reset when` the reading is stale, in every latch behind the rule; a rule that announces it.
    """
    names = Names("H06")
    for x in site.guards:
        if only_stops(site, x) or gives_back(site, x):
            continue
        for sensor in read_in(site, x.condition):
            yield _lets_go(site, x, sensor, names)
            yield _is_told(site, x, sensor, names)
            if powers(site, x) and sensor in heights(site, x):
                yield from _arms_again(site, x, sensor, names)
    if names.unused:
        yield NotApplicable("H06", "no rule but a motor's stop acts on the reading of a sensor")


def _lets_go(site: Site, x: Rule | Sequence, sensor: Sensor, names: Names) -> Check:
    old = stale(sensor, OLD, x.span)
    made = claim(
        names.next(x.name),
        f"{x.name} ends when {sensor.name} falls silent",
        f"never {x.name} acts and {sensor.name} is stale and previous of ({sensor.name} is stale)",
        Never(all_of(engaged(x, site.rules.device.starts), old, e.PreviousSignal(old, span=x.span)), span=x.span),
    )
    return Check("H06", x.name, made, site.rules, lets_go_blind(site, x))


def _is_told(site: Site, x: Rule | Sequence, sensor: Sensor, names: Names) -> Outcome:
    """That the guard cannot work is announced, while it is switched on and the motor not stopped."""
    arm = site.arm if site.arm is not None and obeys(site, x, site.arm) else None
    silent: list[e.Signal] = [stale(sensor, OLD, x.span)]
    said = [f"{sensor.name} is stale"]
    if arm is not None:
        silent.insert(0, arm.signal)
        said.insert(0, on(site, arm))
    else:
        silent.append(e.SensorState(sensor.name, "heard", span=x.span))
        said.append(f"{sensor.name} is heard")
    if site.kill is not None:
        silent.append(not_(site.kill.signal))
        said.append(off(site, site.kill))
    everybody: tuple[Rule | Sequence, ...] = (*site.rules.rules, *site.rules.sequences)
    heard = [s for r in everybody for s in _told_by(site, r, sensor)]
    name = unused_name(site, f"no_{sensor.name}")
    while_ = f"{on(site, arm)} and " if arm is not None else f"{sensor.name} is heard and "
    lines = f'rule {name} while {while_}{sensor.name} is stale {{ announce voice "no {sensor.name}"  every 8 s }}'
    changes = [edits.statement(site, lines)]
    if sensor.stale_after is None:
        changes.append(edits.clause(site, sensor, "stale after 2 s", where=f"sensor {sensor.name}"))
    remedies = (Remedy(f"say that {sensor.name} is missing", tuple(changes)),)
    if not heard:
        return Seen(
            "H06", x.name, False, f"nothing says again and again that {sensor.name} is missing", x.span, remedies
        )
    made = claim(
        names.next(x.name),
        f"within 1 s it is said that {sensor.name} is missing",
        f"whenever ({' and '.join(said)}) for 1 s then a warning",
        Whenever(lasting(all_of(*silent), WARNED), any_of(*heard), None, span=x.span),
    )
    return Check("H06", x.name, made, site.rules, remedies)


def _told_by(site: Site, x: Rule | Sequence, sensor: Sensor) -> Iterator[e.Signal]:
    """Announcements that are repeated, of rules that ask about the sensor."""
    about = any(
        sensor.name in read_by(site, c.test) or _asks(c.test, sensor.name) for c in behind(site, x.condition).tests
    )
    for a in site.announces(x) if about else ():
        every = a.every.amount if a.every is not None and not a.every.in_cycles else None
        if isinstance(every, e.Constant) and every.value <= REPEATED:
            yield e.NamedSignal(f"{x.name}.{a.means}", span=x.span)


def _asks(test: e.Signal, sensor: str) -> bool:
    match test:
        case e.SensorState(sensor=name):
            return name == sensor
        case e.Comparison(left=left, right=right):
            return any(isinstance(n, e.Age) and n.sensor == sensor for n in (left, right))
        case _:
            return False


def _arms_again(site: Site, x: Rule | Sequence, sensor: Sensor, names: Names) -> Iterator[Check]:
    evidence = in_the_air(site, x)
    if evidence is None or site.arm is None:
        return
    begins = e.Edge("begins", giving_power(site, x), span=x.span)
    made = claim(
        names.next(x.name),
        f"when {sensor.name} is back, {x.name} does not act before the model has been seen in the air for 2 s",
        f"before ({x.name} gives power) comes ({evidence[1]} for 2 s) since {sensor.name} is fresh",
        Before(begins, lasting(evidence[0], IN_THE_AIR), span=x.span),
        scope=Scope("since", not_(stale(sensor, OLD, x.span)), span=x.span),
    )
    yield Check("H06", x.name, made, site.rules, only_in_the_air(site, x, site.arm))


def h07(site: Site) -> Iterator[Outcome]:
    """The sensor loses power for a moment in flight and starts again from zero: 80 m becomes 0 m. The floor guard
    climbs, and goes on climbing.

    Checked for each rule that acts on a height, with a sensor that may read anything: when a fresh reading falls to
    within 5 m (or `fact ground`) of zero by more than the model can fall while the reading is not yet stale (`changes
    from`, or `fact sink`, times `stale after`, and the error twice), the rule does not act, nor in the 2 s after, as
    long as the reading stays there.

    Remedy: a signal for the jump that resets the latches; a second source of height where there is one.
    """
    names = Names("H07")
    unknown: list[Sensor] = []
    for x in site.guards:
        for sensor in () if only_stops(site, x) or gives_back(site, x) else heights(site, x):
            jump = _jump(site, sensor)
            if jump is None:
                unknown.append(sensor)
                continue
            ground = fact(site, "ground")
            near = ground.high if ground is not None else GROUND
            reading, before = (
                e.Reading(sensor.name, span=x.span),
                e.PreviousNumber(e.Reading(sensor.name, span=x.span), span=x.span),
            )
            fresh = not_(stale(sensor, OLD, x.span))
            low = e.Comparison(e.Size(reading, span=x.span), "<=", amount(near, "m", x.span), span=x.span)
            fallen = e.Minus(before, reading, span=x.span)
            restarted = all_of(
                fresh,
                e.PreviousSignal(fresh, span=x.span),
                e.Comparison(fallen, ">", amount(jump, "m", x.span), span=x.span),
                low,
            )
            lately = e.Timed("extended", restarted, e.Duration(amount(HELD, "s", x.span), span=x.span), span=x.span)
            step = figure(jump, sensor.unit.symbol)
            made = claim(
                names.next(x.name),
                f"when {sensor.name} starts again from zero, {x.name} does not act for 2 s",
                f"never {x.name} acts and ({sensor.name} fell to zero by more than {step} at once) extended 2 s",
                Never(all_of(engaged(x, site.rules.device.starts), lately, low), span=x.span),
            )
            yield Check("H07", x.name, made, _without_facts(site.rules), _no_jump(site, x, sensor, jump), ANY_JUMP)
    for sensor in dict.fromkeys(unknown):
        yield NotNamed("H07", f"nothing says how fast {sensor.name} can fall in flight", line("sink"))
    if names.unused and not unknown:
        yield NotApplicable("H07", "no rule but a motor's stop acts on a height")


def _jump(site: Site, sensor: Sensor) -> Fraction | None:
    """The most by which one fresh reading can lie below the one before, rounded up to whole units."""
    sink = fact(site, "sink")
    fastest = -sensor.change[0] if sensor.change is not None else sink.high if sink is not None else None
    if fastest is None:
        return None
    gap = OLD if sensor.stale_after is None else sensor.stale_after
    return rounded_up(max(fastest, Fraction(0)) * gap + 2 * sensor.error + (sensor.step or 0), sensor.unit)


def _without_facts(rules: RuleSet) -> RuleSet:
    """The same rules in a world where a sensor may read anything, at once."""
    free = tuple(replace(s, change=None, error=Fraction(0), lag=Fraction(0)) for s in rules.sensors)
    return replace(rules, sensors=free, assumptions=())


def _no_jump(site: Site, x: Rule | Sequence, sensor: Sensor, jump: Fraction) -> tuple[Remedy, ...]:
    if not own(x.name):
        return ()
    name = unused_name(site, f"{sensor.name}_jumped")
    test = f"(previous of {sensor.name} - {sensor.name} is above {figure(jump, sensor.unit.symbol)}) extended 2 s"
    reset, covered = set_aside(site, x.condition, {sensor.name: (name, f"not {name}")})
    changes = (edits.statement(site, f"signal {name} = {test}"), *reset)
    if sensor.name not in covered:
        changes = (*changes, narrowed(site, x, f"not {name}"))
    return (Remedy(f"do nothing for 2 s after a jump of {sensor.name}, and arm anew", changes),)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H06": h06, "H07": h07, "H08": h08, "H09": h09, "H10": h10, "H11": h11,
}  # fmt: skip
