"""The fields of a listing as values: `read` what is printed, `written` what would be printed."""

import re
from collections.abc import Callable, Iterable
from typing import assert_never

from latchproof.listing.model import Entry, FieldKind
from latchproof.readback import formulas as f
from latchproof.readback import model as m
from latchproof.readback.model import Problem, Value
from latchproof.rules.expressions import Order
from latchproof.rules.units import UNITS

RELATION: dict[Order, str] = {
    "<": "BELOW", "<=": "AT MOST", ">": "ABOVE", ">=": "AT LEAST", "==": "EQUAL TO",
}  # fmt: skip
TIMES = "a time, as in `0.5 s`, or `3 passes`"
_PASSES = re.compile(r"(?P<count>\d{1,9}) pass(?:es)?")
_PLACE = re.compile(r"(?P<number>\d{1,3}|____) \((?P<name>[^()]+)\)")
_LISTED = re.compile(r"entry (?P<entry>\d{1,6})(?: \((?P<called>[^()]*)\))?")
_FOLLOWS = re.compile(
    r"in the pass in which entry (?P<entry>\d{1,6})(?: \((?P<called>[^()]*)\))? comes to its end by itself"
)
_BEGINS, _NONE = "in the pass in which this becomes true: ", "none"


def read(text: str, kind: FieldKind, choices: tuple[str, ...] = ()) -> Value | Problem:
    """What a field of this kind says. `choices`: the words that a field of fixed words allows."""
    if len(text) > f.LONGEST:
        return Problem(f"a text of {len(text)} characters", f"at most {f.LONGEST} characters")
    try:
        if kind == "choice":
            return _choice(text, choices)
        return READERS[kind](text)
    except f.UnreadableError as e:
        return e.problem


def _choice(text: str, choices: tuple[str, ...]) -> m.Choice:
    if text not in choices:
        raise f.UnreadableError(f"not one of the words for this field: {text[:80]}", _several(choices), 0)
    return m.Choice(text)


def _several(texts: tuple[str, ...]) -> str:
    return " or ".join(f"`{t}`" for t in texts)


def _wrong(text: str, may: str, at: int = 0) -> f.UnreadableError:
    return f.UnreadableError(
        f"this cannot be read: {text[at : at + 80]}" if text[at:] else "nothing stands here", may, at
    )


def _after(text: str, start: str, may: str) -> str:
    if not text.startswith(start):
        raise _wrong(text, may)
    return text.removeprefix(start)


def _rate_of(text: str) -> Value:
    return m.RateOf(f.whole_atom(_after(text, "rate of change of ", "`rate of change of` and what changes")))


def _threshold(text: str) -> Value:
    for order, word in RELATION.items():
        if text.startswith(f"{word} "):
            return m.Threshold(order, f.whole_atom(text.removeprefix(f"{word} ")))
    raise _wrong(text, f"{', '.join(RELATION.values())} and a number")


def _time(text: str) -> m.Time:
    if (x := _PASSES.fullmatch(text)) is not None:
        return m.Passes(int(x["count"]))
    found = f.whole_atom(text)
    if isinstance(found, m.Quantity) and (UNITS[found.unit].dimension != UNITS["s"].dimension or found.amount < 0):
        raise _wrong(text, TIMES)
    return found


def _delay(text: str) -> Value:
    may = "`at once`, or `after` and a time"
    return m.AtOnce() if text == "at once" else m.After(_time(_after(text, "after ", may)))


def _ramp(text: str) -> Value:
    may = "`at once`, or `at most` and a rate, as in `at most 40 %/s`"
    return m.AtOnce() if text == "at once" else m.AtMostRate(f.quantity(_after(text, "at most ", may)))


def _offset(text: str) -> Value:
    word, _, rest = text.partition(" ")
    if word not in ("plus", "minus"):
        raise _wrong(text, "`plus` or `minus` and a number")
    return m.Offset(1 if word == "plus" else -1, f.whole_atom(rest))


