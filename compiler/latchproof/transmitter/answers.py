"""Answers as they are typed: yes and no, lists with commas, ? for don't know, a ? at the end for "I think so"."""

import re
from dataclasses import dataclass
from typing import Any

from latchproof.rules.suggest import listed
from latchproof.transmitter.build import value_at
from latchproof.transmitter.codecs import (
    LISTS,
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
    Trouble,
    Whole,
    raw_of,
    value_of,
)
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.schema import UNSURE, Key

OTHER_WORDS = {
    "motor cut": "throttle cut",
    "motor stop": "throttle cut",
    "knob": "slider",
    "up": "away",
    "down": "towards",
    "left": "away",
    "right": "towards",
    "centre": "middle",
    "center": "middle",
}
"""What pilots say as well; it counts where the word behind it is among the answers."""

_COMMA = re.compile(r"(?<![0-9,.])(?:0,([0-9]{1,9})|([0-9]{1,15}),([0-9]{1,2}|[0-9]{4,9}))(?![0-9,.])")
"""A decimal comma; not 3,000, which may be three thousand."""

_SWITCH = re.compile(r"switch(?: of)? ([23])(?: (?:place|position)s?)?|([23])[ -](?:place|position)s? switch")

_YES = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


@dataclass(frozen=True, slots=True)
class Given:
    """`unsure`: nobody knows; `assumed`: so it is thought, and was not tried."""

    value: Any
    unsure: bool = False
    assumed: bool = False


def given(key: Key, text: str) -> Given | Trouble:
    said = text.strip()
    if said.replace("’", "'").lower() in ("?", UNSURE, "unknown"):
        if key.may_be_unsure:
            return Given(key.unsure, unsure=True)
        return Trouble("description-value", "this must be known", ("look it up; it can be seen without a test",))
    assumed = said.endswith("?")
    said = said.removesuffix("?").strip()
    if key.nothing is not None and said.lower() in (key.nothing, "none", "nothing"):
        return Given(None, assumed=assumed)
    if isinstance(key.codec, Pick) and said.lower() == "switch" and said not in key.codec.words:
        kinds = [w for w in key.codec.words if w.startswith("switch")]
        if len(kinds) > 1:
            return Trouble("description-value", "how many places has that switch?", (f"say {listed(kinds, 'or')}",))
    value = value_of(key.codec, _raw(key, said))
    if isinstance(value, Trouble) and value.code == "description-kind":
        return Trouble(value.code, "this is no answer here", (f"say {choices(key)}",))
    return value if isinstance(value, Trouble) else Given(value, assumed=assumed)


def _raw(key: Key, said: str) -> object:
    """As it would stand in a file."""
    match key.codec:
        case Flag():
            return _YES.get(said.lower(), said)
        case Whole():
            return int(said) if said.isascii() and said.isdigit() and len(said) < 6 else said
        case Pick(words=words):
            low = said.lower()
            if match := _SWITCH.fullmatch(low):
                low = f"switch of {match[1] or match[2]} places"
            near = [w for w in words if w.lower().startswith(low)]
            other = OTHER_WORDS.get(low)
            return near[0] if len(near) == 1 and said else other if other in words and said not in words else said
        case Pairs():
            items = [x.strip() for x in said.split(",") if x.strip()]
            return [] if said.lower() in ("none", "nothing") else [_place(x) for x in items]
        case Amount() | Grid() | Times():
            return _COMMA.sub(lambda m: f"{m[2] or '0'}.{m[1] or m[3]}", said)
        case codec if isinstance(codec, LISTS):
            items = [] if said.lower() in ("none", "nothing") else [x.strip() for x in said.split(",") if x.strip()]
            if isinstance(codec, Numbers):
                return [int(x) if x.isascii() and x.isdigit() and len(x) < 6 else x for x in items]
            return items
        case _:
            return said


def _place(item: str) -> str:
    """`on is up` as it is asked for: up is away from you."""
    name, middle, word = item.rpartition(" is ")
    return f"{name}{middle}{OTHER_WORDS.get(word.lower(), word)}"


def typed(key: Key, value: Any) -> str:
    """What one would type for a value."""
    if value is None:
        return key.nothing or "none"
    if isinstance(key.codec, Flag):
        return "yes" if value else "no"
    raw = raw_of(key.codec, value)
    return (", ".join(str(x) for x in raw) or "none") if isinstance(raw, list) else str(raw)


def default_of(key: Key, start: Transmitter, *, generic: bool) -> tuple[str | None, str]:
    """What Enter gives, and what else is worth showing.

    Of the transmitter at hand a built-in one knows nothing: where don't know is an answer, it is the one, unless a
    wrong answer shows itself when the list is entered. All else that it says is taken as assumed.
    """
    value = value_at(start, key.path)
    if key.path in start.unknown:
        return "?", ""
    if generic and key.may_be_unsure and not key.shows_itself:
        return "?", typed(key, value)
    if value == "":
        return None, ""
    if generic and key.path == "order":  # nothing is said, so nothing is assumed
        return typed(key, ()), ""
    believed = generic or key.path in start.assumed
    return thought(typed(key, value)) if believed else typed(key, value), ""


def thought(answer: str) -> str:
    """An answer that nobody has tried."""
    return f"{answer} ?"


def choices(key: Key) -> str:
    """What may be typed."""
    match key.codec:
        case Flag():
            said = "yes or no"
        case Whole(low=low, high=high):
            said = f"a number from {low} to {high}"
        case Pick(words=words):
            said = listed(words, "or")
        case Several(words=pairs):
            said = f"any of these, with commas: {', '.join(w for w, _ in pairs)}"
        case Row(words=words):
            said = f"any of these, with commas: {', '.join(words)}"
        case Counts(words=words):
            said = f"like: {words[0]} 8, {words[-1]} 4; of {', '.join(words)}"
        case Amount(unit=unit):
            said = f"a number with its unit, like 10 {unit}".rstrip()
        case Grid(unit=unit):
            said = f"like: {f'from 0 {unit} to 60 {unit} by 1 {unit}'.replace('  ', ' ').rstrip()}"
        case Times():
            said = "like: 4 ms to 25 ms"
        case Texts():
            said = "names with commas between them"
        case Numbers():
            said = "numbers with commas between them"
        case Pairs(words=words):
            said = f"like: on is {words[-1]}, off is {words[0]}"
        case Text():
            said = ""
    if key.nothing is not None:
        said = f"{said}, or {key.nothing}" if said else ""
    if key.may_be_unsure:
        said += f"; ? if you don't know{f' ({key.careful})' if key.careful else ''}"
    return said
