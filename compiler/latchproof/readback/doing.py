"""Entries of actions, announcements and channels: what each says, before they are put together to rules."""

from dataclasses import dataclass, replace
from fractions import Fraction

from latchproof.listing.acting import facts_of
from latchproof.listing.model import Entry
from latchproof.readback import model as m
from latchproof.readback.desk import Back, Fields
from latchproof.readback.reading import constant, dimension, duration, fits, number, signal, standing
from latchproof.rules import expressions as e
from latchproof.rules.channels import PLAIN_DIRECTIONS
from latchproof.rules.model import Announce, Channel, Control, Drive, Limit, Modifiers, Move
from latchproof.rules.words import per_second

LISTS = ("first added", "then limited by", "then replaced by")
"""The three lists of who acts on a channel, in the order in which they act."""


@dataclass(frozen=True, slots=True)
class Does:
    """An action: on what, while what, and over and under which others it stands. `place`: the rule or phase."""

    entry: Entry
    place: str
    condition: e.Signal
    state: m.Value
    action: Drive | Move | Limit
    over: tuple[int, ...] | None
    under: tuple[int, ...] | None
    loose: tuple[int, ...]

    @property
    def acts_on(self) -> str:
        return self.action.channel

    @property
    def layer(self) -> str:
        return LISTS[2 if isinstance(self.action, Drive) else 1 if isinstance(self.action, Limit) else 0]


@dataclass(frozen=True, slots=True)
class Tells:
    entry: Entry
    place: str
    condition: e.Signal
    state: m.Value
    action: Announce


@dataclass(frozen=True, slots=True)
class Has:
    """Who acts on a channel or stick, by the three lists of its entry."""

    entry: Entry
    name: str
    lists: tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]


def place(x: Entry) -> str:
    return x.names[0] if x.names else f"entry_{x.number}"


def does(b: Back, x: Entry) -> Does:
    f = Fields(b, x)
    thing = _thing(b, f.one("acts on", "acts on"), x)
    state = f.one("acts while", "state")
    begins = f.one("begins", "delay")
    after = duration(b, begins.time, x) if isinstance(begins, m.After) else None
    moves = x.kind == "adds to the value"
    what = "the change" if moves else "the value"
    action: Drive | Move | Limit
    match x.kind:
        case "replaces the value":
            action = Drive(thing.name, _amount(b, f, "value", thing), Modifiers(after), span=b.span(x))
        case "adds to the value":
            action = _move(b, f, thing, Modifiers(after))
        case _:
            most = x.kind.endswith("MOST")
            amount = _amount(b, f, "at most" if most else "at least", thing)
            action = Limit(thing.name, "most" if most else "least", amount, Modifiers(after), span=b.span(x))
    grows, falls, back = (_ramp(b, f, label, thing) for label in (f"{what} grows", f"{what} falls", "hand back"))
    action = replace(action, modifiers=Modifiers(after, grows, falls, back))
    over = _listed(b, f, "wins over") if isinstance(action, Drive) else None
    under = _listed(b, f, "gives way to") if f.has("gives way to") or isinstance(action, Drive) else None
    loose = _listed(b, f, "no order with") if f.has("no order with") else ()
    f.done()
    return Does(x, place(x), signal(b, state, x), state, action, over, under, loose)


def _thing(b: Back, x: m.Value, at: Entry) -> Channel | Control:
    match x:
        case m.OutputOf(place=where):
            return b.channel(where, at)
        case m.BeforeMixing(stick=said):
            name = b.known(b.controls, said, "stick or knob", at)
            return next(c for c in b.rules.controls if c.name == name)
        case _:
            raise b.wrong(at, "an action acts on a channel or a stick", "", "acts on")


def _amount(b: Back, f: Fields, label: str, thing: Channel | Control) -> e.Number:
    value = f.one(label, "number")
    assert isinstance(value, m.Number)
    fits(b, dimension(b, value, f.entry), thing.unit.dimension, f.entry)
    return number(b, value, f.entry)


def _move(b: Back, f: Fields, thing: Channel | Control, modifiers: Modifiers) -> Move:
    x, offset = f.entry, f.one("add", "offset")
    assert isinstance(offset, m.Offset)
    fits(b, dimension(b, offset.amount, x), thing.unit.dimension, x)
    amount = number(b, offset.amount, x)
    fixed = standing(amount)
    if fixed is not None and fixed < 0:
        raise b.wrong(x, "a negative number is added or taken away", "`minus 5 %` instead of `plus -5 %`", "add")
    ways = thing.directions if isinstance(thing, Channel) and thing.directions else PLAIN_DIRECTIONS
    way = next((word for word, sign in ways if sign == offset.sign), "more" if offset.sign > 0 else "less")
    return Move(thing.name, way, offset.sign, amount, modifiers, span=b.span(x))


