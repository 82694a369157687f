"""How messages call things: kinds of names, units, numbers."""

from fractions import Fraction
from typing import Literal

from latchproof.rules.units import PLAIN, UNITS, Dimension, Unit

Kind = Literal[
    "fact", "tune", "value", "sample", "signal", "switch", "button", "stick", "knob", "sensor", "channel", "latch",
    "counter", "rule", "sequence", "phase", "announcement", "role", "use",
]  # fmt: skip

KIND: dict[Kind, str] = {
    "fact": "a fact", "tune": "a tune", "value": "a value", "sample": "a sample", "signal": "a signal",
    "switch": "a switch", "button": "a button", "stick": "a stick", "knob": "a knob", "sensor": "a sensor",
    "channel": "a channel", "latch": "a latch", "counter": "a counter", "rule": "a rule", "sequence": "a sequence",
    "phase": "a phase of a sequence", "announcement": "an announcement", "role": "a role", "use": "a part in use",
}  # fmt: skip

ROLES = ("arm", "kill", "landing", "launch", "instructor")
MEANS = ("voice", "tone", "vibration")
ANNOUNCED = "announced"
SENSOR_STATES = ("stale", "fresh", "heard")
CHANNEL_STATES = ("free", "driven", "moved", "limited")
BUTTON_STATES = ("pressed", "released")
FUNCTIONS = ("rate", "age", "previous", "truth", "pilot_value", "size", "smaller", "larger", "exactly_one")
OPPOSITE = {
    "up": "down", "down": "up", "left": "right", "right": "left", "in": "out", "out": "in", "more": "less",
    "less": "more",
}  # fmt: skip

_UNIT_WORDS = {
    "": "a plain number", "m": "metres", "ft": "feet", "s": "seconds", "ms": "milliseconds", "us": "microseconds",
    "min": "minutes", "m/s": "metres per second", "ft/s": "feet per second", "km/h": "kilometres per hour",
    "deg": "degrees", "deg/s": "degrees per second", "%": "percent", "%/s": "percent per second", "V": "volts",
    "V/s": "volts per second", "A": "amperes", "W": "watts", "mAh": "milliampere hours", "degC": "degrees Celsius",
    "rpm": "turns per minute", "Hz": "hertz", "dB": "decibels", "dBm": "dBm", "cycle": "cycles", "cycles": "cycles",
}  # fmt: skip


def unit_word(unit: Unit) -> str:
    """`metres`; for a unit that only a product has, its symbol."""
    return _UNIT_WORDS.get(unit.symbol, unit.symbol)


def in_unit(unit: Unit) -> str:
    """`in metres`, `a plain number`."""
    return "a plain number" if unit.dimension == PLAIN else f"in {unit_word(unit)}"


def shown(value: Fraction, unit: Unit) -> str:
    """`46 m`, from base units to the unit, exact where a decimal can be, else to four places."""
    x = value / unit.factor
    denominator = x.denominator
    for p in (2, 5):
        while denominator % p == 0:
            denominator //= p
    if denominator == 1 and x.denominator < 10**12:
        places = next(n for n in range(40) if (x * 10**n).denominator == 1)
        digits = _decimal(x, places)
    else:
        digits = "about " + _decimal(x, 4)
    return f"{digits} {unit.symbol}".rstrip()


def _decimal(x: Fraction, places: int) -> str:
    scaled = round(abs(x) * 10**places)
    whole, rest = divmod(scaled, 10**places)
    text = f"{whole}.{rest:0{places}d}" if places else str(whole)
    return f"-{text}" if x < 0 and scaled else text


def unit_for(dimension: Dimension) -> Unit:
    """A unit to show a product or quotient in: the first known one of factor 1, else any, else one made up."""
    known = [u for u in UNITS.values() if u.dimension == dimension]
    for unit in known:
        if unit.factor == 1:
            return unit
    if known:
        # watts and the like have factor 1; milliampere hours and turns per minute do not, but are the ones pilots read
        return known[0]
    over = "*".join(_power(b, n) for b, n in dimension if n > 0) or "1"
    under = "*".join(_power(b, -n) for b, n in dimension if n < 0)
    return Unit(f"{over}/{under}" if under else over, dimension)


def _power(base: str, n: int) -> str:
    name = "%" if base == "percent" else base
    return name if n == 1 else f"{name}^{n}"


def per_second(unit: Unit) -> Unit:
    """The unit of a rate: metres give metres per second."""
    by_symbol = UNITS.get(f"{unit.symbol}/s")
    if by_symbol is not None:
        return by_symbol
    wanted: dict[str, int] = dict(unit.dimension)
    wanted["s"] = wanted.get("s", 0) - 1
    return unit_for(tuple(sorted((b, n) for b, n in wanted.items() if n)))
