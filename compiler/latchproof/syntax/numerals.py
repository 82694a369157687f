"""Numbers that cannot be read as they stand: what is wrong with them and what to write instead."""

import re
from dataclasses import dataclass
from fractions import Fraction

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span
from latchproof.syntax.spelling import closest

DIGITS_MOST = 20

UNITS = (
    *(
        "m",
        "ft",
        "s",
        "ms",
        "us",
        "min",
        "m/s",
        "ft/s",
        "km/h",
        "deg",
        "deg/s",
        "%",
        "%/s",
        "V",
        "V/s",
        "A",
        "W",
        "mAh",
    ),
    *("degC", "rpm", "Hz", "dB", "dBm", "cycle", "cycles"),
)
"""Every unit a number may carry, as the QUANTITY of the grammar lists them."""

_MEANT = {
    **dict.fromkeys(("meter", "meters", "metre", "metres", "mtr"), "m"),
    **dict.fromkeys(("foot", "feet"), "ft"),
    **dict.fromkeys(("sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("msec", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("µs", "μs", "usec", "microsecond", "microseconds"), "us"),
    **dict.fromkeys(("mins", "minute", "minutes"), "min"),
    **dict.fromkeys(("percent", "percents", "pct", "points"), "%"),
    **dict.fromkeys(("volt", "volts"), "V"),
    **dict.fromkeys(("amp", "amps", "ampere", "amperes"), "A"),
    **dict.fromkeys(("watt", "watts"), "W"),
    **dict.fromkeys(("mps", "ms-1", "metres/s", "meters/s"), "m/s"),
    **dict.fromkeys(("kmh", "kph", "kmph"), "km/h"),
    **dict.fromkeys(("fps",), "ft/s"),
    **dict.fromkeys(("degree", "degrees"), "deg"),
    **dict.fromkeys(("celsius",), "degC"),
    **dict.fromkeys(("hertz",), "Hz"),
    **dict.fromkeys(("pass", "passes"), "cycles"),
}
_LOWER = {u.lower(): u for u in UNITS if u not in ("mAh",)} | {"mah": "mAh"}

_SCIENTIFIC = re.compile(r"([0-9]+(?:\.[0-9]+)?)[eE]([-+−]?)([0-9]+)(?:[eE.][0-9]+)*")
_ATTACHED = re.compile(r"[\w%](?:[\w%]|/(?=[A-Za-z]))*")
_ANY_UNIT = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
_UNIT_AFTER = re.compile(rf"[^\S\r\n]*(?:{_ANY_UNIT})(?![\w/%])")
_COMMA = re.compile(r"([0-9]+(?:\.[0-9]+)*),([0-9]+)(?:[.,][0-9]+)*")
_DAY_FIRST = re.compile(r"([0-9]{1,2})([./])([0-9]{1,2})\2([0-9]{4})(?![0-9])")
_SHORT_DATE = re.compile(r"((?:19|20)[0-9]{2})-([0-9]{1,2})-([0-9]{1,2})(?![0-9])")
_POINTS = re.compile(r"[0-9]+(?:\.[0-9]*)+")


@dataclass(frozen=True, slots=True)
class NumberFault:
    """Where the faulty number ends, and which kind of token may stand for it so that reading can go on."""

    diagnostic: Diagnostic
    end: int
    stands_for: str


def number_fault(source: Source, start: int, end: int, date_expected: bool) -> NumberFault | None:
    """What is wrong with the number at `start`, which the grammar's tokens would end at `end`."""
    text = source.text
    after = text[end : end + 1]
    if date_expected and (dated := _date(source, start)):
        return dated
    if after and (after.isalnum() or after == "_"):
        found = _SCIENTIFIC.match(text, start)
        return _scientific(source, found) if found else _attached(source, start, end)
    if text[end - 1].isdigit() and after in (",", ".") and (found := _COMMA.match(text, start)):
        return _comma(source, found)
    if after == "." and text[end - 1].isdigit():
        return _points(source, start)
    length = sum(c.isdigit() for c in text[start:end])
    if length > DIGITS_MOST:
        return _fault(
            source,
            start,
            end,
            "number-too-long",
            f"this number has {length:,} digits",
            f"at most {DIGITS_MOST} digits are read",
            (),
        )
    return None


def unknown_unit(source: Source, start: int, end: int, number: str, word: str) -> Diagnostic:
    """`46 meters`: the word behind a number is no unit."""
    meant = unit_meant(word)
    hints: tuple[str, ...] = (f"did you mean `{number} {meant}`?",) if meant else ()
    if word.partition("/")[0] in UNITS:
        hints += ("to divide, put a space on both sides of `/`",)
    return Diagnostic(
        "unknown-unit",
        f"`{_short(word)}` is not a unit",
        (Label(Span(source.name, start, end), "what is this number in?"),),
        hints or ("units: " + ", ".join(u for u in UNITS if u != "cycles"),),
    )


def unit_meant(word: str) -> str | None:
    """The unit that somebody who wrote `word` had in mind."""
    if len(word) > 20:
        return None
    lower = word.lower()
    if lower in _MEANT or lower in _LOWER:
        return _MEANT.get(lower) or _LOWER[lower]
    close = closest(lower, (*_MEANT, *(u for u in _LOWER if len(u) > 2)))
    return (_MEANT.get(close[0]) or _LOWER[close[0]]) if close else None


def _date(source: Source, start: int) -> NumberFault | None:
    text = source.text
    if found := _DAY_FIRST.match(text, start):
        return _fault(
            source,
            start,
            found.end(),
            "date-form",
            "this date can be read in two ways",
            "write year-month-day, such as 2025-05-03",
            (),
            "DATE",
        )
    found = _SHORT_DATE.match(text, start)
    if found and len(found.group()) < 10 and 1 <= int(found[2]) <= 12 and 1 <= int(found[3]) <= 31:
        whole = f"{found[1]}-{int(found[2]):02}-{int(found[3]):02}"
        return _fault(
            source, start, found.end(), "date-form", "month and day need two digits", f"write {whole}", (), "DATE"
        )
    return None


def _scientific(source: Source, found: re.Match[str]) -> NumberFault:
    start, end = found.start(), found.end()
    digits, sign, power = found[1], found[2], found[3]
    plain = None
    if len(digits) <= DIGITS_MOST and len(power) <= 2 and int(power) <= 12:
        plain = plain_decimal(Fraction(digits) * Fraction(10) ** (int(power) if sign in ("", "+") else -int(power)))
    unit = _UNIT_AFTER.match(source.text, end)
    hint = f"write {plain}" if plain else f"write the number out, with at most {DIGITS_MOST} digits"
    return _fault(
        source,
        start,
        end,
        "scientific-notation",
        "numbers are written out here, without powers of ten",
        hint,
        (),
        "QUANTITY" if unit else "NUMBER",
        unit.end() if unit else end,
    )


def plain_decimal(value: Fraction) -> str:
    """A fraction whose divisor is a power of ten, written out."""
    places = 0
    while (value * 10**places).denominator != 1:
        places += 1
    whole = str(int(value * 10**places)).rjust(places + 1, "0")
    return whole if not places else f"{whole[:-places]}.{whole[-places:]}"


def _attached(source: Source, start: int, end: int) -> NumberFault:
    number = re.compile(r"[0-9]+(?:\.[0-9]+)?").match(source.text, start)
    assert number is not None
    word = _ATTACHED.match(source.text, number.end()) or _ATTACHED.match(source.text, end)
    stop = max(end, word.end() if word else end)
    written = source.text[number.end() : stop].strip()
    return NumberFault(unknown_unit(source, start, stop, _short(number.group()), written), stop, "QUANTITY")


def _comma(source: Source, found: re.Match[str]) -> NumberFault:
    unit = _UNIT_AFTER.match(source.text, found.end())
    grouped = found.end() > found.end(2) or "." in found[1]
    return _fault(
        source,
        found.start(),
        found.end(),
        "decimal-comma",
        "a decimal comma",
        "write it with one decimal point" if grouped else f"write {_short(found[1])}.{_short(found[2])}",
        ("two numbers of a list have a space behind the comma",),
        "QUANTITY" if unit else "NUMBER",
        unit.end() if unit else found.end(),
    )


def _points(source: Source, start: int) -> NumberFault:
    found = _POINTS.match(source.text, start)
    assert found is not None
    written = found.group()
    whole = written.rstrip(".")
    unit = _UNIT_AFTER.match(source.text, found.end())
    label = "one decimal point at most" if "." in whole else f"write {_short(whole)} or {_short(whole)}.0"
    return _fault(
        source,
        start,
        found.end(),
        "incomplete-number",
        "this is not a whole number and not a decimal",
        label,
        (),
        "QUANTITY" if unit else "NUMBER",
        unit.end() if unit else found.end(),
    )


def _fault(
    source: Source,
    start: int,
    end: int,
    code: str,
    title: str,
    label: str,
    hints: tuple[str, ...],
    stands_for: str = "NUMBER",
    resume: int | None = None,
) -> NumberFault:
    diagnostic = Diagnostic(code, title, (Label(Span(source.name, start, end), label),), hints)
    return NumberFault(diagnostic, end if resume is None else resume, stands_for)


def _short(text: str) -> str:
    return text if len(text) <= 24 else text[:21] + "..."
