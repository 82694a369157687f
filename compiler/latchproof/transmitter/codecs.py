"""The kinds of answer that there are, each with its way from text to value and back.

The same text stands in a file and is typed when the questions are asked: `from 0 s to 60 s by 0.1 s`, `4 ms to 25 ms`.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from latchproof.rules.suggest import listed, similar
from latchproof.rules.units import TIME, UNITS
from latchproof.rules.words import unit_word
from latchproof.transmitter.model import Steps

LONGEST_TEXT = 60
MOST_ITEMS = 64
LARGEST = Fraction(10**9)


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with an answer; `mend` is what to write instead. `code` is that of the diagnostic."""

    code: str
    title: str
    mend: tuple[str, ...] = ()


# ---------- the kinds


@dataclass(frozen=True, slots=True)
class Flag:
    """Yes or no; in a file `true` or `false`."""


@dataclass(frozen=True, slots=True)
class Whole:
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit. Times may be said in any unit of time and are kept in seconds."""

    unit: str
    low: Fraction
    high: Fraction = LARGEST


@dataclass(frozen=True, slots=True)
class Pick:
    """One of some words, each standing for a value."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Several:
    """Any number of some words; `(word, value)` where they differ."""

    words: tuple[tuple[str, str], ...]
    least: int = 0


@dataclass(frozen=True, slots=True)
class Row:
    """Some words, each once, whose order matters."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """`Steps`, in a unit."""

    unit: str


@dataclass(frozen=True, slots=True)
class Times:
    """The shortest and the longest of something."""


@dataclass(frozen=True, slots=True)
class Text:
    empty: bool = False


@dataclass(frozen=True, slots=True)
class Texts:
    """Any number of texts."""


@dataclass(frozen=True, slots=True)
class Numbers:
    """Whole numbers from 1, in rising order."""


@dataclass(frozen=True, slots=True)
class Counts:
    """`comparison 8`: how many of each."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Pairs:
    """`off is away`: what a word of the rules is, out of some words."""

    words: tuple[str, ...]


Codec = Flag | Whole | Amount | Pick | Several | Row | Grid | Times | Text | Texts | Numbers | Counts | Pairs

LISTS = (Several, Row, Texts, Numbers, Counts, Pairs)


# ---------- from what stands in a file to a value


def value_of(codec: Codec, raw: object) -> Any:
    """The value, or `Trouble`."""
    if isinstance(codec, LISTS):
        return _list_of(codec, raw)
    match codec, raw:
        case Flag(), bool(answer):
            return answer
        case Flag(), _:
            return _kind("yes or no", "true or false")
        case Whole(low=low, high=high), int(number) if not isinstance(raw, bool):
            return number if low <= number <= high else _outside(str(number), str(low), str(high))
        case Whole(low=low, high=high), _:
            return _kind("a whole number", f"a number from {low} to {high}, without quotation marks")
        case Text(empty=empty), str(text):
            return text if empty and not text else _text(text)
        case Text(), _:
            return _kind("a text", 'it in quotation marks, such as "front left"')
        case Pick(words=words), str(text):
            return text if text in words else _no_such(text, words)
        case Pick(words=words), _:
            return _kind("one of some words", " or ".join(f'"{w}"' for w in words))
        case Amount(unit=unit, low=low, high=high), str(text):
            found = quantity(text, unit)
            if isinstance(found, Trouble) or low <= found <= high:
                return found
            return _outside(text, written(low, unit), written(high, unit))
        case Amount(unit=unit), _:
            return _kind("a number with its unit", f'it in quotation marks, such as "{_example(unit)}"')
        case Grid(unit=unit), str(text):
            return steps(text, unit)
        case Grid(unit=unit), _:
            return _kind("a range with a step", f'"from 0 {unit} to 100 {unit} by 1 {unit}"')
        case Times(), str(text):
            return times(text)
        case Times(), _:
            return _kind("a shortest and a longest time", '"4 ms to 25 ms"')
        case _:
            raise AssertionError(codec)


def _list_of(codec: Codec, raw: object) -> Any:
    if not isinstance(raw, list):
        return _kind("a list", '[] for none, else ["one", "another"]')
    if len(raw) > MOST_ITEMS:
        return Trouble("description-value", f"more than {MOST_ITEMS} of them")
    match codec:
        case Numbers():
            if not all(isinstance(x, int) and not isinstance(x, bool) and 1 <= x <= MOST_ITEMS for x in raw):
                return _kind("a list of channel numbers", "it like [1, 4]")
            return tuple(sorted(set(raw)))
        case Texts():
            return _each(raw, _text, tuple)
        case Several(words=words, least=least):
            values = dict(words)
            found = _each(raw, lambda w: values[w] if w in values else _no_such(w, values), frozenset)
            if isinstance(found, frozenset) and len(found) < least:
                return Trouble("description-value", "none at all", (f"name at least {least}: {listed(values, 'or')}",))
            return found
        case Row(words=places):
            return _each(raw, lambda w: w if w in places else _no_such(w, places), _different)
        case Counts(words=kinds):
            return _each(raw, lambda item: _count(item, kinds), _once)
        case Pairs(words=ways):
            return _each(raw, lambda item: _pair(item, ways), _no_pair_twice)
        case _:
            raise AssertionError(codec)


