"""Which rules the guard switch turns on, and what is said where no role names it."""

from latchproof.hazards.causes import behind, handled, obeys, only_stops, read_in
from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Role, Rule, Sequence

Actor = Rule | Sequence

NO_SWITCH = "no role tells which switch turns the guard on"
ONLY_HANDS = "no rule acts on the reading of a sensor, all of them on the pilot's own switches and sticks"


def obeying(site: Site, arm: Role) -> tuple[Actor, ...]:
    """Rules that have to end with the switch: those it turns on, and those that act on a reading and have no switch of
    their own. Not those that it holds back, and of those that only stop a motor not those that wait for it at off as
    well, such as "no motor before the switch was seen at off"."""
    found = []
    for x in site.guards:
        ways = _ways(site, x, arm)
        if only_stops(site, x):
            concerned = (True, True) in ways or (bool(ways) and all(helps for helps, _ in ways))
        elif ways:
            concerned = any(helps for helps, _ in ways)
        else:
            concerned = bool(read_in(site, x.condition)) and not _own_switch(site, x)
        if concerned:
            found.append(x)
    return tuple(found)


def _ways(site: Site, x: Actor, arm: Role) -> set[tuple[bool, bool]]:
    """How the switch has a say in the rule: whether its being on helps, and whether the rule itself asks."""
    wanted = {c.test: c.helps for c in behind(site, arm.signal).tests}
    places = {t.switch: (t.position, helps) for t, helps in wanted.items() if isinstance(t, e.AtPosition)}
    found = set()
    for c in behind(site, x.condition).tests:
        if c.test in wanted:
            found.add((c.helps == wanted[c.test], c.latch is None))
        elif isinstance(c.test, e.AtPosition) and c.test.switch in places:
            _, helps = places[c.test.switch]
            found.add((c.helps != helps, c.latch is None))
    return found


def _own_switch(site: Site, x: Actor) -> bool:
    """It asks for another switch or button than those of the motor stop, landing, launch and instructor."""
    taken = {name for role in site.rules.roles for name in handled(site, role.signal)}
    return any(
        isinstance(c.test, e.AtPosition | e.Pressed)
        and (c.test.switch if isinstance(c.test, e.AtPosition) else c.test.button) not in taken
        for c in behind(site, x.condition).tests
    )


def switched(site: Site, arm: Role) -> tuple[Actor, ...]:
    """Rules that the switch turns on, but not those that only stop a motor."""
    return tuple(x for x in site.guards if obeys(site, x, arm) and not only_stops(site, x))


def acts_by_itself(site: Site) -> bool:
    """Some rule acts on a reading."""
    return any(read_in(site, x.condition) for x in site.guards if not only_stops(site, x))


def arm_line(site: Site) -> str:
    """The line that names the switch: with the only switch of the file that has no role yet, if there is one."""
    taken = {name for role in site.rules.roles for name in handled(site, role.signal)}
    free = [s for s in site.rules.switches if s.name not in taken and len(s.positions) == 2]
    asked = [s for s in free if any(s.name in handled(site, x.condition) for x in site.guards)]
    if len(asked) == 1:
        return f"role arm is {asked[0].name} is {asked[0].positions[-1]}"
    return "role arm is ... is ..."


def gate(site: Site, signal: e.Signal, arm: Role) -> bool:
    """Whether the signal can plainly not be true with the switch at off."""
    match signal:
        case _ if signal == arm.signal or signal == e.NamedSignal("arm", span=signal.span):
            return True
        case e.AllOf(operands=operands):
            return any(gate(site, o, arm) for o in operands)
        case e.AnyOf(operands=operands):
            return all(gate(site, o, arm) for o in operands)
        case e.Timed(kind="for", operand=operand):
            return gate(site, operand, arm)
        case e.NamedSignal(name=name) if name in site.latches:
            latch = site.latches[name]
            ends = any(gate(site, _opposite(site, r), arm) for r in latch.resets)
            return ends and (not latch.set_wins or all(gate(site, s, arm) for s in latch.sets))
        case e.NamedSignal(name=name):
            return any(s.name == name and gate(site, s.signal, arm) for s in site.rules.signals)
        case _:
            return False


def _opposite(site: Site, signal: e.Signal) -> e.Signal:
    """What it means that a reset is not true."""
    match signal:
        case e.Not(operand=operand):
            return operand
        case e.AtPosition(switch=switch, position=position):
            positions = next(s.positions for s in site.rules.switches if s.name == switch)
            if len(positions) == 2:
                return e.AtPosition(switch, 1 - position, span=signal.span)
        case e.AnyOf(operands=operands):
            return e.AllOf(tuple(_opposite(site, o) for o in operands), span=signal.span)
        case e.NamedSignal(name=name):
            found = next((s.signal for s in site.rules.signals if s.name == name), None)
            if found is not None:
                return _opposite(site, found)
    return e.Not(signal, span=signal.span)
