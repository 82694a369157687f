"""Rows of a listing taken out, put in or changed, so that what refers to them still fits."""

from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from typing import cast

from latchproof.listing.model import Entry, Field
from latchproof.readback import model as m
from latchproof.readback.desk import yields
from latchproof.readback.doing import LISTS
from latchproof.readback.values import read, written

STANDING = ("wins over", "gives way to", "no order with")
Rows = tuple[Entry, ...]


def with_row(entries: Rows, x: Entry) -> Rows:
    return tuple(x if y.number == x.number else y for y in entries)


def with_field(entries: Rows, x: Entry, n: int, text: str) -> Rows:
    fields = tuple(replace(f, value=text) if k == n else f for k, f in enumerate(x.fields))
    return with_row(entries, replace(x, fields=fields))


def without_field(x: Entry, n: int) -> Entry | None:
    """An entry without one of its inputs, or without one of several reasons to set or reset."""
    label = x.fields[n].label
    rest = x.fields[:n] + x.fields[n + 1 :]
    if label.startswith("input ") and sum(f.label.startswith("input ") for f in x.fields) > 1:
        number = iter(range(1, len(x.fields) + 1))
        renamed = tuple(replace(f, label=f"input {next(number)}") if f.label.startswith("input ") else f for f in rest)
        return replace(x, fields=renamed)
    for one in ("set when", "reset when", "back to 0 when"):
        if label == f"or {one}":
            return replace(x, fields=rest)
        if label == one:
            if n < len(rest) and rest[n].label == f"or {one}":
                return replace(x, fields=(*rest[:n], replace(rest[n], label=one), *rest[n + 1 :]))
            never = replace(x.fields[n], value=written(m.Never()))
            return replace(x, fields=(*x.fields[:n], never, *x.fields[n + 1 :]))
    return None


def left_out(entries: Rows, x: Entry) -> Rows:
    """The row is empty: it is never true, its number is 0, it acts on nothing."""
    return tuple(_without(y, x) for y in entries if y.number != x.number)


def _without(y: Entry, gone: Entry) -> Entry:
    unit = _unit(y)
    kept: list[Field] = []
    for f in y.fields:
        value = read(f.value, f.kind, f.choices)
        if isinstance(value, m.Problem) or f.kind in ("fact", "note"):
            kept.append(f)
            continue
        made = _empty(value, gone.number, unit)
        if isinstance(made, m.Nothing) and f.label in LISTS:
            continue
        kept.append(f if made is value else replace(f, value=written(made)))
    if yields(y) in ("channel", "control") and len(kept) < len(y.fields) and not any(f.label in LISTS for f in kept):
        kept.append(Field("acted on by", "none", kind="entries"))
    return replace(y, fields=tuple(kept))


def _unit(y: Entry) -> str:
    """The unit of the numbers that an entry works with."""
    for f in y.fields:
        value = read(f.value, f.kind, f.choices)
        number = value.bound if isinstance(value, m.Threshold) else value
        if isinstance(number, m.Quantity) and f.kind in ("threshold", "number"):
            return number.unit
    return "%" if yields(y) in ("action", "channel") else ""


def _empty(x: m.Value, gone: int, unit: str) -> m.Value:
    """What a field comes to when an entry that it names is empty."""
    match x:
        case m.EntryState(entry=n) | m.Speaks(entry=n) if n == gone:
            return m.Always() if isinstance(x, m.EntryState) and not x.state else m.Never()
        case m.EntryValue(entry=n) if n == gone:
            return m.Quantity(Fraction(0), unit)
        case m.Follows(entry=n) if n == gone:
            return m.BeginsWith(m.Never())
        case m.ResetBy(state=s) | m.BlockedWhile(state=s) if isinstance(_empty(s, gone, unit), m.Never):
            return m.Nothing()
        case m.Entries(several=several) if any(n == gone for n, _ in several):
            rest = tuple(pair for pair in several if pair[0] != gone)
            return m.Entries(rest) if rest else m.Nothing()
        case _:
            changed = {
                f.name: made
                for f in fields(x)
                if is_dataclass(old := getattr(x, f.name))
                and (made := _empty(cast(m.Value, old), gone, unit)) is not old
            }
            return replace(x, **changed) if changed else x  # type: ignore[arg-type]


def copied(entries: Rows, x: Entry) -> Rows:
    """The same row once more; a channel then lists both, the copy behind the other."""
    number = max(y.number for y in entries) + 1
    at = next(k for k, y in enumerate(entries) if y.number == x.number)
    rows = (*entries[: at + 1], replace(x, number=number), *entries[at + 1 :])
    return standing(tuple(_listing_both(y, x.number, number) for y in rows))


