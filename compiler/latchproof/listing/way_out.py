"""The first line of a listing: how to get out in flight. It says no more than the rules themselves make sure."""

from dataclasses import dataclass, field, replace
from fractions import Fraction

from latchproof.listing import amounts, plain
from latchproof.listing.acting import place
from latchproof.listing.desk import Desk
from latchproof.listing.fixed import fixed
from latchproof.listing.holding import Stacks, acts_while, back, held, rests, seconds, stacks_of, stopped_by
from latchproof.listing.layers import Layers
from latchproof.listing.model import Promise, WayOut
from latchproof.listing.motor_stop import beneath, motor_stop
from latchproof.listing.moved import moved, role_of
from latchproof.listing.release import After
from latchproof.rules.model import Channel, Control
from latchproof.rules.units import UNITS
from latchproof.rules.words import per_second

NONE = (
    "NO WAY OUT IS NAMED in these rules: find out, propeller off, what makes every action stop, "
    "and write it here: ________"
)
MOVES_NOTHING = "not needed: this list moves nothing, every channel stays yours"


@dataclass
class _Freed:
    """What a move of a switch surely ends: channels with the longest time that one takes, and what goes on."""

    yours: dict[str, Fraction] = field(default_factory=dict)
    resting: dict[str, Fraction] = field(default_factory=dict)
    still: list[str] = field(default_factory=list)
    bound: set[str] = field(default_factory=set)
    """Channels on which something goes on."""
    stop: bool = False


def way_out(desk: Desk) -> WayOut:
    stacks = stacks_of(desk)
    stop = motor_stop(desk, stacks)
    if not stacks:
        return WayOut(MOVES_NOTHING, (), stop)
    arm = role_of(desk, "arm")
    if arm is None:
        return _unnamed(desk, stacks, stop)
    action, after = moved(desk, arm, wanted=False)
    holds = {h.channel.name: h for h in held(desk, after, stacks, under_stop=True)}
    freed = _freed(desk, after, [(x, stack) for x, stack in stacks if x.name not in holds])
    said = _yours(freed, all_of_it=not any(not h.channel.rests for h in holds.values()))
    for x, _ in stacks:
        if isinstance(x, Channel) and x.name in freed.resting and x.name not in freed.bound:
            said.append(f"{plain.word(x.name)} {beneath(desk, x)} {_soon(freed.resting[x.name])}")
    stick = ", whatever you do with the stick"
    said += [f"{h.goes} and is held there{'' if h.channel.rests else stick}" for h in holds.values()]
    if freed.still and not freed.yours and said:
        said.append("not all stops")
    named = bool(freed.yours or freed.resting)
    if not named:
        said.append("nothing is given back to you by it" if holds else "by the rules alone this frees NOTHING")
    if freed.stop and named and not freed.still:
        said.append("only the motor stop still acts")
    still = tuple(dict.fromkeys(freed.still))
    released = _release(desk, stacks, freed)
    return WayOut(f"{action}: {'; '.join(said)}", still, stop, released, named=named or bool(holds))


def followed(way: WayOut, promises: tuple[Promise, ...], late: Fraction) -> WayOut:
    """The same on a transmitter, where entries may read late: as sure as the promises are there, and no surer.

    `late`: the longest by which a promise is proved to be late there.
    """
    states = {p.state for p in promises}
    if way.action == MOVES_NOTHING:
        return way
    if states & {"FAILS", "not decided"}:
        unsure = "NOT SURE on this transmitter, see the promises that fail or are not decided: "
    elif "not checked" in states or not states:
        unsure = "NOT SURE on this transmitter, since no promise is proved of it: "
    elif late:
        longest = amounts.quantity(late, UNITS["ms"])
        unsure = f"may be late on this transmitter, where promises are proved up to {longest} late: "
    else:
        return way
    action = way.action if way.action == NONE else unsure + way.action
    return replace(way, action=action, stop=unsure + way.stop if way.stop else "")


def _freed(desk: Desk, after: After, stacks: Stacks) -> _Freed:
    found = _Freed()
    for x, stack in stacks:
        for a in stack.all:
            over, way = after.over(a.condition), back(desk, a, x)
            if stopped_by(desk, a):
                found.stop = True
            elif over is None or way is None:
                found.still.append(f"{place(a)} may still act on {plain.word(x.name)}: {acts_while(desk, a)}")
                found.bound.add(x.name)
            else:
                kind = found.resting if rests(x) else found.yours
                kind[x.name] = max(kind.get(x.name, Fraction(0)), over + way)
    return found


def _yours(freed: _Freed, *, all_of_it: bool) -> list[str]:
    if not freed.yours:
        return ["what it stops ends, but not all stops"] if freed.bound & set(freed.resting) else []
    soon = _soon(max(freed.yours.values()))
    if freed.still:
        return [f"what it stops is yours {soon}, but not all stops"]
    return [f"the sticks are yours {soon}" if all_of_it else f"what it stops is yours {soon}"]


def _soon(longest: Fraction) -> str:
    return "at once" if not longest else f"after at most {seconds(longest)}"


def _unnamed(desk: Desk, stacks: Stacks, stop: str) -> WayOut:
    """No switch is said to take the rules out. What they take from the pilot decides what that means."""
    sticks = [(x, stack) for x, stack in stacks if not rests(x)]
    taking = [(x, a) for x, stack in sticks for a in stack.all if not stopped_by(desk, a)]
    if taking:
        acts = [f"{place(a)} acts on {plain.word(x.name)} {acts_while(desk, a)}" for x, a in taking]
        return WayOut(NONE, (), stop, tuple(dict.fromkeys(acts)), named=False)
    besides = ", except by the motor stop" if sticks else ""
    moves = _names([plain.word(x.name) for x, _ in stacks if rests(x)])
    only = f"; all they move is {moves}, and no switch is named that stops that" if moves else ""
    return WayOut(f"these rules never take a channel from your sticks{besides}{only}", (), stop, (), named=False)


def _names(names: list[str]) -> str:
    return " and ".join(", ".join(names).rsplit(", ", 1))


def _release(desk: Desk, stacks: Stacks, freed: _Freed) -> tuple[str, ...]:
    """How the channels that are given back come back: with a jump, or at a rate."""
    given = [
        (x, s) for x, s in stacks
        if x.name in freed.yours or (x.name in freed.resting and x.name not in freed.bound)
    ]  # fmt: skip
    told = [(x, _way_back(desk, x, s)) for x, s in given]
    jump = [x for x, way in told if way is None]
    lines = [f"on release {_called(desk, x)} will come back {way}" for x, way in told if way is not None]
    sticks = [_called(desk, x) for x in jump if not rests(x)]
    if sticks:
        them = "them" if len(sticks) > 1 else "it"
        lines.insert(0, f"on release {_names(sticks)} will jump to where you hold {them} at that moment")
    return tuple(lines)


def _called(desk: Desk, x: Channel | Control) -> str:
    return desk.control(x.name) if isinstance(x, Control) else plain.word(x.name)


def _way_back(desk: Desk, x: Channel | Control, stack: Layers) -> str | None:
    """None: by a jump."""
    rates = []
    for a in stack.all:
        if stopped_by(desk, a):
            continue
        rate = None if a.action.modifiers.back is None else fixed(a.action.modifiers.back, desk.n)
        if rate is None:
            return None
        rates.append(rate)
    return f"at {amounts.quantity(min(rates), per_second(x.unit))}" if rates else None
