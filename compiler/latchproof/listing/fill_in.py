"""What the pilot fills in before the first entry: which switch, which way, which unit, which channel."""

from collections.abc import Iterator

from latchproof.listing.amounts import digits, pulse_width, quantity
from latchproof.listing.desk import Desk
from latchproof.listing.model import Ask, FillIn
from latchproof.listing.plain import word
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Control, Drive, Limit, Move, RuleSet, Sensor, Switch
from latchproof.rules.units import LENGTH
from latchproof.transmitter.hands import Serving


def fill_in(rules: RuleSet, desk: Desk, hands: tuple[Serving, ...] = ()) -> tuple[FillIn, ...]:
    """`hands`: what the description of a transmitter says of its switches and sticks; that is only to be confirmed."""
    used = _used(desk)
    known = {s.name: s for s in hands if s.hand is not None}
    return (
        *(_switch(s, desk, known.get(s.name)) for s in rules.switches if s.name in used),
        *(FillIn(desk.button(b.name), (_is(known.get(b.name)), FREE)) for b in rules.buttons if b.name in used),
        *(_control(c, desk, known.get(c.name)) for c in rules.controls if c.name in used),
        *(_sensor(s) for s in rules.sensors if f"@sensor {s.name}" in desk.drafts),
        *(_channel(c, desk) for c in rules.channels if c.name not in desk.untouched),
        *(_number(c) for c in rules.channels if c.name in desk.untouched and c.number is None),
    )


CONFIRM = ("yes", "no: ________")
FREE = Ask("used for anything else already?", ("no", "yes: ________"))


def _used(desk: Desk) -> frozenset[str]:
    """Switches, buttons and sticks that stand in what the model does."""
    rules = desk.rules
    by_name: dict[str, object] = {str(r.role): r.signal for r in rules.roles}
    for group in (rules.signals, rules.values, rules.samples, rules.latches, rules.counters):
        by_name |= {x.name: x for x in group}
    acting = [r for r in rules.rules if r.actions], [s for s in rules.sequences if any(p.actions for p in s.phases)]
    seen: set[str] = set()
    stack: list[object] = [*acting[0], *acting[1], *(c for c in rules.channels if c.name not in desk.untouched)]
    while stack:
        for name in _names(stack.pop()):
            if name not in seen:
                seen.add(name)
                stack.append(by_name.get(name))
                phase = desk.phases.get(name)
                stack.append(phase[0] if phase else None)
    return frozenset(seen)


def _names(x: object) -> Iterator[str]:
    """Every name in an expression or a record of expressions, also those that mean the pass before."""
    todo = [x]
    while todo:
        node = todo.pop()
        match node:
            case str() | None:
                continue
            case e.AtPosition(switch=name) | e.Pressed(button=name) | e.Held(control=name) | e.Controlled(control=name):
                yield name
            case e.Own(channel=name) | e.NamedSignal(name=name) | e.NamedNumber(name=name) | e.Output(channel=name):
                yield name
            case e.FromTable(switch=name, values=values):
                yield name
                todo.extend(values)
            case Drive() | Move() | Limit():
                yield node.channel
                todo.extend(parts(node))
            case _:
                todo.extend(parts(node))


def _is(known: Serving | None) -> Ask:
    if known is None or known.hand is None:
        return Ask("is")
    turned = ", shown the other way round" if known.hand.turned else ""
    return Ask(f"is {known.hand.name}{turned}", CONFIRM)


def _switch(s: Switch, desk: Desk, known: Serving | None) -> FillIn:
    ways: tuple[str, ...] = ("away", "towards") if len(s.positions) == 2 else ("away", "middle", "towards")
    if len(s.positions) > 3:
        ways = tuple(str(i) for i in range(1, len(s.positions) + 1))
    said = {} if known is None else dict(known.ways)
    asks = [
        Ask(f'"{word(p)}" is {at}', CONFIRM) if (at := said.get(p)) else Ask(f'"{word(p)}" is', ways)
        for p in s.positions
    ]
    return FillIn(desk.switch(s.name), (_is(known), *asks, FREE))


def _control(c: Control, desk: Desk, known: Serving | None) -> FillIn:
    ends = f"reads {quantity(c.low, c.unit)} at one end and {quantity(c.high, c.unit)} at the other"
    return FillIn(desk.control(c.name), (_is(known), Ask(ends, ("yes", "no: convert every number of it"))))


def _sensor(s: Sensor) -> FillIn:
    asks = [Ask("name on the screen"), Ask(f"shows in {s.unit.symbol or 'plain numbers'}", ("yes", "no: ________"))]
    if s.unit.dimension == LENGTH:
        asks.append(Ask("zero is", ("power-on", "my button", "sea level")))
    asks.append(Ask("discovered once, no second sensor of the kind", ("yes",)))
    return FillIn(f"sensor {word(s.name)}", tuple(asks))


def _number(c: Channel) -> FillIn:
    """Of a channel that is left as it is only the receiver's failsafe needs to know which one it is."""
    return FillIn(f"channel {word(c.name)}", (Ask("is number"),))


def _channel(c: Channel, desk: Desk) -> FillIn:
    number = Ask("is number", ()) if c.number is None else Ask(f"is number {c.number}", ("yes", "no: ________"))
    asks = [number]
    if c.unit.symbol == "%":
        ends = f"{digits(c.low)} % is {pulse_width(c.low, c.low)}, {digits(c.high)} % is {pulse_width(c.high, c.low)}"
        asks.append(Ask(f"{ends}:", ("yes", "no: ________")))
    moved = sorted({a.action.word for a in desk.layers(c.name).moves if isinstance(a.action, Move)})
    asks += [Ask(f"at the model, {way} is really {way}, seen from behind", ("tried",)) for way in moved]
    return FillIn(f"channel {word(c.name)}", tuple(asks))
