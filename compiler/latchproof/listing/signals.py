"""Signals as inputs of entries, and the entries that they need: comparisons, gates, delays, edges."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Literal, assert_never

from latchproof.listing import amounts, plain
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField, Link, Text, choice, state
from latchproof.listing.entered import typed
from latchproof.listing.fixed import fixed, unit_of
from latchproof.listing.numbers import atom, duration, earlier, low_end, shown
from latchproof.rules import expressions as e
from latchproof.rules.expressions import Order
from latchproof.rules.model import Announce
from latchproof.rules.units import UNITS
from latchproof.source import Span

RELATION: dict[Order, str] = {
    "<": "BELOW", "<=": "AT MOST", ">": "ABOVE", ">=": "AT LEAST", "==": "EQUAL TO",
}  # fmt: skip
AT_READINGS = (
    "at each new reading: the change since the reading before, divided by the time between them; kept in between"
)
IN_EACH_PASS = "in each pass: the change since the pass before, divided by the time of the pass"
SIGNED, ALIKE = "up counts as positive, down as negative", "upwards and downwards alike"
HAS = {
    "free": "its value is what the pilot alone gives",
    "driven": "an entry that replaces it acts, or is still handing it back",
    "moved": "an entry that adds to it adds something, or has not yet gone back",
    "limited": "an entry that limits it acts, or is still handing it back",
}
"""Who has a channel, in words."""
_FLIPPED: dict[Order, Order] = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "=="}


def operand(desk: Desk, x: e.Signal, use: str, positive: bool = True, passes: int = 0) -> Text:
    """A signal as an input: a switch or button by name, or an entry with the state that counts.

    `use` says what the signal is for. `passes`: as it was so many passes earlier; before the first pass nothing was so.
    """
    match x:
        case e.AtPosition(switch=switch, position=position):
            return (_at(desk, switch, position, positive, passes),)
        case e.Pressed(button=name):
            held = f"{desk.button(name)} "
            return (held + _state("held down", "not held down", positive, passes),)
        case e.NamedSignal(name=name):
            return _named(desk, name, use, positive, passes)
        case e.Not(operand=inner) if not passes:
            return operand(desk, inner, use, not positive)
        case e.PreviousSignal(operand=inner):
            return operand(desk, inner, use, positive, passes + 1)
        case e.SensorState(sensor=sensor, state="fresh"):
            stale = e.SensorState(sensor, "stale", span=x.span)
            if passes:
                return _linked(desk.once(x, lambda key: _opposite(desk, key, stale)), positive, passes)
            return operand(desk, stale, use, not positive)
        case e.AllOf(operands=()) | e.AnyOf(operands=()) | e.ExactlyOne(operands=()):
            return ("always" if isinstance(x, e.AllOf) == positive else "never",)
        case _:
            return _linked(entry(desk, x, use), positive, passes)


def _at(desk: Desk, switch: str, position: int, positive: bool, passes: int) -> str:
    name, place = desk.switch(switch), desk.position(switch, position)
    if passes:
        return f"{name} at {place}, {earlier(passes)}" + ("" if positive else ": not so")
    if positive:
        return f"{name} at {place}"
    if desk.positions(switch) == 2:
        return f"{name} at {desk.position(switch, 1 - position)}"
    return f"{name} NOT at {place}"


def _state(yes: str, no: str, positive: bool, passes: int) -> str:
    if not passes:
        return yes if positive else no
    return f"{yes}, {earlier(passes)}" + ("" if positive else ": not so")


def _linked(key: str, positive: bool, passes: int) -> Text:
    return (Link(key, "true" if positive else "false", "earlier" if passes else "now", passes),)


def _named(desk: Desk, name: str, use: str, positive: bool, passes: int) -> Text:
    definition = desk.conditions.get(name)
    pulse = desk.rules.device.pulse
    if pulse is not None and name == pulse.name:
        given = f"the transmitter's own start signal ({plain.word(name)}) "
        return (given + _state("true", "false", positive, passes),)
    if definition is not None and name not in desk.signals:
        if passes and not isinstance(definition, e.AtPosition | e.Pressed):
            return _linked(_standing_for(desk, name, definition, use), positive, passes)
        return operand(desk, definition, use, positive, passes)
    if name in desk.signals:
        meant, same = _meant(desk, name)
        if meant is not None and (same or not passes):
            desk.mention(name)
            called = f" ({'' if positive else 'not '}{plain.word(name)})"
            return (*operand(desk, meant, use, positive == same, passes), called)
    owner, _, what = name.rpartition(".")
    if definition is None and name not in desk.latches and name not in desk.phases:
        told = told_by(desk, owner, what)
        if what == "announced":
            keys = [key for key, _, _ in told]
            if len(keys) == 1:
                form: Literal["speaks", "silent"] = "speaks" if positive else "silent"
                return (Link(keys[0], form, "earlier" if passes else "now", passes),)
            return _linked(
                desk.once(e.NamedSignal(name, span=_nowhere(desk)), lambda k: _any_speaks(desk, k, keys)),
                positive,
                passes,
            )
        conditions = tuple(c for _, c, a in told if a.means == what)
        one = conditions[0] if len(conditions) == 1 else e.AnyOf(conditions, span=_nowhere(desk))
        if passes:
            return _linked(_standing_for(desk, name, one, use), positive, passes)
        return operand(desk, one, use, positive, passes)
    return _linked(desk.want(name), positive, passes)


def _standing_for(desk: Desk, name: str, x: e.Signal, use: str) -> str:
    """The entry for what a name means, where it is asked for as it was: what it means may go back to itself."""

    def make(key: str) -> None:
        draft = desk.put(Draft(key, "logic", "the same as its input", (plain.word(name),)))
        draft.fields = [state("input", operand(desk, x, use))]
        draft.start = "follows its input from the first pass"

    return desk.once(e.NamedSignal(name, span=_nowhere(desk)), make)


def told_by(desk: Desk, owner: str, what: str = "announced") -> Sequence[tuple[str, e.Signal, Announce]]:
    """Announcements of a rule or sequence: their key, when they are in force, and what they are."""
    found: list[tuple[str, e.Signal, Announce]] = []
    for r in desk.rules.rules:
        if r.name == owner:
            found += [(f"{owner}#{i}", r.condition, a) for i, a in enumerate(r.actions, 1) if isinstance(a, Announce)]
    for s in desk.rules.sequences:
        if s.name != owner:
            continue
        for p in s.phases:
            phase = e.NamedSignal(f"{s.name}.{p.name}", span=p.span)
            found += [
                (f"{s.name}.{p.name}#{i}", phase, a) for i, a in enumerate(p.actions, 1) if isinstance(a, Announce)
            ]
    return [f for f in found if what == "announced" or f[2].means == what]


def _nowhere(desk: Desk) -> Span:
    """A place for what stands nowhere in the text."""
    return desk.rules.cycle.span


NAMES_ONLY = (e.NamedSignal, e.Not, e.AtPosition, e.Pressed, e.SensorState)
"""A signal that is one of these is only another name for it."""


def _meant(desk: Desk, name: str) -> tuple[e.Signal | None, bool]:
    """What a signal that only gives another thing a name stands for, and whether it is that thing or its opposite.

    Such a name needs no entry of its own. None for a signal that is made of something.
    """
    x, same, seen = desk.signals[name].signal, True, {name}
    if not isinstance(x, NAMES_ONLY):
        return None, True
    while True:
        match x:
            case e.Not(operand=inner):
                x, same = inner, not same
            case e.NamedSignal(name=other) if other in seen:
                return None, True
            case e.NamedSignal(name=other) if other in desk.signals and isinstance(
                desk.signals[other].signal, NAMES_ONLY
            ):
                seen.add(other)
                desk.mention(other)
                x = desk.signals[other].signal
            case _:
                return x, same


# ---------- entries


def entry(desk: Desk, x: e.Signal, use: str, name: str | None = None) -> str:
    """The key of the entry for a signal; `name` is what the rule file calls it."""
    key = desk.once(x, lambda k: _make(desk, k, x, use, name))
    if name is not None and name not in desk.drafts[key].names:
        desk.drafts[key].names.append(name)
    return key


def _make(desk: Desk, key: str, x: e.Signal, use: str, name: str | None) -> None:
    said = plain.signal(x, desk.rules)
    serves = said if name is not None else f"{said}; {use}"
    below = f"part of {plain.word(name)}" if name is not None else f"part of what {use}"
    below = below.replace("part of what part of", "part of")

    def put(draft: Draft, fields: list[DraftField], start: str) -> None:
        desk.put(draft).fields = fields
        draft.start = start

    match x:
        case e.Comparison():
            draft = desk.put(Draft(key, "condition", "comparison", (said,)))
            draft.fields = _comparison(desk, x, use)
            draft.start = _open(x)
        case e.RateComparison():
            draft = desk.put(Draft(key, "condition", "comparison of a rate of change", (said,)))
            draft.fields = _rate(desk, x, use)
            draft.start = "false"
        case e.Band():
            draft = desk.put(Draft(key, "condition", "comparison with two thresholds", (said,)))
            draft.fields = _band(desk, x, use)
            draft.start = "as if it had been false before"
        case e.SensorState(state="fresh"):
            _opposite(desk, key, e.SensorState(x.sensor, "stale", span=x.span))
        case e.SensorState():
            _sensor_state(desk, key, x)
        case e.ChannelState(channel=name_, state=state_):
            _channel_state(desk, key, name_, state_, said)
        case e.AllOf(operands=several) | e.AnyOf(operands=several) | e.ExactlyOne(operands=several):
            kind = {e.AllOf: "ALL of these (and)", e.AnyOf: "ANY of these (or)"}.get(type(x), "EXACTLY ONE of these")
            draft = Draft(key, "logic", kind, (serves,))
            desk.put(draft)
            inputs = [state(f"input {i}", operand(desk, o, below)) for i, o in enumerate(several, 1)]
            put(draft, inputs, "follows its inputs from the first pass")
        case e.Not() | e.NamedSignal() | e.AtPosition() | e.Pressed():
            draft = Draft(key, "logic", "the same as its input", (serves,))
            desk.put(draft)
            put(draft, [state("input", operand(desk, x, below))], "follows its input from the first pass")
        case e.PreviousSignal():
            draft = Draft(key, "logic", "the same as its input", (serves,))
            desk.put(draft)
            put(draft, [state("input", operand(desk, x, below))], "false")
        case e.Timed(kind=kind, operand=inner, duration=lasts):
            draft = desk.put(Draft(key, "delay", "", (serves,)))
            _timed(desk, draft, kind, inner, lasts, below)
        case e.Edge(kind=kind, operand=inner):
            becomes = "becomes true" if kind == "begins" else "becomes false"
            draft = desk.put(Draft(key, "logic", f"true for one pass when its input {becomes}", (serves,)))
            first = "true in the first pass if the input is" if kind == "begins" else "false, also in the first pass"
            put(draft, [state("input", operand(desk, inner, below))], first)
        case _:
            assert_never(x)


def _open(x: e.Comparison) -> str:
    if any(isinstance(side, e.Reading) for side in (x.left, x.right)):
        return "true or false, nobody knows, until the sensor is first heard"
    return "follows its inputs from the first pass"


def _comparison(desk: Desk, x: e.Comparison, use: str) -> list[DraftField]:
    left, order, right = x.left, x.order, x.right
    if fixed(left, desk.n) is not None and fixed(right, desk.n) is None:
        left, order, right = right, _FLIPPED[order], left
    subject = DraftField("compare", atom(desk, left, _worked(use)), kind="number")
    return [subject, _threshold(desk, left, order, right, use, "is")]


def _threshold(desk: Desk, subject: e.Number, order: Order, bound: e.Number, use: str, label: str) -> DraftField:
    low = low_end(desk, _thing(subject))
    edge = {"<": "itself does not count", ">": "itself does not count", "==": "and nothing else"}
    counts = edge.get(order, "itself counts")
    value = fixed(bound, desk.n)
    entered = None if value is None else typed(desk.device, subject, unit_of(subject, desk.n).dimension, value)
    if entered is not None and value is not None:
        made = shown(desk, bound, _worked(use), entered.unit, low)
        said = amounts.quantity(entered.typed, entered.unit)
        works = amounts.quantity(value, UNITS[entered.kept])
        kept: Text = () if entered.typed == value else (f"the transmitter works with {works}; ",)
        other = made.other if low is not None else amounts.other_unit(entered.typed, entered.unit)
        field = replace(made, value=(said,), other=other)
        return field.field(label, "threshold", f"{RELATION[order]} ", (*kept, f"{said} {counts}"))
    side = shown(desk, bound, _worked(use), unit_of(subject, desk.n), low)
    at = side.value[0] if side.fixed is not None else "the same value"
    return side.field(label, "threshold", f"{RELATION[order]} ", (f"{at} {counts}",))


def _worked(use: str) -> str:
    return f"for a comparison that {use}" if not use.startswith("part of") else f"for a comparison, {use}"


def _thing(x: e.Number) -> str:
    """The stick, knob or channel that a number is, else nothing."""
    match x:
        case e.Held(control=name) | e.Controlled(control=name) | e.Output(channel=name) | e.Own(channel=name):
            return name
        case e.PreviousNumber(operand=operand):
            return _thing(operand)
        case _:
            return ""


def _rate(desk: Desk, x: e.RateComparison, use: str) -> list[DraftField]:
    sensor = isinstance(x.subject, e.Reading)
    how = AT_READINGS if sensor else IN_EACH_PASS
    bound = shown(desk, e.Constant(x.bound, x.unit, span=x.span), use)
    entered = typed(desk.device, x.subject, x.unit.dimension, x.bound, rate=True)
    if entered is not None:
        bound = replace(bound, value=(amounts.quantity(entered.typed, entered.unit),))
    return [
        DraftField("compare", ("rate of change of ", *atom(desk, x.subject, _worked(use))), kind="rate of"),
        choice("worked out", how),
        choice("sign", *((ALIKE, SIGNED) if x.size else (SIGNED, ALIKE))),
        bound.field("is", "threshold", f"{RELATION[x.order]} "),
    ]


def _band(desk: Desk, x: e.Band, use: str) -> list[DraftField]:
    return [
        DraftField("compare", atom(desk, x.subject, _worked(use)), kind="number"),
        _threshold(desk, x.subject, x.enter[0], x.enter[1], use, "becomes true"),
        _threshold(desk, x.subject, x.leave[0], x.leave[1], use, "becomes false"),
        choice("in between", "stays as it was"),
    ]


def _sensor_state(desk: Desk, key: str, x: e.SensorState) -> None:
    sensor = desk.n.sensors[x.sensor]
    name = plain.word(x.sensor)
    settings = Link(f"@sensor {x.sensor}", "number", "settings")
    watched: Text = (f"sensor {desk.sensor(x.sensor)} (settings in ", settings, ")")
    source = DraftField("watch", watched, kind="number")
    if x.state == "heard":
        draft = desk.put(Draft(key, "condition", "sensor has been heard", (f"{name} was heard at least once",)))
        draft.fields = [source, choice("true", "from the first reading after switching on")]
        draft.start = "false"
        return
    draft = desk.put(Draft(key, "condition", "sensor has gone stale", (f"nothing is heard from {name}",)))
    draft.fields = [source]
    if sensor.stale_after is not None:
        after = duration(desk, e.Duration(_seconds(sensor.stale_after, x), span=x.span), "")
        draft.fields.append(after.field("true after", "time", "", ("without a reading",)))
    draft.start = "true: nothing has been heard yet"


def _seconds(value: Fraction, x: e.Located) -> e.Constant:
    return e.Constant(value, UNITS["s"], span=x.span)


def _opposite(desk: Desk, key: str, x: e.Signal) -> None:
    said = plain.signal(x, desk.rules, False)
    draft = desk.put(Draft(key, "logic", "the opposite of its input (not)", (said,)))
    draft.fields = [state("input", operand(desk, x, f"part of {said}"))]
    draft.start = "follows its input from the first pass"


def _channel_state(desk: Desk, key: str, channel: str, state_: str, said: str) -> None:
    where = desk.want(f"@control {channel}") if channel in desk.n.controls else f"@channel {channel}"
    means = HAS[state_]
    draft = desk.put(Draft(key, "condition", "who has the channel", (said,)))
    others = [m for m in HAS.values() if m != means]
    draft.fields = [
        DraftField("watch", (Link(where, "value"),), kind="number"), choice("true while", means, *others)
    ]  # fmt: skip
    draft.start = "follows from the first pass"


def _timed(desk: Desk, draft: Draft, kind: str, inner: e.Signal, lasts: e.Duration, below: str) -> None:
    time = duration(desk, lasts, f"the time of a delay, {below}")
    source = state("input", operand(desk, inner, below))
    match kind:
        case "for":
            draft.kind = "delay before true"
            draft.fields = [
                source,
                time.field("true after", "time", "", ("of the input being true without a break",)),
                choice("goes back to zero", "every time the input is false"),
                choice("becomes false", "at once, with the input"),
            ]
        case "extended":
            draft.kind = "delay before false"
            draft.fields = [
                source,
                time.field("stays true for", "time", "", ("after the input has become false",)),
                choice("becomes true", "at once, with the input"),
                choice("goes back to zero", "every time the input is true"),
            ]
        case _:
            draft.kind = "pulse"
            draft.fields = [
                source,
                time.field("true for", "time", "", ("from the moment the input becomes true",)),
                choice("cut short", "no: it runs to its end whatever the input does"),
                choice("starts again", "only when it has ended and the input has been false since"),
            ]
    draft.start = "false, its time at zero"


def _any_speaks(desk: Desk, key: str, keys: Sequence[str]) -> None:
    draft = desk.put(Draft(key, "logic", "ANY of these (or)", ("an announcement starts or is repeated",)))
    draft.fields = [state(f"input {i}", (Link(k, "speaks"),)) for i, k in enumerate(keys, 1)]
    draft.start = "follows its inputs from the first pass"
