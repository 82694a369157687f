"""Which channels a switch takes to a fixed value for sure, and how long channels take to come back."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.listing import amounts, plain
from latchproof.listing.desk import Desk
from latchproof.listing.fixed import fixed
from latchproof.listing.layers import Layers
from latchproof.listing.moved import behind, role_of
from latchproof.listing.release import After
from latchproof.machine.actions import Acting
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Control, Drive, Move
from latchproof.rules.units import UNITS

Stacks = list[tuple[Channel | Control, Layers]]


@dataclass(frozen=True, slots=True)
class Held:
    """`wait`: seconds after which the channel is surely at the value and stays there."""

    channel: Channel
    by: Acting
    value: Fraction
    wait: Fraction

    @property
    def goes(self) -> str:
        soon = "at once" if not self.wait else f"within {seconds(self.wait)}"
        return f"{plain.word(self.channel.name)} goes to {amounts.quantity(self.value, self.channel.unit)} {soon}"


def stacks_of(desk: Desk) -> Stacks:
    """The controls and channels that anything acts on."""
    things: list[Channel | Control] = [*desk.rules.controls, *desk.rules.channels]
    return [(x, desk.layers(x.name)) for x in things if x.name in desk.acted_on]


def seconds(value: Fraction) -> str:
    return amounts.quantity(value, UNITS["s"])


def rests(x: Channel | Control) -> bool:
    return isinstance(x, Channel) and x.rests


def held(desk: Desk, after: After, stacks: Stacks, *, under_stop: bool = False) -> list[Held]:
    """Nothing else gets at these channels then; with `under_stop` the motor stop still may."""
    return [h for x, stack in stacks if isinstance(x, Channel) for h in _on(desk, after, x, stack, under_stop)]


def _on(desk: Desk, after: After, x: Channel, stack: Layers, under_stop: bool) -> list[Held]:
    found = []
    for i, a in enumerate(stack.drives):
        there = after.there(a.condition)
        if not isinstance(a.action, Drive) or there is None or stack.loose[i]:
            continue
        value = fixed(a.action.target, desk.n)
        free = all(
            (after.over(other.condition) == 0 and other.action.modifiers.back is None)
            or (under_stop and stopped_by(desk, other))
            for other in stack.drives[i + 1 :]
        )
        if value is not None and free:
            found.append(Held(x, a, min(max(value, x.low), x.high), there + _ramp(desk, a, x)))
    return found


def _ramp(desk: Desk, a: Acting, x: Channel) -> Fraction:
    rates = [fixed(r, desk.n) for r in (a.action.modifiers.rising, a.action.modifiers.falling) if r is not None]
    return max(((x.high - x.low) / r for r in rates if r), default=Fraction(0))


def stopped_by(desk: Desk, a: Acting) -> bool:
    """Whether this action is the motor stop's: it acts only while the motor stop does."""
    kill = role_of(desk, "kill")
    if kill is None:
        return False
    no: frozenset[e.Signal] = frozenset({kill, behind(desk, kill)})
    return After(desk, frozenset(), no).over(a.condition) == 0


def acts_while(desk: Desk, a: Acting) -> str:
    condition = a.condition.operand if isinstance(a.condition, e.Timed) and a.action.modifiers.after else a.condition
    return f"while {plain.signal(condition, desk.rules)}"


def back(desk: Desk, a: Acting, x: Channel | Control) -> Fraction | None:
    """How long a hand back takes at most; None if nobody can say."""
    rate = a.action.modifiers.back
    if rate is None:
        return Fraction(0)
    value = fixed(rate, desk.n)
    if not value:
        return None
    if isinstance(a.action, Move):
        amount = fixed(a.action.amount, desk.n)
        return None if amount is None else abs(amount) / value
    return (x.high - x.low) / value