def _each(raw: Iterable[object], one: Callable[[str], Any], gather: Callable[[list[Any]], Any]) -> Any:
    found = []
    for item in raw:
        if not isinstance(item, str):
            return _kind("a list of texts", 'each in quotation marks: ["one", "another"]')
        value = one(item)
        if isinstance(value, Trouble):
            return value
        found.append(value)
    return gather(found)


def _once(pairs: list[tuple[str, Any]]) -> Any:
    names = [name for name, _ in pairs]
    for name in names:
        if names.count(name) > 1:
            return Trouble("description-twice", f"{name} is named twice", ("leave one of them out",))
    return tuple(pairs)


def _no_pair_twice(pairs: list[tuple[str, str]]) -> Any:
    """A position may be at two places, but each is said once."""
    for name, word in pairs:
        if pairs.count((name, word)) > 1:
            return Trouble("description-twice", f"{name} is {word} is said twice", ("leave one of them out",))
    return tuple(pairs)


def _different(words: list[str]) -> Any:
    paired = _once([(w, None) for w in words])
    return paired if isinstance(paired, Trouble) else tuple(words)


def _count(item: str, words: tuple[str, ...]) -> Any:
    word, _, number = item.strip().rpartition(" ")
    if not re.fullmatch(r"[0-9]{1,3}", number) or not 1 <= int(number) <= 999:
        return Trouble("description-value", f"`{item[:40]}` does not end with a number", (f'write "{words[0]} 8"',))
    return (word, int(number)) if word in words else _no_such(word, words)


def _pair(item: str, words: tuple[str, ...]) -> Any:
    name, middle, word = item.strip().rpartition(" is ")
    if not middle or not name:
        return Trouble("description-value", f"`{item[:40]}` has no `is` in it", (f'write "on is {words[0]}"',))
    said = _text(name)
    if isinstance(said, Trouble):
        return said
    return (name, word) if word in words else _no_such(word, words)


def _text(text: str) -> str | Trouble:
    if not text.strip() or text != text.strip():
        return Trouble("description-value", "a name that is empty, or begins or ends with a space", ("write a name",))
    if len(text) > LONGEST_TEXT:
        return Trouble("description-value", f"longer than {LONGEST_TEXT} letters", ("a short name is enough",))
    if not text.isprintable():
        return Trouble("description-value", "a letter that cannot be seen", ("write it anew",))
    return text


# ---------- numbers

_NUMBER = r"[+-]?[0-9]{1,15}(?:\.[0-9]{1,9}|/[0-9]{1,15})?"
_COMMA = re.compile(r"([0-9]{1,15}),([0-9]{1,15})", re.ASCII)
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*([^\s0-9]\S*)?\s*", re.ASCII)
_STEPS = re.compile(r"\s*from\s+(.+?)\s+to\s+(.+?)\s+by\s+(.+?)\s*", re.ASCII)
_WIDER = re.compile(r"\s*from\s+(.+?)\s+by\s+(.+?)\s*", re.ASCII)


def quantity(text: str, unit: str) -> Fraction | Trouble:
    """A number with its unit, in that unit; of time, in seconds."""
    match = _QUANTITY.fullmatch(text[:60])
    if match is None or len(text) > 60:
        if comma := _COMMA.search(text[:60]):
            return _with_comma(comma)
        return Trouble("description-number", f"`{text[:40]}` is no number", (f"write it like {_example(unit)}",))
    digits, symbol = match.groups()
    symbol = symbol or ""
    top, _, bottom = digits.partition("/")
    if bottom and not int(bottom):
        return Trouble("description-number", "a division by zero", (f"write it like {_example(unit)}",))
    number = Fraction(top) / int(bottom or 1)
    if symbol == unit:
        return number
    mine, theirs = UNITS.get(unit), UNITS.get(symbol)
    assert mine is not None
    if theirs is None:
        near = similar(symbol, UNITS)
        return Trouble(
            "description-unit",
            f"there is no unit `{symbol[:20]}`",
            (f"did you mean `{near}`?",) if near else (f"write {digits} {unit}",),
        )
    if mine.dimension == theirs.dimension == TIME:
        return number * theirs.factor / mine.factor
    if not symbol:
        return Trouble("description-unit", f"{digits} of what?", (f"write {digits} {unit}, if that is meant",))
    return Trouble(
        "description-unit",
        f"this is in {unit_word(theirs)}",
        (f"write it in {unit_word(mine)}, as {unit or 'it'} is shown",),
    )


def _with_comma(number: re.Match[str]) -> Trouble:
    whole, rest = number.groups()
    mend = f"write {whole}.{rest}, with a point" + (f", or {whole}{rest}, without" if len(rest) == 3 else "")
    return Trouble("description-number", "a comma in a number", (mend,))


def _example(unit: str) -> str:
    return f"10 {unit}".rstrip()


