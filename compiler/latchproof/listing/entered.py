"""What is typed into a threshold of a transmitter, and what the transmitter then works with."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.fit.fields import grid, reads_a_sensor
from latchproof.fit.steps import Grid
from latchproof.rules import expressions as e
from latchproof.rules.units import PERCENT, PLAIN, Dimension, Unit
from latchproof.transmitter.model import Transmitter


@dataclass(frozen=True, slots=True)
class Typed:
    """`typed`, in base units, is entered in `unit`; `kept` is the symbol of the unit that the transmitter keeps."""

    typed: Fraction
    unit: Unit
    kept: str


def field_of(t: Transmitter | None, subject: e.Number, dimension: Dimension, *, rate: bool = False) -> Grid | None:
    """The field that a threshold for this number is entered in; None where the description does not tell."""
    if t is None:
        return None
    quality = dimension in (PERCENT, PLAIN) and reads_a_sensor(subject)
    return grid(t, "rate" if rate else "link quality" if quality else "", dimension)


def typed(
    t: Transmitter | None, subject: e.Number, dimension: Dimension, value: Fraction, *, rate: bool = False
) -> Typed | None:
    """What to type so that the transmitter works with exactly this value; None where nothing will do."""
    field = field_of(t, subject, dimension, rate=rate)
    if field is None:
        return None
    found = next((x for x in field.around(value) if x.kept == value), None)
    return None if found is None else Typed(found.entered, field.shown, (field.kept or field.shown).symbol)