def _listing_both(y: Entry, one: int, other: int) -> Entry:
    made = []
    for f in y.fields:
        value = read(f.value, f.kind, f.choices) if f.label in LISTS else None
        if isinstance(value, m.Entries):
            several = [
                p for n, called in value.several for p in ((n, called), (other, called)) if p[0] == n or n == one
            ]
            made.append(replace(f, value=written(m.Entries(tuple(several)))))
        else:
            made.append(f)
    return replace(y, fields=tuple(made))


def moved_to(entries: Rows, x: Entry, n: int, text: str, place: m.Place) -> Rows:
    """An action on another channel: it stands in the list of that one, above all that act there, and not in its own."""
    layer = LISTS[2] if x.kind == "replaces the value" else LISTS[0] if x.kind == "adds to the value" else LISTS[1]
    bare = left_out(entries, x)
    at = next(k for k, y in enumerate(entries) if y.number == x.number)
    target = next(y for y in bare if yields(y) == "channel" and _place_of(y) == place)
    changed = tuple(replace(f, value=text) if k == n else f for k, f in enumerate(x.fields))
    listed = [f for f in target.fields if f.label not in (layer, "acted on by")]
    where = sum(1 for f in listed if f.label not in LISTS or LISTS.index(f.label) < LISTS.index(layer))
    listed.insert(where, _entries(layer, (*_listed(target, layer), x.number)))
    rows = with_row(bare, replace(target, fields=tuple(listed)))
    return standing((*rows[:at], replace(x, fields=changed), *rows[at:]))


def standing(entries: Rows) -> Rows:
    """Who wins over whom, told anew at each action as the lists of the channels have it."""
    fields_of: dict[int, dict[str, Field]] = {}
    for y in entries:
        if yields(y) not in ("channel", "control"):
            continue
        drives = _listed(y, LISTS[2])
        for label in LISTS[:2]:
            for n in _listed(y, label):
                fields_of[n] = {"gives way to": _entries("gives way to", drives)} if drives else {}
        for k, n in enumerate(drives):
            row = next(z for z in entries if z.number == n)
            loose = _listed(row, "no order with")
            over = tuple(d for d in drives[:k] if d not in loose)
            under = tuple(d for d in drives[k + 1 :] if d not in loose)
            fields_of[n] = {"wins over": _entries("wins over", over), "gives way to": _entries("gives way to", under)}
            if loose:
                fields_of[n]["no order with"] = _entries("no order with", loose)
    return tuple(_with_standing(y, fields_of[y.number]) if y.number in fields_of else y for y in entries)


def _with_standing(y: Entry, wanted: dict[str, Field]) -> Entry:
    had = {f.label: f for f in y.fields}
    made = {k: had[k] if k in had and _same(had[k], f) else f for k, f in wanted.items()}
    kept = tuple(f for f in y.fields if f.label not in STANDING)
    return replace(y, fields=(*kept, *made.values()))


def _same(one: Field, other: Field) -> bool:
    """The same entries; what they are called does not matter."""
    return [n for n, _ in _pairs(one)] == [n for n, _ in _pairs(other)]


def _pairs(f: Field) -> tuple[tuple[int, str], ...]:
    value = read(f.value, f.kind)
    return value.several if isinstance(value, m.Entries) else ()


def _place_of(y: Entry) -> m.Value | m.Problem | None:
    return next((read(f.value, f.kind) for f in y.fields if f.kind == "channel"), None)


def _listed(y: Entry, label: str) -> tuple[int, ...]:
    return next((tuple(n for n, _ in _pairs(f)) for f in y.fields if f.label == label), ())


def _entries(label: str, numbers: tuple[int, ...]) -> Field:
    value: m.Value = m.Entries(tuple((n, "") for n in numbers)) if numbers else m.Nothing()
    return Field(label, written(value), kind="entries")


def heard(entries: Rows, x: Entry, n: int, text: str) -> Rows:
    """Another time after which a sensor is stale: it has only one, whoever looks at it."""
    sensor = read(x.fields[0].value, x.fields[0].kind)

    def changed(y: Entry) -> Entry:
        label = x.fields[n].label
        if y.kind == x.kind and read(y.fields[0].value, y.fields[0].kind) == sensor:
            pass
        elif isinstance(sensor, m.SensorValue) and y.number == sensor.settings:
            label = "stale after"
        else:
            return y
        return replace(y, fields=tuple(replace(f, value=text) if f.label == label else f for f in y.fields))

    return tuple(changed(y) for y in entries)
