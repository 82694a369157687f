"""From the text of a description to a `Transmitter`, or to what is wrong with it: place, what, and what to write.

Strict: an unknown key, a wrong kind of value, a number that is not exact are errors. Answers that do not go together
are looked for in `agreement`.
"""

import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

from latchproof.diagnostics import Diagnostic, Label, in_order
from latchproof.rules.suggest import did_you_mean, listed, similar
from latchproof.source import Source, Span
from latchproof.transmitter import agreement
from latchproof.transmitter.build import transmitter
from latchproof.transmitter.codecs import Amount, Flag, Trouble, value_of
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.places import Path, Place, places
from latchproof.transmitter.schema import (
    BY_PATH,
    KEYS,
    LISTS,
    NO_FALLBACK,
    SECTIONS,
    UNSURE,
    Key,
    of_hand,
    threshold_keys,
)

MOST_LETTERS = 64_000
"""A description is some 10 kB with all its comments."""

MOST_POINTS = 400
"""In a line: a list of all keys that there are has some sixty."""

MOST_ASSUMED = 400
"""Some sixty keys, and four of each hand."""

Read = tuple[Transmitter | None, tuple[Diagnostic, ...]]


def read(source: Source) -> Read:
    """The transmitter, None when there is an error; and what is wrong."""
    if len(source.text) > MOST_LETTERS:
        return None, (_whole(source, "description-syntax", "this is too long for a description of a transmitter"),)
    if any("\ud800" <= c <= "\udfff" for c in source.text):
        return None, (_whole(source, "description-syntax", "this is no UTF-8 text"),)
    for number, line in enumerate(source.text.split("\n"), 1):
        if line.count(".") > MOST_POINTS:  # the reader takes a time that grows with their square
            start = source.line_starts[number - 1]
            what = Diagnostic("description-syntax", "a key in a key in a key, without end", (_label(source, start),))
            return None, (what,)
    try:
        raw = tomllib.loads(source.text, parse_float=_Decimal)
    except tomllib.TOMLDecodeError as error:
        return None, (_syntax(source, str(error)),)
    except RecursionError:
        return None, (_whole(source, "description-syntax", "brackets within brackets without end"),)
    except ValueError:  # a whole number of thousands of digits, a date that there never was
        return None, (_whole(source, "description-syntax", "a number or a date that cannot be"),)
    if not raw:
        return None, (_whole(source, "description-syntax", "this is empty, no description of a transmitter"),)
    if not _KNOWN & raw.keys() and not any(similar(key, _KNOWN) for key in raw):
        return None, (_whole(source, "description-syntax", "this is no description of a transmitter"),)
    return _Reader(source, raw, places(source.text)).read()


_KNOWN = {k.path.partition(".")[0] for k in KEYS if k.path != "name"} | {*LISTS, "assumed"}
"""What only a description has at its top; a name many a file has."""


@dataclass(frozen=True, slots=True)
class _Decimal:
    """A number with a point, as it was written: it is told what is wrong with it and never taken for a number."""

    text: str


