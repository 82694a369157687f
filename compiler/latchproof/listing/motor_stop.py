"""The line of the motor stop: what it does for sure, and what happens when it is given back."""

from fractions import Fraction

from latchproof.listing import amounts, plain
from latchproof.listing.acting import place
from latchproof.listing.desk import Desk
from latchproof.listing.fixed import fixed
from latchproof.listing.holding import Held, Stacks, acts_while, back, held, rests, seconds, stacks_of, stopped_by
from latchproof.listing.moved import moved, role_of
from latchproof.listing.release import After
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel


def motor_stop(desk: Desk, stacks: Stacks) -> str:
    kill = role_of(desk, "kill")
    if kill is None:
        return ""
    action, after = moved(desk, kill, wanted=True)
    if not stacks:
        return f"{action}: nothing in this list stops a motor by it"
    done = held(desk, after, stacks)
    if not done:
        return f"{action}: a motor stop is named, but the rules alone do not make sure that it wins"
    gone = ", ".join(dict.fromkeys(h.goes for h in done))
    strongest = {h.channel.name: h for h in done}
    again, released = moved(desk, kill, wanted=False)
    returns = "; ".join(_returns(desk, h, after, released.over(h.by.condition)) for h in strongest.values())
    return f"{action}: {gone}, whatever else acts. Given back ({again}): {returns}"


def _returns(desk: Desk, h: Held, after: After, over: Fraction | None) -> str:
    name, way = plain.word(h.channel.name), back(desk, h.by, h.channel)
    if over is None:
        return f"{place(h.by)} may go on holding {name} {acts_while(desk, h.by)}"
    layers = desk.layers(h.channel.name)
    if not over and not way:
        # What the motor stop itself has set going beneath it goes on when it is given back.
        for a in reversed(layers.drives[: layers.drives.index(h.by)]):
            if after.there(a.condition) == 0 and not stopped_by(desk, a):
                stays = f"{name} stays with {place(a)} {acts_while(desk, a)}"
                return f"{stays}, then {beneath(desk, h.channel)}"
    others = [a for a in layers.all if a != h.by]
    places = list(dict.fromkeys(place(a) for a in others))
    unless = f", unless {' or '.join(places)} acts on it" if places else ""
    soon = "after a while" if way is None else f"within {seconds(over + way)}" if over + way else "at once"
    return f"{name} {beneath(desk, h.channel)} {soon}{unless}"


def beneath(desk: Desk, x: Channel) -> str:
    """What a channel does when nothing acts on it."""
    match x.source:
        case _ if rests(x):
            rest = fixed(x.source, desk.n)
            return "goes to its rest" if rest is None else f"goes to {amounts.quantity(rest, x.unit)}"
        case e.Held(control=name) | e.Controlled(control=name):
            return f"follows the {desk.control(name)}"
        case _:
            return "follows what you hold"


def stopped_channels(desk: Desk) -> frozenset[str]:
    """Channels like a motor's: the pilot commands them, and the motor stop takes them to their lower end."""
    kill = role_of(desk, "kill")
    if kill is None:
        return frozenset()
    done = held(desk, moved(desk, kill, wanted=True)[1], stacks_of(desk))
    return frozenset(h.channel.name for h in done if not h.channel.rests and h.value == h.channel.low)
