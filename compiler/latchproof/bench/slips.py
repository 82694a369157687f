"""Every single slip that a hand can make when it copies the entries of a listing, by the codes C1 to C20.

Slips are made on the printed fields, never on the rule file: what a field can hold says what can go wrong with it. Each
gives the entries as they then stand; what machine that is, `raised` says.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from latchproof.bench import values
from latchproof.listing.model import Entry, Field
from latchproof.readback import model as m
from latchproof.readback.desk import yields
from latchproof.readback.rows import copied, heard, left_out, moved_to, standing, with_field, with_row, without_field
from latchproof.readback.values import read, written

STALE = "sensor has gone stale"

Code = Literal[
    "C1", "C2", "C3", "C4", "C5", "C6", "C7", "C8", "C9", "C10", "C11", "C12", "C13", "C14", "C15", "C16", "C17", "C18",
]  # fmt: skip

CODES: dict[Code, str] = {
    "C1": "left out",
    "C2": "entered twice",
    "C3": "in the wrong order",
    "C4": "compared the wrong way",
    "C5": "a wrong digit",
    "C6": "the wrong unit",
    "C7": "the wrong sign",
    "C8": "the wrong source",
    "C9": "the entry above or below meant",
    "C10": "set and reset exchanged",
    "C11": "an input left out or the wrong way round",
    "C12": "and for or, or the opposite",
    "C13": "the wrong one wins",
    "C14": "a wrong time or ramp",
    "C15": "the wrong channel, or acting the wrong way",
    "C16": "a field left as it was found",
    "C17": "in another model memory or flight phase",
    "C18": "entered but not kept",
}


@dataclass(frozen=True, slots=True)
class Slip:
    """`entry` 0: the list as a whole. `field`: its label, "" for the whole entry. `lost`: what is called like this in
    the rule file is not there any more."""

    code: Code
    entry: int
    field: str
    meant: str
    stands: str
    entries: tuple[Entry, ...]
    lost: frozenset[str] = frozenset()


def slips(entries: tuple[Entry, ...]) -> tuple[Slip, ...]:
    """Entry by entry, field by field. What would come to the same entries twice is there once."""
    known = values.Known(entries)
    found: dict[tuple[Entry, ...], Slip] = {}
    for x in entries:
        for slip in (*_whole(x, entries), *_kind(x, entries), *_fields(x, entries, known)):
            if slip.entries != entries:
                found.setdefault(slip.entries, slip)
    return (*found.values(), *_everything(entries))


# ---------- whole entries


def _whole(x: Entry, entries: tuple[Entry, ...]) -> Iterator[Slip]:
    gives = yields(x)
    if gives in ("state", "number", "action", "announcement"):
        yield Slip(
            "C1",
            x.number,
            "",
            "the entry",
            "nothing",
            left_out(entries, x),
            frozenset(x.names) if gives in ("state", "number") else frozenset(),
        )
    if gives in ("action", "announcement"):
        yield Slip("C2", x.number, "", "the entry once", "the entry twice", copied(entries, x))


def _everything(entries: tuple[Entry, ...]) -> Iterator[Slip]:
    """The list as a whole: then nothing of it acts. Not kept: from the next time it is switched on, with which the test
    begins."""
    bare = entries
    for x in entries:
        if yields(x) in ("action", "announcement"):
            bare = left_out(bare, next(y for y in bare if y.number == x.number))
    yield Slip("C17", 0, "", "in this model memory and flight phase", "in another one", bare)
    yield Slip("C18", 0, "", "kept", "gone when the transmitter is switched on again", bare)


# ---------- the kind of an entry

_LIMIT = "limits the value: AT "


def _kind(x: Entry, entries: tuple[Entry, ...]) -> Iterator[Slip]:
    def made(code: Code, changed: Entry) -> Slip:
        return Slip(code, x.number, "kind", x.kind, changed.kind, with_row(entries, changed))

    match x.kind:
        case "ALL of these (and)" if len(x.fields) > 1:
            yield made("C12", replace(x, kind="ANY of these (or)"))
        case "ANY of these (or)" if len(x.fields) > 1:
            yield made("C12", replace(x, kind="ALL of these (and)"))
        case "EXACTLY ONE of these":
            yield made("C12", replace(x, kind="ANY of these (or)"))
        case "the same as its input":
            yield made("C12", replace(x, kind="the opposite of its input (not)"))
        case "the opposite of its input (not)":
            yield made("C12", replace(x, kind="the same as its input"))
        case "true for one pass when its input becomes true":
            yield made("C12", replace(x, kind="true for one pass when its input becomes false"))
        case "true for one pass when its input becomes false":
            yield made("C12", replace(x, kind="true for one pass when its input becomes true"))
        case "delay before true":
            yield made("C14", _delay(x, "delay before false"))
        case "delay before false":
            yield made("C14", _delay(x, "delay before true"))
        case "limits the value: AT LEAST" | "limits the value: AT MOST":
            other = "MOST" if x.kind.endswith("LEAST") else "LEAST"
            labels = {"at least": "at most", "at most": "at least"}
            fields = tuple(replace(f, label=labels.get(f.label, f.label)) for f in x.fields)
            yield made("C15", replace(x, kind=f"{_LIMIT}{other}", fields=fields))
        case "latch (set and reset)" | "lock-out of a latch":
            if (swapped := _swapped(x, "set when", "reset when")) is not None:
                yield Slip("C10", x.number, "set and reset", "as listed", "exchanged", with_row(entries, swapped))
        case "replaces the value" | "adds to the value":
            pass
        case _:
            pass
    for grows, falls in (("the value grows", "the value falls"), ("the change grows", "the change falls")):
        if (swapped := _swapped(x, grows, falls)) is not None:
            yield Slip("C14", x.number, f"{grows}, {falls}", "as listed", "exchanged", with_row(entries, swapped))


def _swapped(x: Entry, one: str, other: str) -> Entry | None:
    fields = {f.label: f for f in x.fields}
    if one not in fields or other not in fields or fields[one].value == fields[other].value:
        return None
    value = {one: fields[other].value, other: fields[one].value}
    return replace(x, fields=tuple(replace(f, value=value.get(f.label, f.value)) for f in x.fields))


def _delay(x: Entry, kind: str) -> Entry:
    """The other kind of delay, with the same input and the same time."""
    becomes, at_once = ("becomes true" if kind.endswith("false") else "becomes false"), "at once, with the input"
    label, zero = ("stays true for", "true") if kind.endswith("false") else ("true after", "false")
    zero = f"every time the input is {zero}"
    time = next(f for f in x.fields if f.kind == "time")
    said = next(f for f in x.fields if f.kind == "state")
    fields = (said, replace(time, label=label), Field(becomes, at_once, kind="choice", choices=(at_once,)),
              Field("goes back to zero", zero, kind="choice", choices=(zero,)))  # fmt: skip
    return replace(x, kind=kind, fields=fields)


# ---------- fields


def _fields(x: Entry, entries: tuple[Entry, ...], known: values.Known) -> Iterator[Slip]:
    for n, f in enumerate(x.fields):
        value = read(f.value, f.kind, f.choices)
        if isinstance(value, m.Problem) or f.kind in ("fact", "note"):
            continue
        for code, wrong in values.wrong(value, f, x, known):
            text = written(wrong)
            if text == f.value:
                continue
            if x.kind == STALE and f.kind == "time":
                yield Slip(code, x.number, f.label, f.value, text, heard(entries, x, n, text))
            elif not (f.label == "stale after" and any(y.kind == STALE for y in entries)):
                yield Slip(code, x.number, f.label, f.value, text, with_field(entries, x, n, text))
        if isinstance(value, m.OutputOf):
            for other in known.channels:
                if other != value.place:
                    text = written(m.OutputOf(other))
                    yield Slip("C15", x.number, f.label, f.value, text, moved_to(entries, x, n, text, other))
        if isinstance(value, m.Entries) and len(value.several) > 1 and yields(x) in ("channel", "control"):
            for i in range(len(value.several) - 1):
                order = list(value.several)
                order[i], order[i + 1] = order[i + 1], order[i]
                text = written(m.Entries(tuple(order)))
                rows = standing(with_field(entries, x, n, text))
                yield Slip("C3", x.number, f.label, f.value, text, rows)
        if (less := without_field(x, n)) is not None:
            yield Slip("C11", x.number, f.label, f.value, "left out", with_row(entries, less))
