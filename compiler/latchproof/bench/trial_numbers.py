"""Numbers entered for the test only: thresholds that the stairs reach, in the order of the real ones."""

from dataclasses import dataclass, replace
from fractions import Fraction

from latchproof.listing.model import Entry
from latchproof.readback import model as m
from latchproof.readback.values import read, written
from latchproof.rules.units import UNITS


@dataclass(frozen=True, slots=True)
class Numbers:
    """`bounds`: for each entry and field label, the number that stands there during the test and the real one."""

    bounds: tuple[tuple[int, str, m.Quantity, m.Quantity], ...]

    def __bool__(self) -> bool:
        return bool(self.bounds)


def numbers(entries: tuple[Entry, ...], sensor: str, up_to: Fraction, error: Fraction, step: Fraction) -> Numbers:
    """Of the thresholds of this sensor (as it is called in the entries) as many as the stairs have room for, the lowest
    first; `error` is how far a reading may be off, `step` what it is entered in, both in metres."""
    real: dict[tuple[int, str], m.Quantity] = {}
    for x in entries:
        of = next((read(f.value, f.kind) for f in x.fields if f.label == "compare"), None)
        if isinstance(of, m.SensorValue) and of.sensor == sensor and not of.earlier:
            for f in x.fields:
                value = read(f.value, f.kind) if f.kind == "threshold" else None
                if isinstance(value, m.Threshold) and isinstance(value.bound, m.Quantity):
                    real[x.number, f.label] = value.bound
    apart = 2 * error + 2 * step
    first = error + step
    heights = sorted({q.amount * UNITS[q.unit].factor for q in real.values()})
    made = {}
    for n, height in enumerate(heights):
        at = -(-(first + n * apart) // step) * step
        if at + first <= up_to:
            made[height] = at
    bounds = []
    for (number, label), q in real.items():
        height = q.amount * UNITS[q.unit].factor
        if height in made:
            bounds.append((number, label, m.Quantity(made[height] / UNITS[q.unit].factor, q.unit), q))
    return Numbers(tuple(bounds))


def put(entries: tuple[Entry, ...], numbers: Numbers) -> tuple[Entry, ...]:
    """The entries with the numbers of the test, whatever number stood there."""
    there = {(number, label): q for number, label, q, _ in numbers.bounds}

    def changed(x: Entry) -> Entry:
        fields = []
        for f in x.fields:
            q = there.get((x.number, f.label))
            value = read(f.value, f.kind) if q is not None else None
            if q is not None and isinstance(value, m.Threshold):
                f = replace(f, value=written(m.Threshold(value.order, q)))
            fields.append(f)
        return replace(x, fields=tuple(fields))

    return tuple(changed(x) for x in entries)
