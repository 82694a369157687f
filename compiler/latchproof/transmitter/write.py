"""A description as a commented text, which `read` reads back to the same transmitter."""

import textwrap
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from latchproof.transmitter.build import rows, value_at
from latchproof.transmitter.codecs import (
    Amount,
    Counts,
    Flag,
    Grid,
    Numbers,
    Pairs,
    Pick,
    Row,
    Several,
    Text,
    Texts,
    Times,
    Whole,
    grid,
    raw_of,
)
from latchproof.transmitter.model import Steps, Transmitter
from latchproof.transmitter.schema import (
    KEYS,
    LIST_HEADINGS,
    LISTS,
    NO_FALLBACK,
    SECTIONS,
    UNSURE,
    Key,
    threshold_keys,
)

WIDTH = 80

INTRODUCTION = """\
A transmitter, as far as rules depend on it. `latchproof describe` asks for all of this and writes it; `latchproof
describe --show` says it in words. "don't know" is an answer where it is offered below; what follows from it stands
behind it. Keys named in `assumed` were not tried on the transmitter.
"""


def write(t: Transmitter, remarks: tuple[str, ...] = ()) -> str:
    """`remarks`: what else is to be said at the top."""
    return "\n".join(_lines(t, remarks)) + "\n"


def _lines(t: Transmitter, remarks: tuple[str, ...]) -> Iterator[str]:
    for text in (INTRODUCTION, *remarks):
        yield from _comment(text)
    section = None
    for key in KEYS:
        if key.section != section:
            section = key.section
            yield ""
            yield f"# ---- {SECTIONS[section]}"
            if section:
                yield f"[{section}]"
        value = UNSURE if key.path in t.unknown else value_at(t, key.path)
        yield from _entry(key, value, unsure=key.path in t.unknown, assumed=key.path in t.assumed)
        if key.path == "name":
            yield from _comment("keys that nobody has looked at yet, with their heading: periods.logic")
            yield from _many("assumed", sorted(t.assumed))
    for name, tables in rows(t).items():
        yield ""
        yield f"# ---- {LIST_HEADINGS[name]}"
        for number, row in enumerate(tables):
            yield from _table(name, row, t.unknown, explained=number == 0)


def _table(name: str, row: Mapping[str, Any], unknown: frozenset[str], *, explained: bool) -> Iterator[str]:
    yield ""
    yield f"[[{name}]]"
    keys = threshold_keys(row["shown"], row["kept"]) if name == "threshold" else LISTS[name]
    for key in keys:
        value = row[key.path]
        unsure = f"{name}.{row.get('name', row.get('quantity'))}.{key.path}" in unknown
        if not unsure and (value is None or _needless(key, row)):
            continue
        if explained:
            yield from _entry(key, value, unsure=unsure, assumed=False)
        else:
            yield f"{key.name} = {_literal(UNSURE if unsure else raw_of(key.codec, value))}"


def _needless(key: Key, row: Mapping[str, Any]) -> bool:
    """A key that says nothing for this kind of hand, or says what it would be without it."""
    if row.get("kind") in ("switch", "button") and key.path == "turned":
        return row["turned"] is False
    if row.get("kind") not in ("switch", None) and key.path in ("places", "means"):
        return not row[key.path]
    return key.default is None and row[key.path] is None


def _entry(key: Key, value: Any, *, unsure: bool, assumed: bool) -> Iterator[str]:
    yield from _comment(f"{key.says}{' (ASSUMED)' if assumed else ''}; {_choices(key)}")
    if unsure:
        yield f"{key.name} = {_literal(UNSURE)}"
    elif value is None:
        yield f"{key.name} = {_literal(key.nothing)}"
    else:
        raw = raw_of(key.codec, value)
        yield from _many(key.name, raw) if isinstance(raw, list) else (f"{key.name} = {_literal(raw)}",)


def _choices(key: Key) -> str:
    """What may stand there."""
    said = kinds(key)
    if key.nothing is not None:
        said += f', or "{key.nothing}"'
    if key.unsure is not NO_FALLBACK:
        said += f', or "{UNSURE}"' + (f" ({key.careful})" if key.careful else "")
    return said


def kinds(key: Key) -> str:
    match key.codec:
        case Flag():
            return "true or false"
        case Whole(low=low, high=high):
            return f"{low} to {high}"
        case Pick(words=words):
            return " or ".join(f'"{w}"' for w in words)
        case Several(words=pairs):
            return "of " + ", ".join(w for w, _ in pairs)
        case Row(words=words):
            return "of " + ", ".join(words)
        case Amount(unit=unit):
            return f'like "10 {unit}"'
        case Grid(unit=unit):
            return f'like "{grid(Steps(Fraction(0), Fraction(100), Fraction(1)), unit)}"'
        case Times():
            return 'like "4 ms to 25 ms"'
        case Text():
            return "in your words"
        case Texts():
            return "names in quotation marks"
        case Numbers():
            return "channel numbers"
        case Counts(words=words):
            return f'like "{words[0]} 8"'
        case Pairs(words=words):
            return f'like "on is {words[-1]}"'


def _comment(text: str) -> Iterator[str]:
    for line in textwrap.wrap(text, WIDTH - 2, break_on_hyphens=False):
        yield f"# {line}"


def _many(name: str, items: list[str]) -> Iterator[str]:
    """A list over as many lines as it needs."""
    line = f"{name} = {_literal(items)}"
    if len(line) <= WIDTH:
        yield line
        return
    yield f"{name} = ["
    yield from (f"  {_literal(item)}," for item in items)
    yield "]"


def _literal(raw: object) -> str:
    """As TOML writes it."""
    match raw:
        case bool():
            return "true" if raw else "false"
        case int():
            return str(raw)
        case list():
            return "[" + ", ".join(_literal(x) for x in raw) + "]"
        case str():
            return '"' + "".join(_letter(c) for c in raw) + '"'
        case _:
            raise AssertionError(raw)


def _letter(c: str) -> str:
    if c in '"\\':
        return f"\\{c}"
    return c if c.isprintable() else f"\\U{ord(c):08x}"
