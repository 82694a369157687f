"""Numbers and states as they are printed in the fields of a listing: read without knowing the rules, and written."""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import assert_never

from latchproof.readback import model as m
from latchproof.readback.model import Problem
from latchproof.rules.units import UNITS

LONGEST = 2000
"""Characters of a field: more than any field needs."""
DEEPEST = 40
MOST_DIGITS = 30
MOST_PASSES = 100

_UNIT = "|".join(sorted((re.escape(u) for u in UNITS if u), key=len, reverse=True))
_EARLIER = r"(?:, (?P<earlier>one pass|\d{1,4} passes) earlier)?"
_CALLED = r"(?: \((?P<called>[^()]*)\))?"
_NUMERAL = r"-?\d{1,30}(?:\.\d{1,30})?"
_QUANTITY = re.compile(rf"(?P<about>about )?(?P<amount>{_NUMERAL})(?: (?P<unit>{_UNIT})(?![\w/%]))?")
_ENTRY = re.compile(rf"entry (?P<entry>\d{{1,6}}){_CALLED}{_EARLIER}")
_SENSOR = re.compile(rf"sensor (?P<name>[^()]+?) \(settings in entry (?P<entry>\d{{1,6}})\){_EARLIER}")
_AGE = re.compile(
    rf"seconds since sensor (?P<name>[^()]+?) was last heard \(settings in entry (?P<entry>\d{{1,6}})\){_EARLIER}"
)
_OWN = re.compile(rf"what the pilot alone gives channel (?P<name>[^()]+?) \(entry (?P<entry>\d{{1,6}})\){_EARLIER}")
_STICK = re.compile(
    rf"(?P<name>[^\W\d][^()+,:]*?(?: \((?:stick|knob)\))?){_EARLIER}"
    r"(?= \+ | - | times | divided by | and | without its sign|\)|$)"
)
_STATE_ENTRY = re.compile(rf"entry (?P<entry>\d{{1,6}}){_CALLED} (?P<state>true|false){_EARLIER}")
_SPEAKS = re.compile(rf"entry (?P<entry>\d{{1,6}}) (?P<state>starts or is|neither starts nor is) repeated{_EARLIER}")
_START = re.compile(
    r"the transmitter's own start signal \((?P<name>[^()]+)\) (?P<state>true|false)" + _EARLIER + "(?P<no>: not so)?"
)
_HELD = re.compile(rf"(?P<name>.+?) (?P<state>held down|not held down){_EARLIER}(?P<no>: not so)?")
_AT = re.compile(rf"(?P<name>.+?)(?P<not> NOT)? at (?P<position>[^,:()]+?){_EARLIER}(?P<no>: not so)?")
_NOTE = re.compile(r"^(?P<core>.*) \((?P<note>[^()]*)\)$")
_ROW = re.compile(r"at (?P<position>[^,:()]+) (?=\(|-?\d|about )")

STATES = (
    "`entry 7 true`, `entry 7 false`, `guard switch at on`, `guard switch NOT at on`, `clear button held down`, "
    "`always` or `never`; a past one ends in `, one pass earlier`"
)
NUMBERS = "a number with its unit, a stick or knob, `entry 7`, or `sensor height (settings in entry 9)`"
CALCULATIONS = "numbers with ` + `, ` - `, ` times `, ` divided by `, brackets, `the smaller of: ... and ...`"


class UnreadableError(Exception):
    """Raised and caught within this room only."""

    def __init__(self, message: str, may: str, at: int) -> None:
        super().__init__(message)
        self.problem = Problem(message, may, at)


def passes(text: str | None) -> int:
    count = 0 if text is None else 1 if text == "one pass" else int(text.split()[0])
    if count > MOST_PASSES:
        raise UnreadableError(f"more than {MOST_PASSES} passes earlier", f"at most {MOST_PASSES} passes", 0)
    return count


def earlier(count: int) -> str:
    return "" if not count else ", one pass earlier" if count == 1 else f", {count} passes earlier"


# ---------- states


def state(text: str) -> m.State:
    found = _state(text)
    if found is None and (noted := _NOTE.match(text)) is not None:
        inner = _state(noted["core"])
        found = None if inner is None else replace(inner, note=noted["note"])
    if found is None:
        raise UnreadableError(f"this is no state: {text[:80]}", STATES, 0)
    return found


def _state(text: str) -> m.State | None:
    if text in ("always", "never"):
        return m.Always() if text == "always" else m.Never()
    if (x := _STATE_ENTRY.fullmatch(text)) is not None:
        return m.EntryState(int(x["entry"]), x["state"] == "true", passes(x["earlier"]), x["called"] or "")
    if (x := _SPEAKS.fullmatch(text)) is not None:
        return m.Speaks(int(x["entry"]), x["state"] == "starts or is", passes(x["earlier"]))
    if (x := _START.fullmatch(text)) is not None:
        ago = passes(x["earlier"])
        return m.StartSignal(x["name"], _so(x["state"] == "true", ago, x["no"]), ago)
    if (x := _HELD.fullmatch(text)) is not None:
        ago = passes(x["earlier"])
        return m.ButtonHeld(x["name"], _so(x["state"] == "held down", ago, x["no"]), ago)
    if (x := _AT.fullmatch(text)) is not None:
        ago = passes(x["earlier"])
        return m.SwitchAt(x["name"], x["position"], _so(x["not"] is None, ago, x["no"]), ago)
    return None