@dataclass
class _Reader:
    source: Source
    raw: dict[str, Any]
    places: dict[Path, Place]
    found: list[Diagnostic] = field(default_factory=list)
    unknown: set[str] = field(default_factory=set)
    missing: dict[Path, list[Key]] = field(default_factory=dict)
    misspelt: set[str] = field(default_factory=set)
    """Keys that may be meant by what could not be read; nothing more is said of them."""

    def read(self) -> Read:
        self._strangers()
        values = {}
        for key in KEYS:
            table = self._table(key.section)
            if table is not None:
                path: Path = (*((key.section,) if key.section else ()), key.name)
                values[key.path] = self._value(key, table, path, key.path)
        lists: dict[str, list[dict[str, Any]]] = {name: self._list(name, keys) for name, keys in LISTS.items()}
        assumed = self._assumed(lists)
        self._tell_missing()
        agreement.check(values, lists, self)
        if self.found:
            return None, in_order(self.found)
        return transmitter(values, lists, frozenset(self.unknown), assumed), ()

    # ---------- what stands where it should not

    def _strangers(self) -> None:
        tops = {k.name for k in KEYS if not k.section} | {"assumed", *LISTS} | (set(SECTIONS) - {""})
        self._known(self.raw, tops, ())
        for section in SECTIONS:
            if section and isinstance(table := self.raw.get(section), dict):
                self._known(table, {k.name for k in KEYS if k.section == section}, (section,))

    def _known(self, table: dict[str, Any], names: set[str], at: Path) -> None:
        for name in table:
            if name in names:
                continue
            homes = [k.section for k in KEYS if k.name == name and k.section]
            hints = did_you_mean(name, sorted(names))
            meant = similar(name, sorted(names - table.keys()))
            self.misspelt |= {".".join([*(str(p) for p in at), meant])} if meant else set()
            if not hints and homes:
                hints = (f"it belongs under [{homes[0]}]",)
            if not hints:
                hints = (f"take it out; here may stand {listed(sorted(names))}",)
            self.error("description-key", f"there is no `{name[:40]}` here", (*at, name), hints)

    def _table(self, section: str) -> dict[str, Any] | None:
        """The table of a section; None after an error."""
        if not section:
            return self.raw
        table = self.raw.get(section, {})
        if isinstance(table, dict):
            return table
        self.error(
            "description-kind", f"`{section}` is a heading", (section,), (f"write [{section}] on a line of its own",)
        )
        return None

    # ---------- one value

    def _value(self, key: Key, table: dict[str, Any], path: Path, called: str) -> Any:
        """The value; after an error None."""
        if key.name not in table:
            return self._left_out(key, path, called)
        raw = table[key.name]
        if isinstance(raw, str) and _plain(raw) in (UNSURE, "unknown", "?"):
            if key.may_be_unsure:
                self.unknown.add(called)
                return key.unsure
            hints: tuple[str, ...] = (f"it says: {key.says}; look it up on the screen",)
            self.error("description-value", f"{UNSURE!r} is no answer here", path, hints, value=True)
            return None
        if isinstance(raw, str) and key.nothing is not None and _plain(raw) in (key.nothing, "none"):
            return None
        if isinstance(raw, _Decimal | int) and not isinstance(raw, bool) and isinstance(key.codec, Amount):
            number = str(raw.text if isinstance(raw, _Decimal) else raw)[:40]
            hints = (f'write it with its unit, in quotation marks: "{number} {key.codec.unit}", if that is meant',)
            self.error("description-number", f"the number {number} stands without its unit", path, hints, value=True)
            return None
        value = value_of(key.codec, raw)
        if isinstance(value, Trouble):
            if isinstance(key.codec, Flag) and (meant := _flag(raw)):
                self.error(value.code, f"{called}: {value.title}", path, (f"write {meant}",), value=True)
                return None
            more = [f'"{key.nothing}"'] if key.nothing is not None else []
            more += [f'"{UNSURE}"'] if key.may_be_unsure else []
            hints = (*value.mend, f"write {listed(more, 'or')}") if more else value.mend
            self.error(value.code, f"{called}: {value.title}", path, hints, value=True)
            return None
        return value

    def _left_out(self, key: Key, path: Path, called: str) -> Any:
        if key.default is not NO_FALLBACK:
            return key.default
        if key.may_be_unsure:
            self.unknown.add(called)
            return key.unsure
        if called not in self.misspelt:
            self.missing.setdefault(path[:-1], []).append(key)
        return None

    def _tell_missing(self) -> None:
        """One message a heading, so that a file that is hardly begun is not answered with a page."""
        for path, keys in self.missing.items():
            *more, last = (str(p) for p in path if isinstance(p, str)) if path else ("",)
            heading = ".".join([*more, last])
            title = f"{listed(f'`{k.name}`' for k in keys)} {'is' if len(keys) == 1 else 'are'} missing"
            if heading:
                title += f" under [{heading}]" if path[-1] == heading else f" in this [[{heading}]]"
            hints = tuple(f"write {k.name} = ..., {k.says}" for k in keys[:3])
            self.error("description-missing", title, path, hints)

    # ---------- tables that come several times

    def _list(self, name: str, keys: tuple[Key, ...]) -> list[dict[str, Any]]:
        tables = self.raw.get(name, [])
        if not isinstance(tables, list) or not all(isinstance(t, dict) for t in tables):
            self.error("description-kind", f"`{name}` comes several times", (name,), (f"write [[{name}]] above each",))
            return []
        if len(tables) > 64:
            self.error("description-value", f"more than 64 times [[{name}]]", (name, 64), ("64 are the most",))
            return []
        rows = []
        for i, table in enumerate(tables):
            at: Path = (name, i)
            self._known(table, {k.name for k in keys}, at)
            label = table.get("quantity" if name == "threshold" else "name")
            called = f"{name}.{label if isinstance(label, str) else i + 1}"
            row: dict[str, Any] = {}
            for key in threshold_keys(table.get("shown"), table.get("kept")) if name == "threshold" else keys:
                if key.path == "turned" and table.get("kind") in ("switch", "button") and "turned" not in table:
                    row["turned"] = False  # there is nothing to turn round
                else:
                    row[key.path] = self._value(key, table, (*at, key.name), f"{called}.{key.name}")
            rows.append(row)
        return rows

    def _assumed(self, lists: dict[str, list[dict[str, Any]]]) -> frozenset[str]:
        raw = self.raw.get("assumed", [])
        if not isinstance(raw, list) or not all(isinstance(x, str) for x in raw) or len(raw) > MOST_ASSUMED:
            hints: tuple[str, ...] = ('write assumed = ["periods.logic"]',)
            self.error("description-kind", "`assumed` is a list of keys", ("assumed",), hints, value=True)
            return frozenset()
        known = set(BY_PATH) | {k for h in lists["hand"] for k in of_hand(h["name"])}
        known |= {f"threshold.{x['quantity']}" for x in lists["threshold"]} | {f"has.{x['name']}" for x in lists["has"]}
        for key in raw:
            hints = did_you_mean(key, sorted(known)) or ("write a key with its heading before it: periods.logic",)
            if key not in known:
                self.error(
                    "description-key", f"there is no `{key[:40]}` to be assumed", ("assumed",), hints, value=True
                )
            elif key in self.unknown - self.misspelt:
                title = f"`{key}` is both assumed and not known"
                self.error("description-conflict", title, ("assumed",), ("take it out of the list",), value=True)
        return frozenset(raw)

    # ---------- telling

    def error(self, code: str, title: str, path: Path, hints: tuple[str, ...], *, value: bool = False) -> None:
        """At a key, or (`value`) what stands behind it; where it has no place, at the nearest thing around it."""
        start, end = 0, 0
        for length in range(len(path), 0, -1):
            place = self.places.get(path[:length])
            if place is not None:
                start, end = place.value if value and length == len(path) else place.key
                break
        first = self.source.text.find("\n", start)
        end = end if first < 0 else min(end, max(first, start + 1))
        self.found.append(Diagnostic(code, title, (Label(Span(self.source.name, start, end)),), hints))