def _repeat(text: str) -> Value:
    may = "`once each time it begins`, or `every` and a time"
    return m.Once() if text == "once each time it begins" else m.Every(_time(_after(text, "every ", may)))


def _begins(text: str) -> Value:
    if (x := _FOLLOWS.fullmatch(text)) is not None:
        return m.Follows(int(x["entry"]), x["called"] or "")
    may = f"`{_BEGINS}` and a state, or `in the pass in which entry 7 comes to its end by itself`"
    return m.BeginsWith(f.state(_after(text, _BEGINS, may)))


def _ends(text: str) -> Value:
    if text == "never of itself":
        return m.NeverOfItself()
    if text.startswith("when "):
        return m.EndsWhen(f.state(text.removeprefix("when ")))
    return m.After(_time(_after(text, "after ", "`after` and a time, `when` and a state, or `never of itself`")))


def _time_out(text: str) -> Value:
    if text == _NONE:
        return m.Nothing()
    return m.ResetBy(f.state(_after(text, "reset by ", "`none`, or `reset by` and a state")))


def _lock_out(text: str) -> Value:
    if text == _NONE:
        return m.Nothing()
    start = "set counts for nothing while "
    return m.BlockedWhile(f.state(_after(text, start, f"`none`, or `{start}` and a state")))


def _count(text: str) -> Value:
    if re.fullmatch(r"\d{1,9}", text) is None:
        raise _wrong(text, "a whole number")
    return m.Count(int(text))


def _place(text: str) -> m.Place:
    x = _PLACE.fullmatch(text)
    if x is None:
        raise _wrong(text, "the number of a channel with its name, as in `1 (motor)`")
    return m.Place(None if x["number"] == "____" else int(x["number"]), x["name"])


def _target(text: str) -> Value:
    output, mixing = ", the output", ", before any mixing"
    if text.startswith("channel ") and text.endswith(output):
        return m.OutputOf(_place(text.removeprefix("channel ").removesuffix(output)))
    if text.endswith(mixing):
        return m.BeforeMixing(text.removesuffix(mixing))
    raise _wrong(text, f"`channel 1 (motor){output}`, or a stick and `{mixing}`")


def _entries(text: str) -> Value:
    if text == _NONE:
        return m.Nothing()
    found, at = [], 0
    while True:
        x = _LISTED.match(text, at)
        if x is None:
            raise _wrong(text, "`none`, or entries one after the other, as in `entry 7, entry 9`", at)
        found.append((int(x["entry"]), x["called"] or ""))
        at = x.end()
        if at == len(text):
            return m.Entries(tuple(found))
        if not text.startswith(", ", at):
            raise _wrong(text, "a comma and the next entry", at)
        at += 2


def _sensor(text: str) -> Value:
    start = "the sensor that delivers "
    return m.SensorNamed(_after(text, start, f"`{start}` and its name"))


def _unit(text: str) -> Value:
    symbol = "" if text == "a plain number" else text
    if symbol not in UNITS or (not symbol and text != "a plain number"):
        raise _wrong(text, "a unit, as in `m`, or `a plain number`")
    return m.UnitOf(symbol)


def _span(text: str) -> Value:
    low, to, high = text.partition(" to ")
    if not to:
        raise _wrong(text, "two numbers with `to` between them")
    return m.Span(f.quantity(low), f.quantity(high))


def _once_stale(text: str) -> Value:
    if text == "must keep its last value":
        return m.KeepsValue()
    return m.MustRead(f.quantity(_after(text, "must read ", "`must keep its last value`, or `must read` and a value")))


def _sound(text: str) -> Value:
    if text in ANY_SOUND:
        return m.Sound(None, text == ANY_SOUND[1])
    if len(text) < 2 or not (text.startswith('"') and text.endswith('"')):
        raise _wrong(text, f"a text in quotes, {_several(ANY_SOUND)}")
    return m.Sound(text[1:-1])


ANY_SOUND = ("one you can tell from the others", "a short one")