def steps(text: str, unit: str) -> Steps | Trouble:
    """`from 0 s to 60 s by 0.1 s`, perhaps with `, from 10 s by 1 s` where the steps become larger."""
    if comma := _COMMA.search(text[:400]):
        return _with_comma(comma)
    first, *more = text[:400].split(",")
    match = _STEPS.fullmatch(first)
    mend = f"write it like: from 0 {unit} to 100 {unit} by 1 {unit}".replace("  ", " ").rstrip()
    if match is None or len(text) > 400:
        return Trouble("description-value", "this is no range with a step", (mend,))
    numbers = [quantity(x, unit) for x in match.groups()]
    for found in more:
        wide = _WIDER.fullmatch(found)
        if wide is None:
            return Trouble(
                "description-value", f"`{found.strip()[:40]}` says nothing", (f"write: from 10 {unit} by 2 {unit}",)
            )
        numbers += [quantity(x, unit) for x in wide.groups()]
    known = [x for x in numbers if isinstance(x, Fraction)]
    for number in numbers:
        if isinstance(number, Trouble):
            return number
    low, high, step, *rest = known
    wider = tuple(zip(rest[::2], rest[1::2], strict=True))
    return _checked(Steps(low, high, step, wider), unit)


def _checked(s: Steps, unit: str) -> Steps | Trouble:
    if s.low >= s.high:
        return Trouble(
            "description-value",
            "the smaller number comes first",
            (f"{written(s.low, unit)} is not below {written(s.high, unit)}",),
        )
    if s.step <= 0 or any(step <= 0 for _, step in s.wider):
        return Trouble("description-value", "a step must be above 0", ("write how far one click goes",))
    if max(abs(s.low), abs(s.high)) > LARGEST:
        return Trouble("description-value", "a range beyond all reason", ("write the numbers that the screen shows",))
    at, step = s.low, s.step
    for start, wide in s.wider:
        if not at < start < s.high or wide <= step:
            return Trouble(
                "description-value",
                "steps become larger on the way up, inside of the range",
                ("write them in rising order, each `from` larger than the one before",),
            )
        at, step = start, wide
    return s


def times(text: str) -> tuple[Fraction, Fraction] | Trouble:
    """`4 ms to 25 ms`, in seconds; one time alone is both."""
    first, _, second = text.partition(" to ")
    low, high = quantity(first, "s"), quantity(second or first, "s")
    if isinstance(low, Trouble):
        return low
    if isinstance(high, Trouble):
        return high
    if not 0 < low <= high <= 60:
        mend = "write the shorter one first, such as 4 ms to 25 ms"
        return Trouble("description-value", "no two times above 0 and at most a minute, in order", (mend,))
    return low, high


# ---------- from a value to what stands in a file


def raw_of(codec: Codec, value: Any) -> object:
    """What `value_of` makes this value of."""
    match codec:
        case Amount(unit=unit):
            return written(value, unit)
        case Grid(unit=unit):
            return grid(value, unit)
        case Times():
            low, high = value
            return f"{time(low)} to {time(high)}"
        case Several(words=words):
            return [word for word, meant in words if meant in value]
        case Numbers() | Texts() | Row():
            return list(value)
        case Counts():
            return [f"{word} {number}" for word, number in value]
        case Pairs():
            return [f"{name} is {word}" for name, word in value]
        case _:
            return value


def grid(s: Steps, unit: str) -> str:
    wider = "".join(f", from {written(at, unit)} by {written(step, unit)}" for at, step in s.wider)
    return f"from {written(s.low, unit)} to {written(s.high, unit)} by {written(s.step, unit)}{wider}"


def written(x: Fraction, unit: str) -> str:
    return f"{decimal(x)} {unit}".rstrip()


def time(x: Fraction) -> str:
    """In milliseconds where that reads better."""
    return written(x * 1000, "ms") if 0 < x <= Fraction(1, 10) else written(x, "s")


def decimal(x: Fraction) -> str:
    """Exactly: as a decimal if it ends within nine places, else as a fraction."""
    places = next((n for n in range(10) if (x * 10**n).denominator == 1), None)
    if places is None:
        return f"{x.numerator}/{x.denominator}"
    digits = f"{abs(x.numerator * 10**places // x.denominator):0{places + 1}d}"
    whole, rest = (digits[:-places], digits[-places:]) if places else (digits, "")
    return ("-" if x < 0 else "") + whole + (f".{rest}" if rest else "")


# ---------- trouble that several kinds can have


def _kind(what: str, mend: str) -> Trouble:
    return Trouble("description-kind", f"{what} should stand here", (f"write {mend}",))


def _outside(number: str, low: str, high: str) -> Trouble:
    return Trouble("description-value", f"{number} is beyond reason", (f"write a number from {low} to {high}",))


def _no_such(word: str, words: Iterable[str]) -> Trouble:
    known = list(words)
    near = similar(word, known)
    hints = (f"did you mean `{near}`?",) if near else ()
    return Trouble(
        "description-value", f"`{word[:40]}` is none of the answers", (*hints, f"write {listed(known, 'or')}")
    )
