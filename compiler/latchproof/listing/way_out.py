"""The first line of a listing: how to get out in flight. It says no more than the rules themselves make sure."""

from fractions import Fraction

from latchproof.listing import amounts, plain
from latchproof.listing.acting import place
from latchproof.listing.desk import Desk
from latchproof.listing.fixed import fixed
from latchproof.listing.layers import Layers
from latchproof.listing.model import WayOut
from latchproof.listing.release import After
from latchproof.machine.actions import Acting
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Control, Drive, Move
from latchproof.rules.units import UNITS

NONE = (
    "NO WAY OUT IS NAMED in these rules: find out, propeller off, what makes every action stop, "
    "and write it here: ________"
)
MOVES_NOTHING = "not needed: this list moves nothing, every channel stays yours"


def way_out(desk: Desk) -> WayOut:
    rules = desk.rules
    things: list[Channel | Control] = [*rules.controls, *rules.channels]
    stacks = [(x, desk.layers(x.name)) for x in things if x.name in desk.acted_on]
    stop = _stop(desk, stacks)
    if not stacks:
        return WayOut(MOVES_NOTHING, (), _nothing_stops(desk))
    arm = next((r.signal for r in rules.roles if r.role == "arm"), None)
    if arm is None:
        return WayOut(NONE, (), stop)
    action, after = moved(desk, arm, wanted=False)
    kill = _kill(desk)
    longest, still, freed, stops = Fraction(0), [], False, False
    for x, stack in stacks:
        for a in stack.all:
            bound, back = after.over(a.condition), _back(desk, a, x)
            if kill is not None and After(desk, frozenset(), kill).over(a.condition) == 0:
                stops = True
            elif bound is None or back is None:
                still.append(_goes_on(desk, a, x))
            else:
                freed, longest = True, max(longest, bound + back)
    if not freed:
        return WayOut(f"{action}: by the rules alone this frees NOTHING", tuple(dict.fromkeys(still)), stop)
    soon = "at once" if not longest else f"after at most {_time(longest)}"
    yours = f"the sticks are yours {soon}" if not still else f"what it stops is yours {soon}, but not all stops"
    only = "; only the motor stop still acts" if stops and not still else ""
    return WayOut(f"{action}: {yours}{only}", tuple(dict.fromkeys(still)), stop)


def _time(seconds: Fraction) -> str:
    return amounts.quantity(seconds, UNITS["s"])


def moved(desk: Desk, role: e.Signal, *, wanted: bool) -> tuple[str, After]:
    """What the pilot does to make the role's signal true or false, and what then holds."""
    signal = role
    while isinstance(signal, e.NamedSignal) and signal.name in desk.conditions:
        signal = desk.conditions[signal.name]
    match signal:
        case e.AtPosition(switch=switch, position=position):
            count = desk.positions(switch)
            at: list[e.Signal] = [e.AtPosition(switch, i, span=signal.span) for i in range(count)]
            if wanted:
                others = frozenset(x for i, x in enumerate(at) if i != position)
                return f"{desk.switch(switch)} to {desk.position(switch, position)}", After(
                    desk, frozenset({at[position], role}), others
                )
            rest = [i for i in range(count) if i != position]
            to = " or ".join(desk.position(switch, i) for i in rest)
            yes: frozenset[e.Signal] = frozenset({at[rest[0]]}) if len(rest) == 1 else frozenset()
            return f"{desk.switch(switch)} to {to}", After(desk, yes, frozenset({at[position], role}))
        case e.Pressed(button=name):
            how = "hold down" if wanted else "let go of"
            held: frozenset[e.Signal] = frozenset({signal, role})
            after = After(desk, held, frozenset()) if wanted else After(desk, frozenset(), held)
            return f"{how} the {plain.word(name)} button", after
        case _:
            said = plain.signal(signal, desk.rules)
            text = f"see to it that {said}" if wanted else f"see to it that this is no longer so: {said}"
            both = frozenset({signal, role})
            return text, After(desk, both, frozenset()) if wanted else After(desk, frozenset(), both)


def _goes_on(desk: Desk, a: Acting, x: Channel | Control) -> str:
    condition = a.condition.operand if isinstance(a.condition, e.Timed) and a.action.modifiers.after else a.condition
    return f"{place(a)} may still act on {plain.word(x.name)}: while {plain.signal(condition, desk.rules)}"


def _back(desk: Desk, a: Acting, x: Channel | Control) -> Fraction | None:
    """How long a hand back takes at most; None if nobody can say."""
    back = a.action.modifiers.back
    if back is None:
        return Fraction(0)
    rate = fixed(back, desk.n)
    if not rate:
        return None
    if isinstance(a.action, Move):
        amount = fixed(a.action.amount, desk.n)
        return None if amount is None else abs(amount) / rate
    return (x.high - x.low) / rate


def _kill(desk: Desk) -> frozenset[e.Signal] | None:
    """The signal of the motor stop, also as the switch position behind it."""
    role = next((r.signal for r in desk.rules.roles if r.role == "kill"), None)
    if role is None:
        return None
    signal = role
    while isinstance(signal, e.NamedSignal) and signal.name in desk.conditions:
        signal = desk.conditions[signal.name]
    return frozenset({role, signal})


def _stop(desk: Desk, stacks: list[tuple[Channel | Control, Layers]]) -> str:
    """What the kill role does for sure: channels that it takes to a fixed value, with nothing above it."""
    kill = next((r.signal for r in desk.rules.roles if r.role == "kill"), None)
    if kill is None:
        return ""
    action, after = moved(desk, kill, wanted=True)
    done = []
    for x, stack in stacks:
        for i, a in enumerate(stack.drives):
            above = stack.drives[i + 1 :]
            if not isinstance(a.action, Drive) or after.there(a.condition) is None or not isinstance(x, Channel):
                continue
            value, wait = fixed(a.action.target, desk.n), after.there(a.condition) or Fraction(0)
            free = all(after.over(other.condition) == 0 and other.action.modifiers.back is None for other in above)
            loose = bool(stack.loose[i])
            if value is None or not free or loose:
                continue
            wait += _ramp(desk, a, x)
            soon = "at once" if not wait else f"within {_time(wait)}"
            done.append(f"{plain.word(x.name)} goes to {amounts.quantity(value, x.unit)} {soon}")
    if not done:
        return f"{action}: a motor stop is named, but the rules alone do not make sure that it wins"
    return f"{action}: {', '.join(dict.fromkeys(done))}, whatever else acts"


def _nothing_stops(desk: Desk) -> str:
    """Where nothing is moved, a motor stop that is named does nothing either."""
    kill = next((r.signal for r in desk.rules.roles if r.role == "kill"), None)
    return "" if kill is None else f"{moved(desk, kill, wanted=True)[0]}: nothing in this list stops a motor by it"


def _ramp(desk: Desk, a: Acting, x: Channel | Control) -> Fraction:
    rates = [fixed(r, desk.n) for r in (a.action.modifiers.rising, a.action.modifiers.falling) if r is not None]
    return max(((x.high - x.low) / r for r in rates if r), default=Fraction(0))
