"""The entries as they stand in the transmitter: those of the listing with some of the differences made in them, so that
what refers to each other goes on to fit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, cast

from latchproof.listing.model import Entry, Field
from latchproof.readback import differences as d
from latchproof.readback import model as m
from latchproof.readback.desk import yields
from latchproof.readback.differences import Difference
from latchproof.readback.doing import LISTS
from latchproof.readback.rows import STANDING, Rows, heard, left_out, moved_to, standing, with_row, without_field
from latchproof.readback.values import read, written

STALE = "sensor has gone stale"
NOT_SET = {"time-out": "none", "lock-out": "none", "entries": "none", "ramp": "at once", "delay": "at once",
           "repeat": "once each time it begins", "state": "never"}  # fmt: skip
"""What a field does that is not there, by its kind."""


@dataclass(frozen=True, slots=True)
class Standing:
    """`lost`: names of entries that are not there. `against`: differences that the rest speaks against, each with what
    the rest says."""

    entries: Rows
    lost: frozenset[str]
    against: tuple[tuple[Difference, str], ...]


def echoes(x: Difference) -> bool:
    """Whether it only tells again what the entry of a channel says: who wins over whom."""
    return isinstance(x, d.OtherValue | d.NoField) and x.label in STANDING


NO_MACHINE = (
    "what the receiver does when the link is lost is no part of these proofs: set it as listed, and test it with the "
    "propeller off"
)
TAKEN_FOR_GRANTED = (
    "the proofs take for granted that it is as listed: if it is not, write into the rule file what it is, and prove it "
    "again"
)


def aside(x: Difference, listed: Rows) -> str:
    """Why it is not judged as a machine; "" if it is."""
    row = next((y for y in listed if y.number == x.entry), None)
    if row is None:
        return ""
    if row.section == "failsafe":
        return NO_MACHINE if isinstance(x, d.OtherValue | d.NoField | d.MoreField | d.NoEntry) else ""
    fact = isinstance(x, d.OtherValue | d.NoField) and row.fields[x.field].kind == "fact"
    return TAKEN_FOR_GRANTED if fact else ""


def made(listed: Rows, found: Sequence[Difference], *, in_order: bool = True) -> Standing:
    """`in_order`: on a transmitter that reads entries above in the same pass, so that their order counts."""
    rows = listed
    wanted = [x for x in found if not echoes(x) and not aside(x, listed)]
    for x in sorted(wanted, key=_turn):
        rows = _with(rows, x)
    moved = [x for x in wanted if isinstance(x, d.Moved)]
    if moved:
        edited = {x.entry for x in wanted if isinstance(x, d.OtherValue) and x.label in LISTS}
        rows = _reordered(rows, moved, edited, in_order=in_order)
    gone = {x.entry for x in wanted if isinstance(x, d.NoEntry)}
    lost = {name for x in listed if x.number in gone and yields(x) in ("state", "number") for name in x.names}
    if wanted and rows != listed:
        rows = standing(rows)
    return Standing(rows, frozenset(lost), tuple(_against(rows, found)))


def _turn(x: Difference) -> tuple[int, int]:
    """First what changes single fields, the last of an entry first where fields go; then what changes entries."""
    match x:
        case d.OtherValue(label=label):
            return (1 if label == "acts on" else 0), 0
        case d.MoreField():
            return 2, 0
        case d.NoField(field=field):
            return 3, -field
        case d.OtherKind():
            return 4, 0
        case d.NoEntry():
            return 5, 0
        case d.MoreEntry():
            return 6, 0
        case d.Moved():
            return 7, 0


def _with(rows: Rows, x: Difference) -> Rows:
    match x:
        case d.OtherValue():
            return _with_value(rows, x)
        case d.MoreField():
            return _with_more(rows, x)
        case d.NoField():
            return _without(rows, x)
        case d.OtherKind(entry=entry, stands=kind):
            return with_row(rows, _of_kind(_row(rows, entry), kind))
        case d.NoEntry(entry=entry):
            return left_out(rows, _row(rows, entry))
        case d.MoreEntry():
            return _with_entry(rows, x)
        case d.Moved():
            return rows  # all of them at once, afterwards


def _row(rows: Rows, number: int) -> Entry:
    return next(x for x in rows if x.number == number)


# ---------- fields


def _with_value(rows: Rows, x: d.OtherValue) -> Rows:
    row = _row(rows, x.entry)
    f = row.fields[x.field]
    stands = replace(f, value=x.stands)
    if f.kind == "acts on":
        value = read(x.stands, "acts on")
        if isinstance(value, m.OutputOf):
            return moved_to(rows, row, x.field, x.stands, value.place)
    if row.kind == STALE and f.kind == "time":
        return heard(rows, row, x.field, x.stands)
    rows = with_row(rows, replace(row, fields=tuple(stands if i == x.field else g for i, g in enumerate(row.fields))))
    return _looking(rows, row, x.stands) if f.label == "stale after" else rows


def _looking(rows: Rows, sensor: Entry, time: str) -> Rows:
    """A sensor is stale after one time, whoever looks."""
    return tuple(
        replace(y, fields=tuple(replace(f, value=time) if f.kind == "time" else f for f in y.fields))
        if y.kind == STALE and _looks_at(y) == sensor.number
        else y
        for y in rows
    )


def _looks_at(y: Entry) -> int:
    values = (read(f.value, f.kind, f.choices) for f in y.fields[:1])
    return next((v.settings for v in values if isinstance(v, m.SensorValue)), 0)


def _with_more(rows: Rows, x: d.MoreField) -> Rows:
    row = _row(rows, x.entry)
    stem = x.added.label.removeprefix("or ").partition(" ")[0]
    places = [i for i, f in enumerate(row.fields) if f.label.removeprefix("or ").startswith(stem)]
    at = places[-1] + 1 if places else len(row.fields)
    label = x.added.label
    if label.startswith("input "):
        label = f"input {sum(f.label.startswith('input') for f in row.fields) + 1}"
    first = tuple(replace(f, label="input 1") if f.label == "input" and stem == "input" else f for f in row.fields)
    return with_row(rows, replace(row, fields=(*first[:at], replace(x.added, label=label), *first[at:])))


def _without(rows: Rows, x: d.NoField) -> Rows:
    row = _row(rows, x.entry)
    f = row.fields[x.field]
    less = without_field(row, x.field)
    if less is None and f.kind in NOT_SET:
        empty = replace(f, value=NOT_SET[f.kind])
        less = replace(row, fields=tuple(empty if i == x.field else g for i, g in enumerate(row.fields)))
    if less is None:
        less = replace(row, fields=tuple(g for i, g in enumerate(row.fields) if i != x.field))
    return with_row(rows, less)


# ---------- kinds

_DELAYS = {
    "delay before true": ("true after", "becomes false", "every time the input is false"),
    "delay before false": ("stays true for", "becomes true", "every time the input is true"),
}


def _of_kind(row: Entry, kind: str) -> Entry:
    """The same fields under the names that they have in another kind of entry."""
    if kind in _DELAYS and row.kind in _DELAYS:
        time = next((f for f in row.fields if f.kind == "time"), None)
        said = next((f for f in row.fields if f.kind == "state"), None)
        if time is not None and said is not None:
            label, becomes, zero = _DELAYS[kind]
            at_once = "at once, with the input"
            ends = (Field(becomes, at_once, kind="choice", choices=(at_once,)),
                    Field("goes back to zero", zero, kind="choice", choices=(zero,)))  # fmt: skip
            return replace(row, kind=kind, fields=(said, replace(time, label=label), *ends))
    labels: dict[str, str] = {}
    if kind.startswith("limits the value"):
        labels = {word: kind.rpartition(": ")[2].lower() for word in ("at least", "at most")}
    elif kind in ("spoken announcement", "tone", "vibration"):
        labels = dict.fromkeys(("says", "sound"), "says" if kind == "spoken announcement" else "sound")
    return replace(row, kind=kind, fields=tuple(replace(f, label=labels.get(f.label, f.label)) for f in row.fields))


# ---------- entries


def _layer(x: Entry) -> str:
    return LISTS[2] if x.kind == "replaces the value" else LISTS[0] if x.kind == "adds to the value" else LISTS[1]


def _with_entry(rows: Rows, x: d.MoreEntry) -> Rows:
    """Put in where it stands; an action is listed by its channel too."""
    at = next((i + 1 for i, y in enumerate(rows) if y.number == x.behind), 0)
    rows = (*rows[:at], x.added, *rows[at:])
    if yields(x.added) != "action":
        return rows
    where = next((read(f.value, f.kind) for f in x.added.fields if f.kind == "acts on"), None)
    channel = next((y for y in rows if yields(y) in ("channel", "control") and _is(y, where)), None)
    if channel is None:
        return rows
    place = {y.number: i for i, y in enumerate(rows)}
    layer = _layer(x.added)
    there = _numbers(channel, layer)
    if x.entry in there:
        return rows
    before = [n for n in there if place.get(n, -1) < place[x.entry]]
    k = there.index(before[-1]) + 1 if before else 0
    return with_row(rows, _listing(channel, layer, [*there[:k], x.entry, *there[k:]]))


def _is(y: Entry, where: object) -> bool:
    if isinstance(where, m.OutputOf):
        return any(f.kind == "channel" and read(f.value, f.kind) == where.place for f in y.fields)
    return isinstance(where, m.BeforeMixing) and yields(y) == "control" and where.stick in y.purpose


def _numbers(y: Entry, label: str) -> list[int]:
    value = next((read(f.value, f.kind) for f in y.fields if f.label == label), None)
    return [n for n, _ in value.several] if isinstance(value, m.Entries) else []


def _listing(y: Entry, layer: str, numbers: Iterable[int]) -> Entry:
    """The entry of a channel with another list of who acts on it."""
    text = written(m.Entries(tuple((n, "") for n in numbers)))
    kept = [f for f in y.fields if f.label not in (layer, "acted on by")]
    at = sum(1 for f in kept if f.label not in LISTS or LISTS.index(f.label) < LISTS.index(layer))
    return replace(y, fields=(*kept[:at], Field(layer, text, kind="entries"), *kept[at:]))


# ---------- order


def _reordered(rows: Rows, moved: Sequence[d.Moved], edited: set[int], *, in_order: bool) -> Rows:
    before = {x.number: i for i, x in enumerate(rows)}
    there = list(rows)
    for move in moved:
        if move.entry not in before:
            continue
        row = next(x for x in there if x.number == move.entry)
        there.remove(row)
        at = next((i + 1 for i, x in enumerate(there) if x.number == move.behind), 0)
        there.insert(at, row)
    after = {x.number: i for i, x in enumerate(there)}
    out = [_listed_anew(x, before, after) if x.number not in edited else x for x in there]
    return tuple(_read_anew(x, before, after) if in_order else x for x in out)


def _listed_anew(x: Entry, before: dict[int, int], after: dict[int, int]) -> Entry:
    """Of actions on a channel those further down act later: a list that was in the old order is in the new one."""
    if yields(x) not in ("channel", "control"):
        return x
    for layer in LISTS:
        numbers = _numbers(x, layer)
        known = all(n in before for n in numbers)
        if known and numbers == sorted(numbers, key=before.__getitem__):
            anew = sorted(numbers, key=after.__getitem__)
            x = _listing(x, layer, anew) if anew != numbers else x
    return x


def _read_anew(x: Entry, before: dict[int, int], after: dict[int, int]) -> Entry:
    """An entry reads the state of this pass above it, and that of the last pass from itself downwards."""

    def late(n: int, at: dict[int, int]) -> int:
        return int(n in at and at[n] >= at[x.number])

    def go(y: object) -> object:
        match y:
            case (
                m.EntryState(entry=n, earlier=ago) | m.EntryValue(entry=n, earlier=ago) | m.Speaks(entry=n, earlier=ago)
            ):
                return replace(y, earlier=max(0, ago - late(n, before) + late(n, after)))
            case tuple():
                return tuple(map(go, y))
            case _ if is_dataclass(y) and not isinstance(y, type):
                inside = {f.name: getattr(y, f.name) for f in fields(y)}
                changed: dict[str, Any] = {k: go(v) for k, v in inside.items()}
                return replace(y, **changed) if changed != inside else y
            case _:
                return y

    made = []
    for f in x.fields:
        value = read(f.value, f.kind, f.choices)
        if isinstance(value, m.Problem) or f.kind in ("fact", "note"):
            made.append(f)
            continue
        anew = go(value)
        made.append(f if anew == value else replace(f, value=written(cast(m.Value, anew))))
    return replace(x, fields=tuple(made))


# ---------- what does not go together


def _against(rows: Rows, found: Sequence[Difference]) -> Iterable[tuple[Difference, str]]:
    """What is told of one setting in two places, and differently."""
    there = {x.number: x for x in rows}
    for x in found:
        if not (isinstance(x, d.OtherValue) and (echoes(x) or x.label in ("stale after", "true after"))):
            continue
        row = there.get(x.entry)
        f = next((f for f in row.fields if f.label == x.label), None) if row is not None else None
        if f is not None and read(f.value, f.kind, f.choices) != read(x.stands, f.kind, f.choices):
            yield x, f.value
