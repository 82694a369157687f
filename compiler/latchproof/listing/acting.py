"""Entries for what the rules do: actions, announcements, and each channel or control with who acts on it."""

from dataclasses import replace
from fractions import Fraction

from latchproof.listing import amounts
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField, Link, Text, choice, joined, state
from latchproof.listing.fixed import fixed, parameters
from latchproof.listing.layers import Layers
from latchproof.listing.numbers import PERCENT, about, duration, formula, low_end, shown
from latchproof.listing.plain import word
from latchproof.listing.signals import operand
from latchproof.machine.actions import Acting
from latchproof.rules import expressions as e
from latchproof.rules.channels import PLAIN_DIRECTIONS
from latchproof.rules.model import Announce, Channel, Control, Drive, Limit, Modifiers, Move
from latchproof.rules.units import UNITS

SECOND = UNITS["s"]


def place(acting: Acting) -> str:
    """The rule or the phase that an action stands in, in plain words."""
    return named_place(acting.name.split("@")[1], acting.rule)


def named_place(where: str, owner: str) -> str:
    """`rule climb`, or `phase throw of deploy`."""
    phase = where[len(owner) :].lstrip(".")
    return f"phase {word(phase)} of {word(owner)}" if phase else f"rule {word(owner)}"


def act(desk: Desk, name: str) -> None:
    """An entry for each action on this channel or control."""
    thing = desk.n.channels.get(name) or desk.n.controls[name]
    found = desk.layers(name)
    for a in found.all:
        _action(desk, a, thing, found)


def _action(desk: Desk, a: Acting, thing: Channel | Control, found: Layers) -> None:
    on, low = _target(desk, thing), low_end(desk, thing.name)
    does = f"for {place(a)}"
    draft = desk.put(Draft(a.name, "action", "", (), place=a.name.split("@")[1]))
    condition = a.condition.operand if isinstance(a.condition, e.Timed) and a.action.modifiers.after else a.condition
    fields = [
        DraftField("acts on", (on,), kind="acts on"),
        state("acts while", operand(desk, condition, f"starts {place(a)}")),
    ]
    fields.append(_after(desk, a.action.modifiers, does))
    match a.action:
        case Drive(target=target):
            draft.kind = "replaces the value"
            draft.purpose = (f"{place(a)}: takes {word(thing.name)} over",)
            fields.append(
                shown(desk, target, does, thing.unit, low).field("value", "number", "", _ends(desk, target, thing))
            )
        case Move(word=direction, sign=sign, amount=amount):
            draft.kind = "adds to the value"
            draft.purpose = (f"{place(a)}: moves {word(thing.name)} {direction}",)
            fields.append(_offset(desk, amount, sign, direction, thing, does))
        case Limit(bound=bound, amount=amount):
            at = "MOST" if bound == "most" else "LEAST"
            draft.kind = f"limits the value: AT {at}"
            draft.purpose = (f"{place(a)}: keeps {word(thing.name)} {'below' if bound == 'most' else 'above'} a bound",)
            fields.append(shown(desk, amount, does, thing.unit, low).field(f"at {bound}", "number"))
    fields += _ramps(desk, a.action, thing, does)
    fields += _standing(a, found)
    draft.fields, draft.start = fields, "not acting"


def _target(desk: Desk, thing: Channel | Control) -> str:
    if isinstance(thing, Control):
        return f"{desk.control(thing.name)}, before any mixing"
    return f"{channel_name(thing, desk.channel(thing.name))}, the output"


def channel_name(x: Channel, called: str) -> str:
    return f"channel {'____' if x.number is None else x.number} ({called})"


def _after(desk: Desk, m: Modifiers, does: str) -> DraftField:
    if m.after is None:
        return DraftField("begins", ("at once",), kind="delay")
    unbroken = ("of that being true without a break",)
    return duration(desk, m.after, f"a delay {does}").field("begins", "delay", "after ", unbroken)


def _ends(desk: Desk, target: e.Number, thing: Channel | Control) -> Text:
    value = fixed(target, desk.n)
    if value is None or thing.low <= value <= thing.high:
        return ()
    return ("beyond an end point of the channel, which stays at its end",)