def _so(positive: bool, ago: int, opposite: str | None) -> bool:
    """The opposite of what was is said behind it; the opposite of what is, within."""
    if bool(ago) != bool(opposite) and (opposite or not positive):
        raise UnreadableError("the opposite of an earlier state ends in `: not so`", STATES, 0)
    return positive and opposite is None


def state_text(x: m.State) -> str:
    match x:
        case m.EntryState(entry=entry, state=yes, earlier=ago, called=called):
            text = f"entry {entry}{f' ({called})' if called else ''} {'true' if yes else 'false'}{earlier(ago)}"
        case m.Speaks(entry=entry, state=yes, earlier=ago):
            text = f"entry {entry} {'starts or is' if yes else 'neither starts nor is'} repeated{earlier(ago)}"
        case m.SwitchAt(switch=switch, position=position, state=yes, earlier=ago):
            text = f"{switch}{'' if yes or ago else ' NOT'} at {position}{_past(yes, ago)}"
        case m.ButtonHeld(button=button, state=yes, earlier=ago):
            text = f"{button} {'' if yes or ago else 'not '}held down{_past(yes, ago)}"
        case m.StartSignal(name=name, state=yes, earlier=ago):
            text = f"the transmitter's own start signal ({name}) {'true' if yes or ago else 'false'}{_past(yes, ago)}"
        case m.Always() | m.Never():
            text = "always" if isinstance(x, m.Always) else "never"
        case _:
            assert_never(x)
    return f"{text} ({x.note})" if x.note else text


def _past(yes: bool, ago: int) -> str:
    return earlier(ago) + (": not so" if ago and not yes else "")


# ---------- numbers


def quantity(text: str) -> m.Quantity:
    x = _QUANTITY.fullmatch(text)
    if x is None:
        raise UnreadableError(f"this is no number with a unit: {text[:80]}", "a number and its unit, as in `0.5 m`", 0)
    return _quantity(x)


def _quantity(x: re.Match[str]) -> m.Quantity:
    return m.Quantity(Fraction(x["amount"]), x["unit"] or "", x["about"] is not None)


def quantity_text(x: m.Quantity) -> str:
    return f"{'about ' if x.about else ''}{digits(x.amount)} {x.unit}".rstrip()


def digits(x: Fraction) -> str:
    """Exact; what no decimal can say is cut behind many digits, which no field ever holds."""
    sign, size = ("-", -x) if x < 0 else ("", x)
    places = 0
    while (size * 10**places).denominator > 1 and places < MOST_DIGITS:
        places += 1
    whole, rest = divmod(int(size * 10**places), 10**places)
    return f"{sign}{whole}" + (f".{rest:0{places}d}" if places else "")


def calculation(text: str) -> m.Number:
    reader = _Formula(text)
    found = reader.sum(0)
    if reader.at < len(text):
        raise UnreadableError(f"what is this for? {text[reader.at : reader.at + 40]}", CALCULATIONS, reader.at)
    return found


def whole_atom(text: str) -> m.Atom:
    reader = _Formula(text)
    found = reader.atom()
    if reader.at < len(text):
        raise UnreadableError(f"what is this for? {text[reader.at : reader.at + 40]}", NUMBERS, reader.at)
    return found