READERS: dict[FieldKind, Callable[[str], Value]] = {
    "state": f.state, "number": f.whole_atom, "rate of": _rate_of, "threshold": _threshold, "time": _time,
    "delay": _delay, "ramp": _ramp, "offset": _offset, "count": _count, "calculation": f.calculation,
    "quantity": f.quantity, "repeat": _repeat, "phase begins": _begins, "phase ends": _ends, "time-out": _time_out,
    "lock-out": _lock_out, "channel": _place, "acts on": _target, "entries": _entries, "sensor": _sensor,
    "unit": _unit, "span": _span, "once stale": _once_stale, "sound": _sound, "fact": m.Note, "note": m.Note,
}  # fmt: skip


def written(x: Value) -> str:
    """As it stands in a listing."""
    match x:
        case m.EntryState() | m.Speaks() | m.SwitchAt() | m.ButtonHeld() | m.StartSignal() | m.Always() | m.Never():
            return f.state_text(x)
        case m.RateOf(subject=subject):
            return f"rate of change of {f.number_text(subject)}"
        case m.Threshold(order=order, bound=bound):
            return f"{RELATION[order]} {f.number_text(bound)}"
        case m.Passes(count=count):
            return f"{count} {'pass' if count == 1 else 'passes'}"
        case m.AtOnce():
            return "at once"
        case m.After(time=time):
            return f"after {written(time)}"
        case m.AtMostRate(rate=rate):
            return f"at most {f.quantity_text(rate)}"
        case m.Offset(sign=sign, amount=amount):
            return f"{'plus' if sign > 0 else 'minus'} {f.number_text(amount)}"
        case m.Once():
            return "once each time it begins"
        case m.Every(time=time):
            return f"every {written(time)}"
        case m.BeginsWith(state=state):
            return f"{_BEGINS}{f.state_text(state)}"
        case m.Follows(entry=entry, called=called):
            return f"in the pass in which entry {entry}{f' ({called})' if called else ''} comes to its end by itself"
        case m.EndsWhen(state=state):
            return f"when {f.state_text(state)}"
        case m.NeverOfItself():
            return "never of itself"
        case m.ResetBy(state=state):
            return f"reset by {f.state_text(state)}"
        case m.BlockedWhile(state=state):
            return f"set counts for nothing while {f.state_text(state)}"
        case m.Nothing():
            return _NONE
        case m.Count(most=most):
            return str(most)
        case m.Choice(text=text) | m.Note(text=text):
            return text
        case m.Place(number=number, name=name):
            return f"{'____' if number is None else number} ({name})"
        case m.OutputOf(place=place):
            return f"channel {written(place)}, the output"
        case m.BeforeMixing(stick=stick):
            return f"{stick}, before any mixing"
        case m.Entries(several=several):
            return ", ".join(f"entry {n}{f' ({called})' if called else ''}" for n, called in several)
        case m.SensorNamed(name=name):
            return f"the sensor that delivers {name}"
        case m.UnitOf(symbol=symbol):
            return symbol or "a plain number"
        case m.Span(low=low, high=high):
            return f"{f.quantity_text(low)} to {f.quantity_text(high)}"
        case m.KeepsValue():
            return "must keep its last value"
        case m.MustRead(value=value):
            return f"must read {f.quantity_text(value)}"
        case m.Sound(text=None, short=short):
            return ANY_SOUND[short]
        case m.Sound(text=text):
            return f'"{text}"'
        case m.Quantity() | m.EntryValue() | m.SensorValue() | m.SensorAge() | m.Stick() | m.PilotsOwn():
            return f.number_text(x)
        case m.Sum() | m.Difference() | m.Times() | m.DividedBy() | m.Unsigned():
            return f.number_text(x)
        case m.SmallerOf() | m.LargerOf() | m.ByPosition():
            return f.number_text(x)
        case _:
            assert_never(x)


def rounded_when_printed(entries: Iterable[Entry]) -> bool:
    """Whether a number that counts is printed as `about` so much, because no decimal of a few places says it."""
    about = re.compile(r"\babout -?\d")
    return any(about.search(f.value) for x in entries for f in x.fields if f.kind not in ("fact", "note", "sound"))