def _offset(desk: Desk, amount: e.Number, sign: int, direction: str, thing: Channel | Control, does: str) -> DraftField:
    made = shown(desk, amount, does, thing.unit)
    way = "plus" if sign > 0 else "minus"
    other, low = made.other, low_end(desk, thing.name)
    if made.fixed is not None and low is not None:
        other = f"{amounts.pulse_step(made.fixed, low)} {'more' if sign > 0 else 'less'}"
        here = desk.points(made.fixed, low)
        other += f", {here}" if here else ""
    plain = (direction, sign) in (("more", 1), ("less", -1))
    means: Text = () if plain else (f"{direction} is {way} here",)
    words: Text = (*means, "; ", *made.words) if means and made.words else means or made.words
    return DraftField("add", (f"{way} ", *made.value), other, words, made.tunes, "offset")


def _ramps(desk: Desk, action: Drive | Move | Limit, thing: Channel | Control, does: str) -> list[DraftField]:
    m = action.modifiers
    start = "the change" if isinstance(action, Move) else "the value"
    beneath = "its rest, or another entry" if isinstance(thing, Channel) and thing.rests else "usually the stick"
    back = "to nothing added" if isinstance(action, Move) else f"until it meets what lies beneath ({beneath})"
    ways = {sign: name for name, sign in _directions(thing) if name in dict(m.words)}

    def ramp(label: str, rate: e.Number | None, sign: int, then: str) -> DraftField:
        if rate is None:
            return DraftField(label, ("at once",), kind="ramp")
        made = shown(desk, rate, does)
        low = low_end(desk, thing.name)
        if made.fixed is not None and low is not None:
            made = replace(made, other=desk.points(made.fixed, low, "/s"))
        notes = [ways[sign]] if sign in ways else []
        if made.fixed and isinstance(action, Move):
            amount = fixed(action.amount, desk.n)
            notes += [] if amount is None else [f"all of it in {amounts.quantity(abs(amount) / made.fixed, SECOND)}"]
        elif made.fixed and not isinstance(action, Move):
            travel = _travel(desk, action, thing, sign)
            notes += [] if travel is None else [amounts.per_second(made.fixed, *travel, thing.unit)]
        notes += [then] if then else []
        return made.field(label, "ramp", "at most ", ("; ".join(notes),) if notes else ())

    begin = "" if isinstance(action, Move) else "it begins where the channel is at that moment"
    return [
        ramp(f"{start} grows", m.rising, 1, begin),
        ramp(f"{start} falls", m.falling, -1, begin),
        ramp("hand back", m.back, 0, back),
    ]


def _travel(desk: Desk, action: Drive | Limit, thing: Channel | Control, sign: int) -> tuple[Fraction, Fraction] | None:
    """The longest way that a ramp can have to go; None if there is none, or nobody can say."""
    aim = fixed(action.target if isinstance(action, Drive) else action.amount, desk.n)
    if aim is None:
        return None
    aim = min(max(aim, thing.low), thing.high)
    if sign == 0:
        ends = (thing.low, thing.high)
        if isinstance(action, Limit):
            ends = (thing.high,) * 2 if action.bound == "most" else (thing.low,) * 2
        far = max(ends, key=lambda end: abs(end - aim))
        return None if far == aim else (aim, far)
    idle = isinstance(action, Limit) and (sign > 0) == (action.bound == "most")
    start = thing.low if sign > 0 else thing.high
    return None if idle or start == aim else (start, aim)


def _directions(thing: Channel | Control) -> tuple[tuple[str, int], ...]:
    return thing.directions if isinstance(thing, Channel) else PLAIN_DIRECTIONS


def _standing(a: Acting, found: Layers) -> list[DraftField]:
    if not isinstance(a.action, Drive):
        stronger = [d.name for d in found.drives]
        return [DraftField("gives way to", _listed(stronger), kind="entries")] if stronger else []
    at = found.drives.index(a)
    loose = found.loose[at]
    fields = [
        DraftField(
            "wins over", _listed([d.name for i, d in enumerate(found.drives[:at]) if i not in loose]), kind="entries"
        ),
        DraftField(
            "gives way to",
            _listed([d.name for i, d in enumerate(found.drives[at + 1 :], at + 1) if i not in loose]),
            kind="entries",
        ),
    ]
    if loose:
        fields.append(
            DraftField(
                "no order with",
                _listed([found.drives[i].name for i in sorted(loose)]),
                words=("must never act together with it at another value",),
                kind="entries",
            )
        )
    return fields


def _listed(keys: list[str]) -> Text:
    return joined([(Link(k, "number", "mention"),) for k in keys], ", ") or ("none",)


# ---------- channels and controls with everything that acts on them


