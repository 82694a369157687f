"""What a person sees and hears of a step, and when it is surely not what the card says.

A channel is seen standing somewhere, to within a fifth of its travel, when it stands still for a second; and a servo is
seen moving, one way or the other, from a fiftieth of its travel on. A sound is heard or not, once or again and again.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from latchproof.bench.cycle import Number
from latchproof.bench.play import Bench, Shown

Turned = Literal["up", "down", "stays", "either"]


@dataclass(frozen=True, slots=True)
class Sight:
    """How well one sees, in parts of a channel's travel: `level` to tell two places apart, `move` to see it move,
    `still` what counts as standing still."""

    level: Fraction = Fraction(1, 5)
    move: Fraction = Fraction(1, 50)
    still: Fraction = Fraction(1, 200)


@dataclass(frozen=True, slots=True)
class Expected:
    """What every way of doing the step shows when nothing is wrong: where each channel stands at its end (None: nothing
    to be told) and how it has moved; the least and the most that each sound is heard."""

    levels: tuple[tuple[Number, Number] | None, ...]
    moves: tuple[Turned, ...]
    sounds: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Eye:
    """The same for each channel, as machines count: `clear` tells two places apart, `steady` is no more than half of
    that, `move` is seen and `still` is not."""

    clear: tuple[Number, ...]
    steady: tuple[Number, ...]
    move: tuple[Number, ...]
    still: tuple[Number, ...]

    def expected(self, shown: Iterable[Shown]) -> Expected:
        several = tuple(shown)
        levels: list[tuple[Number, Number] | None] = []
        moves: list[Turned] = []
        for k, steady in enumerate(self.steady):
            low, high = min(s.low[k] for s in several), max(s.high[k] for s in several)
            levels.append((low, high) if high - low <= steady else None)
            turned = {self.turned(s, k) for s in several}
            moves.append(turned.pop() if len(turned) == 1 else "either")
        sounds = tuple(
            (min(s.sounds[k] for s in several), max(s.sounds[k] for s in several))
            for k in range(len(several[0].sounds))
        )
        return Expected(tuple(levels), tuple(moves), sounds)

    def turned(self, s: Shown, k: int) -> Turned:
        """How the channel has moved from the end of the last step to the end of this one."""
        high, still = s.high[k], self.still[k]
        if high - s.low[k] > still:
            return "either"
        way = high - s.before[k]
        if -still <= way <= still:
            return "stays"
        if way >= self.move[k]:
            return "up"
        return "down" if way <= -self.move[k] else "either"

    def wrong(self, want: Expected, s: Shown) -> bool:
        """Whether a person who sees this knows that it is not what was expected."""
        for k, level in enumerate(want.levels):
            if level is not None:
                clear = self.clear[k]
                if s.low[k] - level[1] >= clear or level[0] - s.high[k] >= clear:
                    return True
            move = want.moves[k]
            if move != "either" and (turned := self.turned(s, k)) != move and turned != "either":
                return True
        return any(_miscounted(least, most, n) for (least, most), n in zip(want.sounds, s.sounds, strict=True))


def _miscounted(least: int, most: int, n: int) -> bool:
    if most == 0 or n == 0:
        return (most == 0 and n > 0) or (n == 0 and least > 0)
    return (n >= 2 * most and n - most >= 2) or (least >= 2 * n and least - n >= 2)


def eye(b: Bench, sight: Sight) -> Eye:
    c = b.cycles[0]

    def parts(share: Fraction) -> tuple[Number, ...]:
        return tuple(c.amount((x.high - x.low) * share) for x in b.rules.channels)

    return Eye(parts(sight.level), parts(sight.level / 2), parts(sight.move), parts(sight.still))