def _ramp(b: Back, f: Fields, label: str, thing: Channel | Control) -> e.Number | None:
    value = f.one(label, "ramp")
    if not isinstance(value, m.AtMostRate):
        return None
    rate = constant(b, value.rate, f.entry, per_second(thing.unit).dimension)
    if rate.value <= 0:
        raise b.wrong(f.entry, "a rate of 0 or less never gets anywhere", "`at once`, or a rate above 0", label)
    return rate


def _listed(b: Back, f: Fields, label: str) -> tuple[int, ...]:
    value = f.one(label, "entries")
    if not isinstance(value, m.Entries):
        return ()
    return tuple(b.there(n, ("action",), f.entry).number for n, _ in value.several)


def tells(b: Back, x: Entry) -> Tells:
    f = Fields(b, x)
    label = {"spoken announcement": "says", "tone": "sound", "vibration": "shakes"}[x.kind]
    means = {"spoken announcement": "voice", "tone": "tone", "vibration": "vibration"}[x.kind]
    sound, state = f.one(label, "sound"), f.one("while", "state")
    assert isinstance(sound, m.Sound)
    f.fixed("begins", "at once")
    repeated = f.one("repeated", "repeat")
    every = duration(b, repeated.time, x) if isinstance(repeated, m.Every) else None
    f.done()
    made = Announce(means, sound.text, every, span=b.span(x))  # type: ignore[arg-type]
    return Tells(x, place(x), signal(b, state, x), state, made)


def channel(b: Back, x: Entry) -> tuple[Channel, Has]:
    """The channel as it is printed, where the rule file says what the entries do not: its unit and which way is up."""
    f = Fields(b, x)
    where = f.one("channel", "channel")
    assert isinstance(where, m.Place)
    old = b.channel(where, x)
    if (old.name,) != x.names:
        raise b.wrong(x, f"this is the entry of another channel than {where.name}", "", "channel")
    source: e.Number
    if f.has("rests at"):
        value = f.one("rests at", "number")
        if not isinstance(value, m.Quantity):
            raise b.wrong(x, "a channel rests at a fixed value", "a number and its unit", "rests at")
        source, rests = constant(b, value, x, old.unit.dimension), True
    else:
        follows = f.one("follows", "calculation")
        assert isinstance(follows, m.Number)
        fits(b, dimension(b, follows, x), old.unit.dimension, x)
        source, rests = number(b, follows, x, follows=True), False
    ends = [_end(b, f, label, old) for label in ("lower end", "upper end")]
    if not ends[0] < ends[1]:
        raise b.wrong(x, "the lower end is not below the upper end", "", "upper end")
    lists = _lists(b, f)
    f.facts({d.label: "".join(map(str, d.value)) for d in facts_of(old)})
    f.done()
    made = replace(old, source=source, rests=rests, low=ends[0], high=ends[1], span=b.span(x))
    return made, Has(x, old.name, lists)


def _end(b: Back, f: Fields, label: str, old: Channel) -> Fraction:
    value = f.one(label, "quantity")
    assert isinstance(value, m.Quantity)
    return constant(b, value, f.entry, old.unit.dimension).value


def _lists(b: Back, f: Fields) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    if f.has("acted on by"):
        value = f.one("acted on by", "entries")
        if not isinstance(value, m.Nothing):
            raise b.wrong(f.entry, "who acts stands in three lists", ", ".join(LISTS), "acted on by")
    moved, limited, driven = (_listed(b, f, label) if f.has(label) else () for label in LISTS)
    return moved, limited, driven


def control(b: Back, x: Entry) -> tuple[Control, Has]:
    f = Fields(b, x)
    follows, within = f.one("follows", "calculation"), f.one("stays within", "span")
    assert isinstance(within, m.Span)
    if not isinstance(follows, m.Stick) or follows.earlier:
        raise b.wrong(x, "a stick before mixing follows itself", "the stick by name", "follows")
    name = b.known(b.controls, follows.name, "stick or knob", x)
    if (name,) != x.names:
        raise b.wrong(x, f"this is the entry of another stick than {follows.name}", "", "follows")
    old = next(c for c in b.rules.controls if c.name == name)
    low, high = (constant(b, q, x, old.unit.dimension).value for q in (within.low, within.high))
    if (low, high) != (old.low, old.high):
        raise b.wrong(x, "the rules take another range for granted", "", "stays within")
    lists = _lists(b, f)
    f.done()
    return old, Has(x, name, lists)