def channel(desk: Desk, x: Channel) -> None:
    key = f"@channel {x.name}"
    purpose = f"{word(x.name)}: where it comes from and who may act on it"
    draft = desk.put(Draft(key, "channel", "channel", (purpose,)))
    low = x.low if x.unit.symbol == PERCENT.symbol else None
    fields = [DraftField("channel", (channel_name(x, desk.channel(x.name)).removeprefix("channel "),), kind="channel")]
    if x.rests:
        fields.append(
            shown(desk, x.source, "", x.unit, low).field("rests at", "number", "", ("follows no stick or switch",))
        )
    else:
        use = f"for channel {word(x.name)}"
        fields.append(
            DraftField(
                "follows",
                formula(desk, x.source, use),
                "",
                about(desk, x.source),
                parameters(x.source, desk.n),
                "calculation",
            )
        )
    facts = facts_of(x)
    fields += [f for f in facts if f.label == "direction"]
    fields += [_end(desk, x, "lower end", x.low), _end(desk, x, "upper end", x.high)]
    fields += [f for f in facts if f.label == "trim"]
    draft.fields = fields + _who(desk, x.name)
    draft.start = "as the pilot holds it" if not x.rests else "at rest"


def facts_of(x: Channel) -> list[DraftField]:
    """What the rules take for granted of a channel: which way its numbers grow, and how far it can be trimmed."""
    found = []
    if x.directions and not _plain(x):
        way = f"{_growing(x)} is the greater value"
        found.append(DraftField("direction", (way,), words=("check at the surface",), kind="fact"))
    if x.trim is not None:
        found.append(DraftField("trim", (f"at most {amounts.quantity(x.trim, x.unit)} each way",), kind="fact"))
    return found


def control(desk: Desk, x: Control) -> None:
    """A stick or knob that rules act on, before it is mixed."""
    draft = desk.put(
        Draft(
            f"@control {x.name}",
            "channel",
            "stick or knob before mixing",
            (f"{desk.control(x.name)}: who may act on it",),
        )
    )
    ends = f"{amounts.quantity(x.low, x.unit)} to {amounts.quantity(x.high, x.unit)}"
    draft.fields = [
        DraftField("follows", (desk.control(x.name),), words=("as the pilot holds it",), kind="calculation"),
        DraftField("stays within", (ends,), kind="span"),
        *_who(desk, x.name),
    ]
    draft.start = "as the pilot holds it"


def _plain(x: Channel) -> bool:
    return dict(x.directions) == {"up": 1, "down": -1, "more": 1, "less": -1}


def _growing(x: Channel) -> str:
    return next(name for name, sign in x.directions if sign > 0)


def _end(desk: Desk, x: Channel, label: str, value: Fraction) -> DraftField:
    percent = x.unit.symbol == PERCENT.symbol
    other = desk.pulse(value, x.low) if percent else amounts.other_unit(value, x.unit)
    return DraftField(label, (amounts.quantity(value, x.unit),), other, kind="quantity")


def _who(desk: Desk, name: str) -> list[DraftField]:
    found = desk.layers(name)
    steps = [
        ("first added", found.moves, "all of them together"),
        ("then limited by", found.limits, "one after the other"),
        ("then replaced by", found.drives, "the last one that acts wins"),
    ]
    fields = []
    for label, acting, how in steps:
        if acting:
            links = joined([(Link(a.name, "number"), f" ({place(a)})") for a in acting], ", ")
            fields.append(DraftField(label, links, words=(how,) if len(acting) > 1 else (), kind="entries"))
    return fields or [DraftField("acted on by", ("none",), words=("nothing in this list",), kind="entries")]


# ---------- announcements


def announce(desk: Desk, key: str, condition: e.Signal, x: Announce, owner: str) -> None:
    called = named_place(key.partition("#")[0], owner)
    means = {"voice": "spoken announcement", "tone": "tone", "vibration": "vibration"}[x.means]
    place = key.partition("#")[0]
    draft = desk.put(Draft(key, "announcement", means, (f"{called}: tells the pilot",), place=place))
    what = f'"{x.text}"' if x.text else "a short one" if x.means == "vibration" else "one you can tell from the others"
    fields = [
        DraftField({"voice": "says", "tone": "sound", "vibration": "shakes"}[x.means], (what,), kind="sound"),
        state("while", operand(desk, condition, f"starts {called}")),
        choice("begins", "at once"),
    ]
    if x.every is None:
        fields.append(DraftField("repeated", ("once each time it begins",), kind="repeat"))
    else:
        fields.append(
            duration(desk, x.every, f"the time between repeats of {called}").field("repeated", "repeat", "every ")
        )
    draft.fields, draft.start = fields, "silent"
