"""What can stand in a field instead of what was meant, by what kind of value it is."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from latchproof.listing.model import Entry, Field
from latchproof.readback import model as m
from latchproof.readback.desk import yields
from latchproof.readback.values import read
from latchproof.rules.expressions import Order

if TYPE_CHECKING:
    from latchproof.bench.slips import Code

Wrong = tuple["Code", m.Value]


@dataclass(frozen=True)
class Known:
    """What else there is to refer to."""

    entries: tuple[Entry, ...]

    @cached_property
    def channels(self) -> tuple[m.Place, ...]:
        return tuple(v for x in self.entries for v in _values(x) if isinstance(v, m.Place))

    @cached_property
    def sticks(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(s.name for s in self._all if isinstance(s, m.Stick)))

    @cached_property
    def sensors(self) -> tuple[m.SensorValue, ...]:
        found = [s for s in self._all if isinstance(s, m.SensorValue)]
        return tuple(dict.fromkeys(replace(s, earlier=0) for s in found))

    @cached_property
    def switches(self) -> dict[str, tuple[str, ...]]:
        """Positions that the entries speak of."""
        found: dict[str, dict[str, None]] = {}
        for s in self._all:
            if isinstance(s, m.SwitchAt):
                found.setdefault(s.switch, {})[s.position] = None
        return {name: tuple(positions) for name, positions in found.items()}

    @cached_property
    def buttons(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(s.button for s in self._all if isinstance(s, m.ButtonHeld)))

    @cached_property
    def _all(self) -> tuple[object, ...]:
        return tuple(p for x in self.entries for v in _values(x) for p in _parts(v))

    def beside(self, number: int, gives: str, reader: int) -> Iterator[int]:
        """The nearest entry above and the nearest below that gives the same, and is not the one that reads."""
        rows = [x.number for x in self.entries if yields(x) == gives and x.number != reader]
        above, below = [n for n in rows if n < number], [n for n in rows if n > number]
        yield from above[-1:]
        yield from below[:1]


def _values(x: Entry) -> Iterator[m.Value]:
    for f in x.fields:
        value = read(f.value, f.kind, f.choices)
        if not isinstance(value, m.Problem):
            yield value


def _parts(x: object) -> Iterator[object]:
    yield x
    for name in ("state", "bound", "left", "right", "subject", "amount", "inner"):
        inner = getattr(x, name, None)
        if inner is not None and not isinstance(inner, bool | Fraction):
            yield from _parts(inner)


def wrong(value: m.Value, f: Field, x: Entry, known: Known) -> Iterator[Wrong]:
    match value:
        case m.EntryState() | m.Speaks() | m.SwitchAt() | m.ButtonHeld() | m.StartSignal() | m.Always() | m.Never():
            yield from _state(value, x, known)
        case m.Threshold(order=order, bound=bound):
            yield from (("C4", m.Threshold(o, bound)) for o in _orders(order))
            yield from ((c, m.Threshold(order, b)) for c, b in _number(bound, x, known))
        case m.Choice():
            yield from (
                ("C13" if f.label == "both at once" else "C12", m.Choice(c)) for c in f.choices if c != value.text
            )
        case m.After(time=time) if f.kind == "phase ends":
            yield from ((c, m.After(t)) for c, t in _time(time, x, known))
        case m.After(time=time):
            yield "C16", m.AtOnce()
            yield from ((c, m.After(t)) for c, t in _time(time, x, known))
        case m.Every(time=time):
            yield "C16", m.Once()
            yield from ((c, m.Every(t)) for c, t in _time(time, x, known))
        case m.AtMostRate(rate=rate):
            yield "C16", m.AtOnce()
            yield from (("C14", m.AtMostRate(r)) for r in _digits(rate))
        case m.Offset(sign=sign, amount=amount):
            yield "C7", m.Offset(-sign, amount)
            yield from ((c, m.Offset(sign, a)) for c, a in _number(amount, x, known) if c != "C7")
        case m.ResetBy(state=state) | m.BlockedWhile(state=state):
            yield "C16", m.Nothing()
            yield from ((c, replace(value, state=s)) for c, s in _state(state, x, known))
        case m.BeginsWith(state=state) | m.EndsWhen(state=state):
            yield from ((c, replace(value, state=s)) for c, s in _state(state, x, known))
        case m.Count(most=most):
            yield from (("C5", m.Count(n)) for n in (most * 10, most + 1, most - 1) if n > 0)
        case m.Passes(count=count):
            yield from (("C14", m.Passes(n)) for n in (count * 10, count + 1))
        case m.Sound(text=text) if text is not None:
            for other in known.entries:
                for v in _values(other):
                    if isinstance(v, m.Sound) and v.text not in (None, text) and other.kind == x.kind:
                        yield "C15", v
        case m.Stick() | m.SensorValue() | m.EntryValue() | m.Quantity() | m.SensorAge() | m.PilotsOwn() if (
            f.kind == "time"
        ):
            yield from _time(value, x, known)
        case m.Stick() | m.SensorValue() | m.EntryValue() | m.Quantity() | m.SensorAge() | m.PilotsOwn():
            yield from _number(value, x, known)
        case m.RateOf(subject=subject):
            yield from ((c, m.RateOf(s)) for c, s in _number(subject, x, known))
        case m.Difference(left=left, right=right):
            yield "C3", m.Difference(right, left)
            yield "C7", m.Sum(left, right)
        case m.Sum(left=left, right=right):
            yield "C7", m.Difference(left, right)
        case m.SmallerOf(several=several):
            yield "C12", m.LargerOf(several)
        case m.LargerOf(several=several):
            yield "C12", m.SmallerOf(several)
        case _:
            pass


def _state(s: m.State, x: Entry, known: Known) -> Iterator[tuple["Code", m.State]]:
    match s:
        case m.EntryState(entry=n, state=state):
            yield "C12", replace(s, state=not state)
            for k in known.beside(n, "state", x.number):
                # What stands further down is seen as it was one pass earlier.
                yield "C9", replace(s, entry=k, called="", earlier=max(s.earlier, int(k > x.number)))
        case m.Speaks(entry=n):
            yield from (("C9", replace(s, entry=k)) for k in known.beside(n, "announcement", x.number))
        case m.SwitchAt(switch=name, position=position, state=state):
            yield "C11", replace(s, state=not state)
            others = [p for p in known.switches[name] if p != position]
            yield from (("C11", replace(s, position=p)) for p in others[:1])
            elsewhere = [(n, ps[0]) for n, ps in known.switches.items() if n != name]
            yield from (("C11", replace(s, switch=n, position=p)) for n, p in elsewhere[:1])
        case m.ButtonHeld(button=name, state=state):
            yield "C11", replace(s, state=not state)
            yield from (("C11", replace(s, button=b)) for b in known.buttons if b != name)
        case m.StartSignal(state=state):
            yield "C12", replace(s, state=not state)
        case m.Always():
            yield "C12", m.Never()
        case m.Never():
            yield "C12", m.Always()


def _orders(order: Order) -> tuple[Order, ...]:
    turned: dict[Order, tuple[Order, ...]] = {
        "<": (">", "<="), "<=": (">=", "<"), ">": ("<", ">="), ">=": ("<=", ">"), "==": (">=", "<="),
    }  # fmt: skip
    return turned[order]


def _number(x: m.Number, at: Entry, known: Known) -> Iterator[tuple["Code", m.Number]]:
    match x:
        case m.Quantity():
            yield from (("C5", q) for q in _digits(x))
            yield from (("C6", replace(x, unit=u)) for u in OTHER_UNITS.get(x.unit, ()))
            if x.amount:
                yield "C7", replace(x, amount=-x.amount)
        case m.EntryValue(entry=n):
            yield from (("C9", replace(x, entry=k, called="")) for k in known.beside(n, "number", at.number))
        case m.SensorValue():
            yield from (("C8", replace(s, earlier=x.earlier)) for s in known.sensors if s.sensor != x.sensor)
        case m.Stick(name=name):
            yield from (("C8", replace(x, name=n)) for n in known.sticks if n != name)
        case _:
            pass


def _time(x: m.Time, at: Entry, known: Known) -> Iterator[tuple["Code", m.Time]]:
    match x:
        case m.Quantity():
            yield from (("C14", q) for q in _digits(x))
        case m.Passes(count=count):
            yield from (("C14", m.Passes(n)) for n in (count * 10, count + 1))
        case m.EntryValue(entry=n):
            yield from (("C9", replace(x, entry=k, called="")) for k in known.beside(n, "number", at.number))
        case _:
            pass


OTHER_UNITS = {
    "m": ("ft",), "ft": ("m",), "m/s": ("km/h", "ft/s"), "ft/s": ("m/s",), "km/h": ("m/s",), "min": ("s",),
}  # fmt: skip

MISREAD = str.maketrans("0123456789", "6778965133")
"""Digits that are taken for others, one for each."""


def _digits(x: m.Quantity) -> Iterator[m.Quantity]:
    """A decimal too far right or left, two neighbouring digits exchanged, the first one misread."""
    amounts = [x.amount * 10, x.amount / 10]
    text = _decimal(abs(x.amount))
    sign = -1 if x.amount < 0 else 1
    places = [k for k, c in enumerate(text) if c != "."]
    for a, b in pairwise(places):
        if text[a] != text[b] and not (a == 0 and text[b] == "0"):
            swapped = [*text]
            swapped[a], swapped[b] = swapped[b], swapped[a]
            amounts.append(sign * Fraction("".join(swapped)))
            break
    if x.amount:
        first = next(k for k, c in enumerate(text) if c not in "0.")
        amounts.append(sign * Fraction(text[:first] + text[first].translate(MISREAD) + text[first + 1 :]))
    for amount in dict.fromkeys(amounts):
        if amount != x.amount:
            yield replace(x, amount=amount)


def _decimal(x: Fraction) -> str:
    """As digits, as far as they end."""
    for places in range(7):
        scaled = x * 10**places
        if scaled.denominator == 1:
            whole, rest = divmod(scaled.numerator, 10**places)
            return f"{whole}.{rest:0{places}d}" if places else str(whole)
    return str(x.numerator // x.denominator)
