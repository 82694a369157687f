"""What a pilot typed into a field of the form, as the value that it means. Hands and spreadsheets write the same thing
in many ways; what can be meant in two ways is not guessed."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Any, cast

from latchproof.listing.model import Entry, Field, FieldKind
from latchproof.readback import model as m
from latchproof.readback.desk import YIELDS
from latchproof.readback.form_cells import plain
from latchproof.readback.model import Problem, Value
from latchproof.readback.values import ANY_SOUND, RELATION, read
from latchproof.rules.units import UNITS

BLANK = "____"
"""Where the listing leaves something to the pilot: whatever he decided is as listed."""

WITH_UNIT: tuple[FieldKind, ...] = (
    "threshold", "time", "delay", "ramp", "offset", "quantity", "number", "repeat", "phase ends", "once stale", "span",
)  # fmt: skip

_SYMBOLS = "|".join(sorted((re.escape(u) for u in UNITS if u), key=len, reverse=True))
_TIGHT = re.compile(rf"(?<=\d)(?=(?:{_SYMBOLS})(?![\w/%]))", re.IGNORECASE)
_BARE = re.compile(
    rf"(?<![\w.,])(?<!\d )(?<!entry )(?<!channel )(-?\d+(?:\.\d+)?)(?![\d.,\w]| ?(?:{_SYMBOLS})(?![\w/])| pass)"
)
_UNIT = re.compile(rf"\d ({_SYMBOLS})(?![\w/%])")
_DECIMAL = re.compile(r"(?<=\d),(?=\d)")
_THOUSANDS = re.compile(r"(?<![\d.,])-?[1-9]\d{0,2}(?:[,']\d{3})+(?![\d,])")
_POINT_FIRST = re.compile(r"(?<![\d\w])\.(?=\d)")
_WORD = re.compile(r"[^\W\d]+")
_TEXT = """
entry true false earlier one pass passes plus minus at once after every most least held down always never none reset by
when times divided without its sign must read keep last value to of and the smaller larger rate change sensor settings
in channel output before any mixing
"""
_KEYWORDS = {word: word for word in _TEXT.split()}
_COMPARED = (("<=", "AT MOST"), (">=", "AT LEAST"), ("\u2264", "AT MOST"), ("\u2265", "AT LEAST"), ("<", "BELOW"),
             (">", "ABOVE"))  # fmt: skip


@dataclass(frozen=True)
class Sheet:
    """What typing is understood by: the entries of the listing."""

    entries: tuple[Entry, ...]

    @cached_property
    def words(self) -> Mapping[str, str]:
        """How each word of the listing is written; lower case where it is written in several ways."""
        found: dict[str, str] = {}
        for x in self.entries:
            for f in x.fields:
                for word in _WORD.findall(f.value):
                    key = word.casefold()
                    found[key] = word if found.get(key, word) == word else key
        return found

    @cached_property
    def places(self) -> Mapping[str, m.Place]:
        """The channels, by number and by name."""
        found: dict[str, m.Place] = {}
        for x in self.entries:
            for f in x.fields:
                value = read(f.value, f.kind, f.choices) if f.kind in ("channel", "acts on") else None
                place = value.place if isinstance(value, m.OutputOf) else value
                if isinstance(place, m.Place):
                    found[place.name.casefold()] = place
                    if place.number is not None:
                        found[str(place.number)] = place
        return found


def kind_typed(text: str, listed: str) -> str | Problem:
    """The kind of an entry."""
    kinds = {k.casefold(): k for k in (*YIELDS, listed)}
    found = kinds.get(plain(text).casefold())
    return found or Problem(f"no such kind of entry: {plain(text)[:60]}", ", ".join(YIELDS))


def typed(text: str, at: int, listed: Field, sheet: Sheet) -> Value | Problem:
    """`at`: the number of the entry that the field stands in."""
    said = plain(text)
    if listed.kind == "choice":
        fitting = {c.casefold(): c for c in listed.choices}
        return read(fitting.get(said.casefold(), said), "choice", listed.choices)
    if listed.kind == "sound":
        return _sound(said, listed)
    if listed.kind in ("fact", "note"):
        same = _folded(said) == _folded(listed.value) or BLANK in listed.value
        return m.Note(listed.value if same else said)
    if listed.kind != "entries":
        if (two := _THOUSANDS.search(said)) is not None:
            group = two.group()
            one = group.replace(",", "").replace("'", "")
            may = f"`{one}`" if group.count(",") != 1 else f"`{one}` or `{group.replace(',', '.')}`"
            return Problem(f"{group} can be read in two ways", f"write {may}")
        said = _DECIMAL.sub(".", said)
    found = _read(said, listed, sheet)
    if isinstance(found, Problem):
        return found
    if "earlier" not in said.casefold():
        found = cast(Value, _placed(found, at, _ages(_meant(listed))))
    return _numbered(found, _meant(listed))


def _read(said: str, listed: Field, sheet: Sheet) -> Value | Problem:
    first: Problem | None = None
    unit = _unit(listed)
    for way in _ways(said, listed, sheet):
        found = read(way, listed.kind, listed.choices)
        with_unit = unit != "" and listed.kind in WITH_UNIT
        if not isinstance(found, Problem) and not (with_unit and _without_unit(found)):
            return found
        if isinstance(found, Problem):
            first = first or found
        if not with_unit or _BARE.search(way) is None:
            continue
        whole = _BARE.sub(rf"\1 {unit}", way)
        again = read(whole, listed.kind, listed.choices)
        if isinstance(again, Problem) or _without_unit(again):
            continue
        if listed.other:
            other = (_UNIT.search(listed.other) or [unit, unit])[1]
            number = (_BARE.search(way) or [way])[0]
            return Problem(f"{said}: in which unit?", f"write `{number} {unit}` or `{number} {other}`")
        return again
    return first or Problem(f"this cannot be read: {said[:80]}", listed.value)


def _ways(said: str, listed: Field, sheet: Sheet) -> Iterable[str]:
    """What may have been meant: with words as the listing writes them, then as they were typed."""
    near = _KEYWORDS | dict(sheet.words) | {u.casefold(): u for u in UNITS if u}
    near |= {w.casefold(): w for w in _WORD.findall(listed.value)}
    loose = _POINT_FIRST.sub("0.", _TIGHT.sub(" ", re.sub(r"(?<=[%\w]) ?/ ?(?=s\b)", "/", said)))
    cased = _WORD.sub(lambda x: near.get(x.group().casefold(), x.group()), loose)
    yield from dict.fromkeys((_put_right(cased, listed, sheet), _put_right(loose, listed, sheet)))
    yield said


def _put_right(way: str, listed: Field, sheet: Sheet) -> str:
    """The usual short forms in full."""
    match listed.kind:
        case "threshold":
            for sign, word in _COMPARED:
                if way.startswith(sign):
                    return f"{word} {way.removeprefix(sign).strip().removeprefix('+')}"
            for word in RELATION.values():
                if way.casefold().startswith(f"{word} ".casefold()):
                    return f"{word} {way[len(word) + 1 :].removeprefix('+')}"
        case "offset" if way[:1] in ("+", "-"):
            return f"{'plus' if way[0] == '+' else 'minus'} {way[1:].strip()}"
        case "state" | "phase begins" | "phase ends" | "time-out" | "lock-out":
            way = re.sub(r"\bnot at\b", "NOT at", way, flags=re.IGNORECASE)
            return re.sub(r"^(\d+) (?=(true|false)\b)", r"entry \1 ", way)
        case "entries" if re.fullmatch(r"\d+( ?[,;] ?\d+)*", way):
            return ", ".join(f"entry {n}" for n in re.findall(r"\d+", way))
        case "channel" | "acts on":
            return _place(way, listed, sheet)
        case _:
            pass
    return way.removeprefix("+").lstrip()


def _place(way: str, listed: Field, sheet: Sheet) -> str:
    bare = way.casefold().removeprefix("channel ").removesuffix(", the output")
    found = sheet.places.get(bare) or sheet.places.get(bare.partition(" ")[0])
    if listed.kind == "channel":
        own = read(listed.value, "channel")
        if bare.isdigit() and isinstance(own, m.Place):
            return f"{bare} ({own.name})"
        return way
    if found is None or not re.fullmatch(r"\d+( \([^()]*\))?|[^\d(][^(]*", bare):
        return way
    return f"channel {'____' if found.number is None else found.number} ({found.name}), the output"


def _sound(said: str, listed: Field) -> Value | Problem:
    found = read(said.casefold() if said.casefold() in ANY_SOUND else said, "sound")
    if isinstance(found, Problem):
        found = read(f'"{said.strip(chr(39))}"', "sound")
    mine = read(listed.value, "sound")
    alike = (
        isinstance(found, m.Sound) and isinstance(mine, m.Sound) and found.text is not None and mine.text is not None
    )
    if alike and _folded(cast(Any, found).text) == _folded(cast(Any, mine).text):
        return mine
    return found


def _folded(text: str) -> str:
    return re.sub(r"(?<=\d) (?=[a-z%])", "", _DECIMAL.sub(".", plain(text)).casefold())


def _unit(listed: Field) -> str:
    """The unit of the numbers of a field, if they have one."""
    found = {x[1] for x in _UNIT.finditer(listed.value)}
    return found.pop() if len(found) == 1 else ""


def _without_unit(x: object) -> bool:
    return any(q.unit == "" for q in _quantities(x))


def _quantities(x: object) -> Iterable[m.Quantity]:
    match x:
        case m.Quantity():
            yield x
        case tuple():
            for y in x:
                yield from _quantities(y)
        case _ if is_dataclass(x):
            for f in fields(x):
                yield from _quantities(getattr(x, f.name))
        case _:
            pass


def _meant(listed: Field) -> object:
    found = read(listed.value, listed.kind, listed.choices)
    return None if isinstance(found, Problem) else found


def _ages(x: object) -> dict[int, int]:
    """How many passes earlier the listing reads each entry."""
    match x:
        case m.EntryState(entry=n, earlier=ago) | m.EntryValue(entry=n, earlier=ago) | m.Speaks(entry=n, earlier=ago):
            return {n: ago}
        case tuple():
            return {n: ago for y in x for n, ago in _ages(y).items()}
        case _ if is_dataclass(x):
            return {n: ago for f in fields(x) for n, ago in _ages(getattr(x, f.name)).items()}
        case _:
            return {}


def _placed(x: object, at: int, listed: Mapping[int, int]) -> object:
    """A screen does not say `one pass earlier`: the place of the entry that is read says it."""
    match x:
        case m.EntryState(entry=n) | m.EntryValue(entry=n) | m.Speaks(entry=n):
            return replace(x, earlier=listed.get(n, 1 if n >= at else 0))
        case tuple():
            return tuple(_placed(y, at, listed) for y in x)
        case _ if is_dataclass(x) and not isinstance(x, type):
            inside = {f.name: getattr(x, f.name) for f in fields(x)}
            changed: dict[str, Any] = {k: _placed(v, at, listed) for k, v in inside.items()}
            return replace(x, **changed) if any(changed[k] is not inside[k] for k in inside) else x
        case _:
            return x


def _numbered(found: Value, listed: object) -> Value:
    """Where the listing leaves the number of a channel open, any is as listed."""
    match found, listed:
        case m.Place(name=name), m.Place(number=None, name=same) if name == same:
            return cast(Value, listed)
        case m.OutputOf(place=m.Place(name=name)), m.OutputOf(place=m.Place(number=None, name=same)) if name == same:
            return cast(Value, listed)
        case _:
            return found


def alike(one: Value, other: Value) -> bool:
    """Whether two values say the same, in whatever unit."""
    return bool(_based(one) == _based(other))


def _based(x: object) -> object:
    match x:
        case m.Quantity(amount=amount, unit=symbol):
            unit = UNITS[symbol]
            found = amount * unit.factor
            return (Fraction(0), ()) if not found else (found, unit.dimension)
        case tuple():
            return tuple(_based(y) for y in x)
        case _ if is_dataclass(x) and not isinstance(x, type):
            return (type(x).__name__, *(_based(getattr(x, f.name)) for f in fields(x) if f.compare))
        case _:
            return x