def _label(source: Source, at: int) -> Label:
    return Label(Span(source.name, at, min(at + 1, len(source.text))))


def _flag(raw: object) -> str:
    """What is meant by yes or no, "" if it is neither."""
    word = _plain(raw) if isinstance(raw, str) else ""
    return {"yes": "true", "on": "true", "true": "true", "no": "false", "off": "false", "false": "false"}.get(word, "")


def _plain(text: str) -> str:
    return text.strip().replace("’", "'").lower()


def _whole(source: Source, code: str, title: str) -> Diagnostic:
    hints = ("was the right file given? `latchproof describe` writes one",)
    return Diagnostic(code, title, (_label(source, 0),), hints)


def _syntax(source: Source, said: str) -> Diagnostic:
    """The reader of the standard library says `... (at line 3, column 7)`."""
    what, _, _ = said.partition(" (at ")
    match = re.search(r"\(at line ([0-9]+), column ([0-9]+)\)", said)
    end = len(source.text)
    at = end
    if match is not None:
        line, column = int(match.group(1)), int(match.group(2))
        at = min(source.line_starts[min(line, len(source.line_starts)) - 1] + column - 1, end)
    line_of = source.text[source.text.rfind("\n", 0, at) + 1 :].partition("\n")[0]
    bare = re.fullmatch(r"\s*(\w+)\s*=\s*(yes|no|on|off|True|False|Yes|No)\s*(?:#.*)?", line_of)
    if bare is not None:
        title = f"`{bare[2]}` is no value here"
        hints = (f"write {bare[1]} = {_flag(bare[2])}",)
        return Diagnostic("description-syntax", title, (_label(source, at),), hints)
    title = f"this cannot be read: {what[:1].lower()}{what[1:]}"
    hints = (
        'every line is `key = value`, a heading like [delays], or a comment after #; words stand in "quotation marks"',
    )
    return Diagnostic("description-syntax", title, (_label(source, at),), hints)
