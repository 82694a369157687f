"""Values to expressions: what a state or a number printed in a field is, with the things and entries it names."""

from fractions import Fraction
from typing import assert_never

from latchproof.listing.model import Entry
from latchproof.readback import model as m
from latchproof.readback.desk import Back, Yields, yields
from latchproof.readback.values import read
from latchproof.rules import expressions as e
from latchproof.rules.units import PLAIN, TIME, UNITS, Dimension, times

READ: tuple[Yields, ...] = ("number", "channel", "control")
"""What a number may be read from."""
MOST_CYCLES = 1_000_000


def signal(b: Back, x: m.Value, at: Entry) -> e.Signal:
    span = b.span(at)

    def ago(inner: e.Signal, passes: int, yes: bool) -> e.Signal:
        for _ in range(passes):
            inner = e.PreviousSignal(inner, span=span)
        return inner if yes else e.Not(inner, span=span)

    match x:
        case m.EntryState(entry=number, state=yes, earlier=passes):
            b.there(number, ("state",), at)
            return ago(e.NamedSignal(b.name(number), span=span), passes, yes)
        case m.Speaks(entry=number, state=yes, earlier=passes):
            b.there(number, ("announcement",), at)
            return ago(e.NamedSignal(f"{b.name(number)}.announced", span=span), passes, yes)
        case m.SwitchAt(switch=switch, position=position, state=yes, earlier=passes):
            name, place = b.known(b.positions, (switch, position), "switch", at)
            return ago(e.AtPosition(name, place, span=span), passes, yes)
        case m.ButtonHeld(button=button, state=yes, earlier=passes):
            return ago(e.Pressed(b.known(b.buttons, button, "button", at), span=span), passes, yes)
        case m.StartSignal(state=yes, earlier=passes):
            pulse = b.rules.device.pulse
            if pulse is None:
                raise b.wrong(at, "the rules know of no start signal of the transmitter")
            return ago(e.NamedSignal(pulse.name, span=span), passes, yes)
        case m.Always():
            return e.AllOf((), span=span)
        case m.Never():
            return e.AnyOf((), span=span)
        case _:
            raise b.wrong(at, "a state is wanted here")


def number(b: Back, x: m.Number, at: Entry, *, follows: bool = False) -> e.Number:
    """`follows`: for what a channel follows."""
    span = b.span(at)

    def ago(inner: e.Number, passes: int) -> e.Number:
        for _ in range(passes):
            inner = e.PreviousNumber(inner, span=span)
        return inner

    def go(y: m.Number) -> e.Number:
        return number(b, y, at, follows=follows)

    match x:
        case m.Quantity(amount=amount, unit=symbol):
            unit = UNITS[symbol]
            return e.Constant(amount * unit.factor, unit, span=span)
        case m.EntryValue(entry=entry, earlier=passes):
            return ago(_of_entry(b, b.there(entry, READ, at), at), passes)
        case m.SensorValue(sensor=said, settings=entry, earlier=passes):
            return ago(e.Reading(sensor(b, said, entry, at), span=span), passes)
        case m.SensorAge(sensor=said, settings=entry, earlier=passes):
            return ago(e.Age(sensor(b, said, entry, at), span=span), passes)
        case m.Stick(name=said, earlier=passes):
            name = b.known(b.controls, said, "stick or knob", at)
            whole = follows and not any(y.names == (name,) and yields(y) == "control" for y in b.entries.values())
            return ago(e.Controlled(name, span=span) if whole else e.Held(name, span=span), passes)
        case m.PilotsOwn(channel=said, entry=entry, earlier=passes):
            name = b.known(b.channels, said, "channel", at).name
            if b.there(entry, ("channel",), at).names != (name,):
                raise b.wrong(at, f"entry {entry} is not that of channel {said}")
            return ago(e.Own(name, span=span), passes)
        case m.Sum(left=left, right=right):
            return e.Plus(go(left), go(right), span=span)
        case m.Difference(left=left, right=right):
            return e.Minus(go(left), go(right), span=span)
        case m.Times(left=left, right=right):
            one, other = go(left), go(right)
            if standing(one) is None and standing(other) is None:
                raise b.wrong(at, "two numbers that both change are multiplied", "a fixed number on one side")
            return e.Product(one, other, span=span)
        case m.DividedBy(left=left, right=right):
            below = go(right)
            if not standing(below):
                raise b.wrong(at, "only a fixed number other than 0 can stand below the line", "a fixed number")
            return e.Quotient(go(left), below, span=span)
        case m.Unsigned(inner=inner):
            return e.Size(go(inner), span=span)
        case m.SmallerOf(several=several):
            return e.Smallest(tuple(map(go, several)), span=span)
        case m.LargerOf(several=several):
            return e.Largest(tuple(map(go, several)), span=span)
        case m.ByPosition(switch=said, rows=rows):
            return _table(b, said, tuple((p, go(v)) for p, v in rows), at)
        case _:
            assert_never(x)


def sensor(b: Back, said: str, settings: int, at: Entry) -> str:
    """The name of a sensor; the entry named with it must be the one with its settings."""
    name = b.known(b.sensors, said, "sensor", at)
    if b.there(settings, ("sensor",), at).names != (name,):
        raise b.wrong(at, f"entry {settings} does not have the settings of sensor {said}")
    return name


def _of_entry(b: Back, x: Entry, at: Entry) -> e.Number:
    span = b.span(at)
    match yields(x):
        case "channel":
            return e.Output(b.name(x.number), span=span)
        case "control":
            return e.Controlled(b.name(x.number), span=span)
        case _:
            return e.NamedNumber(b.name(x.number), span=span)


