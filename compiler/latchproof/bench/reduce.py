"""A test with what it does not need taken out: at the end no single step can be left out without missing a slip."""

from collections.abc import Callable, Iterator, Sequence

from latchproof.bench.can_do import Bring, Do, Hold, Press, Step, Telemetry, Turn
from latchproof.bench.position import Next, Position, Table

Steps = tuple[Step, ...]
MOST_TOGETHER = 3
"""So many steps in a row are tried to be left out together."""


def reduced(
    table: Table, steps: Steps, shown: Sequence[int], told: Callable[[int], None] = lambda left: None, *,
    thorough: bool = True,
) -> Steps:  # fmt: skip
    """Fewer steps, and shorter waits, that show the same slips. `thorough`: more than single steps is tried."""
    work = _Work(table, list(shown))
    for cut in (_windows, _pairs, _shorter) if thorough else ():
        steps = work.cut(steps, cut, told)
    return work.cut(steps, _single, told, until_none=True)


Cut = tuple[int, Steps]
"""From which step on the test is another one, and the whole of it."""


def _windows(table: Table, steps: Steps) -> Iterator[Cut]:
    """Steps in a row left out, many first."""
    for size in range(MOST_TOGETHER, 0, -1):
        for at in range(len(steps) - size, -1, -1):
            yield at, steps[:at] + steps[at + size :]


def _single(table: Table, steps: Steps) -> Iterator[Cut]:
    """Any one step left out."""
    for at in range(len(steps) - 1, -1, -1):
        yield at, steps[:at] + steps[at + 1 :]


def _pairs(table: Table, steps: Steps) -> Iterator[Cut]:
    """Something done, and what is done with the same thing next, both left out."""
    for at in range(len(steps) - 1, -1, -1):
        thing = _thing(steps[at].do)
        then = next((k for k in range(at + 1, len(steps)) if _thing(steps[k].do) == thing), None)
        if thing is not None and then is not None:
            yield at, steps[:at] + steps[at + 1 : then] + steps[then + 1 :]


def _shorter(table: Table, steps: Steps) -> Iterator[Cut]:
    for at in range(len(steps) - 1, -1, -1):
        for wait in table.levels.waits:
            if wait < steps[at].seconds:
                yield at, (*steps[:at], Step(steps[at].do, wait), *steps[at + 1 :])


def _thing(do: Do) -> object:
    match do:
        case Turn(switch=name) | Hold(control=name) | Bring(sensor=name) | Press(button=name):
            return type(do), name
        case Telemetry():
            return Telemetry
        case _:
            return None


class _Work:
    """`order`: slips, those that a cut made miss lately first: most cuts fail on the same few."""

    def __init__(self, table: Table, order: list[int]) -> None:
        self.table, self.order = table, order

    def cut(
        self, steps: Steps, cuts: Callable[[Table, Steps], Iterator[Cut]], told: Callable[[int], None], *,
        until_none: bool = False,
    ) -> Steps:  # fmt: skip
        """Every cut once, those of a test that has become shorter taken up where the last one was made."""
        places = self._places(steps)
        below = len(steps)
        going = True
        while going:
            going = False
            for at, fewer in cuts(self.table, steps):
                if at > below or not (until_none or _sensible(fewer)):
                    continue
                if self._still(places[at], fewer[at:]):
                    steps, going = fewer, True
                    below = len(steps) if until_none else at
                    places = [*places[: at + 1], *self._places(fewer[at:], places[at])[1:]]
                    told(len(steps))
                    break
        return steps

    def _places(self, steps: Steps, start: Position | None = None) -> list[Position]:
        """Where the test stands before each step, and at its end."""
        found = [start or self.table.start(self.order)]
        for step in steps:
            found.append(self.table.take(found[-1], step)[0])
        return found

    def _still(self, here: Position, rest: Steps) -> bool:
        """Whether what is not shown yet is shown by these steps."""
        wanted: list[tuple[Position, Step, Next]] = []
        right = Position(here.setting, {key: p for key, p in here.runs.items() if key[0] == 0})
        for step in rest:
            want = self.table.right(right, step)
            wanted.append((right, step, want))
            right = Position(want.setting, want.runs)
        alive = set(here.alive)
        for place, k in enumerate(self.order):
            if k in alive and not self._shows(here, wanted, k):
                self.order.insert(0, self.order.pop(place))
                return False
        return True

    def _shows(self, here: Position, wanted: list[tuple[Position, Step, Next]], k: int) -> bool:
        for key, run in here.runs.items():
            if key[0] != k:
                continue
            p = run.copy()
            if not any(self.table.differs(p, step, before.setting, want) for before, step, want in wanted):
                return False
        return True


def _sensible(steps: Steps) -> bool:
    """Nothing is put where it stands already."""
    stands: dict[object, Do] = {}
    for step in steps:
        thing = _thing(step.do)
        if thing is not None and not isinstance(step.do, Press):
            if stands.get(thing) == step.do:
                return False
            stands[thing] = step.do
    return True
