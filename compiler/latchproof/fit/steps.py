"""Numbers on the steps of a field: what can be entered next to a number, and what the device makes of it."""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from latchproof.fit.model import Way
from latchproof.rules.units import UNITS, Unit
from latchproof.transmitter.model import Steps, Threshold


@dataclass(frozen=True, slots=True)
class Grid:
    """A field: `steps` in units of `shown`. With `kept`, the device works with the nearest multiple of `kept_step`
    (in `kept`) of what was entered."""

    steps: Steps
    shown: Unit
    kept: Unit | None = None
    kept_step: Fraction | None = None

    def works_with(self, entered: Fraction) -> Fraction:
        """What the device compares with when `entered` stands in the field; both in base units. Halves go up."""
        if self.kept is None or self.kept_step is None:
            return entered
        step = self.kept_step * self.kept.factor
        return step * floor(entered / step + Fraction(1, 2))

    def around(self, wanted: Fraction) -> tuple["Entry", ...]:
        """What can be entered that gives the number wanted or lies next to it, below and above, in rising order."""
        entries = [Entry(x, self.works_with(x)) for x in self._near(wanted)]
        exact = [x for x in entries if x.kept == wanted]
        if exact:
            return (min(exact, key=lambda x: (abs(x.entered - wanted), x.entered)),)
        below = [x for x in entries if x.kept < wanted]
        above = [x for x in entries if x.kept > wanted]
        found = [max(below, key=lambda x: (x.kept, -abs(x.entered - wanted)))] if below else []
        return (*found, *([min(above, key=lambda x: (x.kept, abs(x.entered - wanted)))] if above else []))

    def chosen(self, wanted: Fraction, way: Way) -> "Entry":
        """The number next to the one wanted on that side; on the other, where there is none on it."""
        found = self.around(wanted)
        match way:
            case "down":
                return found[0]
            case "up":
                return found[-1]
            case "nearest":
                return min(found, key=lambda x: (abs(x.kept - wanted), x.kept))

    def reaches(self, wanted: Fraction) -> bool:
        """Whether the number lies between the ends of the field, or so near to one that it rounds to it."""
        low, high = self.steps.low, self.steps.high
        x = wanted / self.shown.factor
        return low - self._step(low) / 2 <= x <= high + self._step(high) / 2

    def next_to(self, wanted: Fraction, count: int) -> tuple[Fraction, ...]:
        """What the device can work with around a number, nearest first, `count` on each side."""
        kept = sorted({self.works_with(x) for x in self._near(wanted, count + 1)})
        below = [x for x in kept if x < wanted][-count:]
        above = [x for x in kept if x > wanted][:count]
        same = [x for x in kept if x == wanted]
        return tuple(sorted((*below, *same, *above), key=lambda x: (abs(x - wanted), x)))

    def _near(self, wanted: Fraction, reach: int = 2) -> list[Fraction]:
        """What can be entered in the neighbourhood, in base units: so far that the device keeps something different."""
        x = wanted / self.shown.factor
        if self.kept is not None and self.kept_step is not None:
            x = self.works_with(wanted) / self.shown.factor
            coarse = self.kept_step * self.kept.factor / self.shown.factor
            reach = reach + ceil(reach * coarse / self._step(x))
            reach = min(reach, 200)
        found: set[Fraction] = set()
        for start, step, end in self._stretches():
            if step <= 0:
                continue
            at = floor((min(max(x, start), end) - start) / step)
            ticks = (start + step * k for k in range(max(0, at - reach), at + reach + 2))
            found.update(t for t in ticks if t <= end)
            found.update({start})
        return [y * self.shown.factor for y in sorted(found)]

    def _stretches(self) -> list[tuple[Fraction, Fraction, Fraction]]:
        """From where, by which step, to where; the last value of one is the first of the next."""
        starts = [(self.steps.low, self.steps.step), *self.steps.wider]
        ends = [s for s, _ in self.steps.wider] + [self.steps.high]
        return [(start, step, end) for (start, step), end in zip(starts, ends, strict=True) if start <= end]

    def _step(self, x: Fraction) -> Fraction:
        return next((step for start, step, end in self._stretches() if x <= end), self.steps.step)


@dataclass(frozen=True, slots=True)
class Entry:
    """What is typed and what the device makes of it, in base units."""

    entered: Fraction
    kept: Fraction


def of_threshold(t: Threshold) -> Grid:
    kept = None if t.kept is None else UNITS[t.kept]
    return Grid(t.steps, UNITS[t.shown], kept, t.kept_step if kept is not None else None)