@dataclass
class _Formula:
    text: str
    at: int = 0

    def takes(self, word: str) -> bool:
        if self.text.startswith(word, self.at):
            self.at += len(word)
            return True
        return False

    def wrong(self, may: str = CALCULATIONS) -> UnreadableError:
        rest = self.text[self.at : self.at + 40]
        return UnreadableError(
            f"this cannot be read: {rest}" if rest else "something is missing at the end", may, self.at
        )

    def sum(self, depth: int) -> m.Number:
        if depth > DEEPEST:
            raise UnreadableError("brackets within brackets, too deep", CALCULATIONS, self.at)
        left = self.product(depth)
        while True:
            if self.takes(" + "):
                left = m.Sum(left, self.product(depth))
            elif self.takes(" - "):
                left = m.Difference(left, self.product(depth))
            else:
                return left

    def product(self, depth: int) -> m.Number:
        left = self.factor(depth)
        while True:
            if self.takes(" times "):
                left = m.Times(left, self.factor(depth))
            elif self.takes(" divided by "):
                left = m.DividedBy(left, self.factor(depth))
            else:
                return left

    def factor(self, depth: int) -> m.Number:
        found: m.Number
        if self.takes("("):
            found = self.sum(depth + 1)
            if not self.takes(")"):
                raise self.wrong("a closing bracket")
        elif self.takes("the smaller of: "):
            found = m.SmallerOf(self.several(depth))
        elif self.takes("the larger of: "):
            found = m.LargerOf(self.several(depth))
        elif (start := re.compile(r"by the (?P<switch>[^:,]+?): ").match(self.text, self.at)) is not None:
            self.at = start.end()
            found = m.ByPosition(start["switch"], self.rows(depth))
        else:
            found = self.atom()
        while self.takes(" without its sign"):
            found = m.Unsigned(found)
        return found

    def several(self, depth: int) -> tuple[m.Number, ...]:
        found = [self.sum(depth + 1)]
        while self.takes(" and "):
            found.append(self.sum(depth + 1))
        return tuple(found)

    def rows(self, depth: int) -> tuple[tuple[str, m.Number], ...]:
        found: list[tuple[str, m.Number]] = []
        while not found or self.takes(", "):
            # The position is what stands before the last number of the row, as its name may end in a numeral.
            end = min((i for i in (self.text.find(s, self.at) for s in (", at ", " (", ")")) if i >= 0), default=None)
            row = _ROW.match(self.text, self.at, len(self.text) if end is None else end + 2)
            if row is None:
                raise self.wrong("`at on 70 %` for each place of the switch")
            self.at = row.end()
            found.append((row["position"], self.factor(depth + 1)))
        return tuple(found)

    def atom(self) -> m.Atom:
        kinds: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], m.Atom]], ...] = (
            (_ENTRY, lambda x: m.EntryValue(int(x["entry"]), passes(x["earlier"]), x["called"] or "")),
            (_SENSOR, lambda x: m.SensorValue(x["name"], int(x["entry"]), passes(x["earlier"]))),
            (_AGE, lambda x: m.SensorAge(x["name"], int(x["entry"]), passes(x["earlier"]))),
            (_OWN, lambda x: m.PilotsOwn(x["name"], int(x["entry"]), passes(x["earlier"]))),
            (_QUANTITY, _quantity),
            (_STICK, lambda x: m.Stick(x["name"], passes(x["earlier"]))),
        )
        for pattern, make in kinds:
            found = pattern.match(self.text, self.at)
            if found is not None:
                self.at = found.end()
                return make(found)
        raise self.wrong(NUMBERS)


def number_text(x: m.Number) -> str:
    match x:
        case m.Quantity():
            return quantity_text(x)
        case m.EntryValue(entry=entry, earlier=ago, called=called):
            return f"entry {entry}{f' ({called})' if called else ''}{earlier(ago)}"
        case m.SensorValue(sensor=name, settings=entry, earlier=ago):
            return f"sensor {name} (settings in entry {entry}){earlier(ago)}"
        case m.SensorAge(sensor=name, settings=entry, earlier=ago):
            return f"seconds since sensor {name} was last heard (settings in entry {entry}){earlier(ago)}"
        case m.Stick(name=name, earlier=ago):
            return f"{name}{earlier(ago)}"
        case m.PilotsOwn(channel=name, entry=entry, earlier=ago):
            return f"what the pilot alone gives channel {name} (entry {entry}){earlier(ago)}"
        case m.Sum(left=left, right=right):
            return f"{_plain(left)} + {_inside(right, sums=True)}"
        case m.Difference(left=left, right=right):
            return f"{_plain(left)} - {_inside(right, sums=True)}"
        case m.Times(left=left, right=right):
            return f"{_inside(left)} times {_inside(right)}"
        case m.DividedBy(left=left, right=right):
            return f"{_inside(left)} divided by {_inside(right)}"
        case m.Unsigned(inner=inner):
            return f"{_inside(inner)} without its sign"
        case m.SmallerOf(several=several) | m.LargerOf(several=several):
            which = "smaller" if isinstance(x, m.SmallerOf) else "larger"
            return f"the {which} of: {' and '.join(_plain(y) for y in several)}"
        case m.ByPosition(switch=switch, rows=rows):
            return f"by the {switch}: {', '.join(f'at {p} {_row(v)}' for p, v in rows)}"
        case _:
            assert_never(x)


def _plain(x: m.Number) -> str:
    """Beside a plus or minus, or as one of several, only what goes on to the end needs brackets."""
    return f"({number_text(x)})" if isinstance(x, m.SmallerOf | m.LargerOf | m.ByPosition) else number_text(x)


def _row(x: m.Number) -> str:
    return number_text(x) if isinstance(x, m.Quantity) else f"({number_text(x)})"


def _inside(x: m.Number, *, sums: bool = False) -> str:
    product = isinstance(x, m.Times | m.DividedBy)
    several = isinstance(x, m.Sum | m.Difference | m.SmallerOf | m.LargerOf | m.ByPosition)
    return f"({number_text(x)})" if several or (product and not sums) else number_text(x)