def _table(b: Back, said: str, rows: tuple[tuple[str, e.Number], ...], at: Entry) -> e.Number:
    name = b.known(b.switches, said, "switch", at)
    places = next(s.positions for s in b.rules.switches if s.name == name)
    found = {b.known(b.positions, (said, p), "place of a switch", at)[1]: v for p, v in rows}
    if len(found) != len(rows) or len(found) != len(places):
        raise b.wrong(at, f"every place of the {said} stands here once", ", ".join(places))
    return e.FromTable(name, tuple(found[i] for i in range(len(places))), span=b.span(at))


def standing(x: e.Number) -> Fraction | None:
    """Its value, if it is made of fixed numbers only."""
    match x:
        case e.Constant(value=value):
            return value
        case e.Plus(left=left, right=right) | e.Minus(left=left, right=right) | e.Product(left=left, right=right):
            one, other = standing(left), standing(right)
            if one is None or other is None:
                return None
            return one + other if isinstance(x, e.Plus) else one - other if isinstance(x, e.Minus) else one * other
        case e.Quotient(left=left, right=right):
            one, other = standing(left), standing(right)
            return None if one is None or not other else one / other
        case _:
            return None


def constant(b: Back, x: m.Quantity, at: Entry, wanted: Dimension) -> e.Constant:
    made = number(b, x, at)
    assert isinstance(made, e.Constant)
    fits(b, made.unit.dimension, wanted, at)
    return made


def duration(b: Back, x: m.Value, at: Entry) -> e.Duration:
    span = b.span(at)
    match x:
        case m.Passes(count=count):
            if not 0 < count <= MOST_CYCLES:
                raise b.wrong(at, f"{count} passes", f"1 to {MOST_CYCLES} passes")
            return e.Duration(e.Constant(Fraction(count), UNITS["cycles"], span=span), True, span=span)
        case m.Quantity() | m.EntryValue() | m.SensorValue() | m.SensorAge() | m.Stick() | m.PilotsOwn():
            fits(b, dimension(b, x, at), TIME, at)
            return e.Duration(number(b, x, at), span=span)
        case _:
            raise b.wrong(at, "a time is wanted here")


# ---------- units


def fits(b: Back, found: Dimension | None, wanted: Dimension | None, at: Entry) -> None:
    if found is not None and wanted is not None and found != wanted:
        raise b.wrong(at, f"a number {_in(found)} where one {_in(wanted)} is wanted", f"a number {_in(wanted)}")


def _in(x: Dimension) -> str:
    unit = next((u.symbol for u in UNITS.values() if u.dimension == x and u.factor == 1), "")
    return f"in {unit}" if unit else "without a unit" if x == PLAIN else "in another unit"


def dimension(b: Back, x: m.Number, at: Entry, depth: int = 0) -> Dimension | None:
    """None where it cannot be told: a bare 0, or numbers that go round in a circle."""
    if depth > 50:
        return None

    def go(y: m.Number) -> Dimension | None:
        return dimension(b, y, at, depth + 1)

    match x:
        case m.Quantity(amount=amount, unit=symbol):
            return UNITS[symbol].dimension if symbol or amount else None
        case m.EntryValue(entry=entry):
            return of_entry(b, b.there(entry, READ, at), depth + 1)
        case m.SensorValue(sensor=said):
            name = b.known(b.sensors, said, "sensor", at)
            return next(s.unit.dimension for s in b.rules.sensors if s.name == name)
        case m.SensorAge():
            return TIME
        case m.Stick(name=said):
            name = b.known(b.controls, said, "stick or knob", at)
            return next(c.unit.dimension for c in b.rules.controls if c.name == name)
        case m.PilotsOwn(channel=said):
            return b.known(b.channels, said, "channel", at).unit.dimension
        case m.Times(left=left, right=right) | m.DividedBy(left=left, right=right):
            one, other = go(left), go(right)
            sign = 1 if isinstance(x, m.Times) else -1
            return None if one is None or other is None else times(one, other, sign)
        case m.Sum(left=left, right=right) | m.Difference(left=left, right=right):
            return _same(b, (go(left), go(right)), at)
        case m.Unsigned(inner=inner):
            return go(inner)
        case m.SmallerOf(several=several) | m.LargerOf(several=several):
            return _same(b, tuple(map(go, several)), at)
        case m.ByPosition(rows=rows):
            return _same(b, tuple(go(v) for _, v in rows), at)
        case _:
            assert_never(x)


def of_entry(b: Back, x: Entry, depth: int = 0) -> Dimension | None:
    """The dimension of the number that an entry gives; in a circle, none that can be told."""
    if x.number in b.dimensions:
        return b.dimensions[x.number]
    b.dimensions[x.number] = None
    found: Dimension | None = None
    match yields(x):
        case "channel":
            found = next((c.unit.dimension for c in b.rules.channels if (c.name,) == x.names), None)
        case "control":
            found = next((c.unit.dimension for c in b.rules.controls if (c.name,) == x.names), None)
        case _ if x.kind == "counter":
            found = PLAIN
        case _:
            label, kind = ("takes", "number") if x.kind == "kept value (sample)" else ("value", "calculation")
            value = next((read(f.value, f.kind) for f in x.fields if f.label == label and f.kind == kind), None)
            found = dimension(b, value, x, depth) if isinstance(value, m.Number) else None
    b.dimensions[x.number] = found
    return found


def _same(b: Back, several: tuple[Dimension | None, ...], at: Entry) -> Dimension | None:
    known = [d for d in several if d is not None]
    for d in known[1:]:
        fits(b, d, known[0], at)
    return known[0] if known else None
