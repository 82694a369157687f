"""Numbers, units and times as a person copies them: `0.5`, never `.5` or `5.0`; a second unit; a time in words."""

from fractions import Fraction

from latchproof.rules.units import UNITS, Unit

_OTHER = {
    "m": ("ft",), "ft": ("m",), "m/s": ("ft/s", "km/h"), "ft/s": ("m/s",), "km/h": ("m/s",), "min": ("s",),
    "mAh": (), "rpm": (),
}  # fmt: skip

_ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
_TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_PLACES = 6


def digits(x: Fraction) -> str:
    """Exact where six decimals can say it, else rounded and called `about`."""
    text = _rounded(x, _PLACES)
    return text if Fraction(text) == x else f"about {_rounded(x, 3 if abs(x) >= Fraction(1, 10) else 5)}"


def quantity(value: Fraction, unit: Unit) -> str:
    """`42 m` from base units; percent and plain numbers likewise."""
    return f"{digits(value / unit.factor)} {unit.symbol}".rstrip()


def plainest(value: Fraction, *units: Unit) -> Unit:
    """The first of these units, or else the base unit, in which the number can be said exactly; if none, the first."""
    base = (u for u in UNITS.values() if u.dimension == units[0].dimension and u.factor == 1)
    for unit in (*units, *base):
        if Fraction(_rounded(value / unit.factor, _PLACES)) == value / unit.factor:
            return unit
    return units[0]


def other_unit(value: Fraction, unit: Unit) -> str:
    """The same in the other usual units, rounded: feet for metres and so on; empty if there is none."""
    if unit.symbol == "degC":
        return f"{_coarse(value * 9 / 5 + 32)} degrees Fahrenheit"
    return ", ".join(f"{_coarse(value / UNITS[s].factor)} {s}" for s in _OTHER.get(unit.symbol, ()))


def pulse_width(percent: Fraction, low: Fraction) -> str:
    """The usual map to servo pulses: 1500 us in the middle of -100..100 %, 1000 us at 0 % of 0..100 %."""
    return f"{digits(microseconds(percent, low))} us"


def microseconds(percent: Fraction, low: Fraction) -> Fraction:
    return 1500 + 5 * percent if low < 0 else 1000 + 10 * percent


def pulse_step(percent: Fraction, low: Fraction) -> str:
    """A difference of so many points, as a difference of pulse width."""
    return f"{digits(percent * (5 if low < 0 else 10))} us"


def seconds(value: Fraction) -> tuple[str, str, str]:
    """`0.5 s`, in another unit (`500 ms`), and in words (`half a second`)."""
    return quantity(value, UNITS["s"]), _other_time(value), time_in_words(value)


def time_in_words(value: Fraction) -> str:
    if value.denominator > 1 and value < 1:
        halves = {Fraction(1, 2): "half a second", Fraction(1, 4): "a quarter of a second"}
        if value in halves:
            return halves[value]
        if (value * 10).denominator == 1:
            return f"{_integer(int(value * 10))} {_plural(int(value * 10), 'tenth')} of a second"
        return ""  # "0.45 s" is plainer than any words for it
    whole, rest = divmod(value, 1)
    if whole >= 60 and not rest:
        minutes, left = divmod(int(whole), 60)
        tail = f" {_integer(left)} {_plural(left, 'second')}" if left else ""
        return f"{_integer(minutes)} {_plural(minutes, 'minute')}{tail}"
    if not rest:
        return f"{_integer(int(whole))} {_plural(int(whole), 'second')}"
    if rest == Fraction(1, 2):
        return f"{_integer(int(whole))} and a half seconds"
    text = _rounded(value, _PLACES)
    if Fraction(text) != value:
        return ""
    after = " ".join(_ONES[int(d)] for d in text.partition(".")[2])
    return f"{_integer(int(whole))} point {after} seconds"


def passes(count: Fraction) -> tuple[str, str]:
    """A number of passes, and in words."""
    word = _plural(int(count), "pass", "passes")
    return f"{digits(count)} {word}", f"{_integer(int(count))} {word} of the transmitter over its entries"


def per_second(value: Fraction, start: Fraction, end: Fraction, unit: Unit) -> str:
    """A rate in words: how long a travel takes."""
    whole = abs(end - start) / value
    return f"from {quantity(start, unit)} to {quantity(end, unit)} in {quantity(whole, UNITS['s'])}"


def _other_time(value: Fraction) -> str:
    if value < 1:
        return f"{digits(value * 1000)} ms"
    if value >= 60:
        minutes, left = divmod(value, 60)
        return f"{digits(Fraction(minutes))} min {digits(left)} s"
    return ""


def _coarse(x: Fraction) -> str:
    return _rounded(x, 0 if abs(x) >= 30 else 1)


def _rounded(x: Fraction, places: int) -> str:
    scaled = round(abs(x) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    tail = f"{rest:0{places}d}".rstrip("0") if places else ""
    text = f"{whole}.{tail}" if tail else f"{whole}"
    return f"-{text}" if x < 0 and scaled else text


def _integer(n: int) -> str:
    if n < 20:
        return _ONES[n]
    if n < 100:
        tens, one = divmod(n, 10)
        return _TENS[tens] + (f"-{_ONES[one]}" if one else "")
    if n < 1000:
        hundreds, left = divmod(n, 100)
        return f"{_ONES[hundreds]} hundred" + (f" and {_integer(left)}" if left else "")
    if n < 1_000_000:
        thousands, left = divmod(n, 1000)
        return f"{_integer(thousands)} thousand" + (f" {_integer(left)}" if left else "")
    return str(n)


def _plural(n: int, one: str, many: str = "") -> str:
    return one if n == 1 else many or f"{one}s"
