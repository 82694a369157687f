"""A machine over a stretch of time in which inputs stand still or move evenly, without running every pass.

Between two passes with the same outcome of every comparison and the same Boolean memory every number is linear in time
(as in `prove/holds.py`), so one pass over the whole time does what the ordinary ones do. Where an outcome changes, the
pass in which it does is looked for by halving, and is run as an ordinary one.
"""

from dataclasses import dataclass

from latchproof.bench.cycle import Cycle, Number, Values


@dataclass(slots=True)
class Memory:
    """A machine in the middle of a run: its memory, the outcomes of its last pass, and what it showed."""

    cells: Values
    outcomes: Values | None = None
    shown: Values = ()


@dataclass(slots=True)
class Seen:
    """What was seen meanwhile: the least and the most of each number asked for, how often each signal was true."""

    low: list[Number]
    high: list[Number]
    often: list[int]


def run(
    c: Cycle,
    memory: Memory,
    start: Values,
    end: Values,
    passes: int,
    tick: Number,
    often: list[int],
    changes: list[int] | None = None,
) -> None:
    """So many passes, inputs going evenly from `start` (not reached any more) to `end`. `often` counts how often each
    signal was true; what else was seen nobody asks for. `changes` takes the passes that came out otherwise than the
    ones before."""
    _run(c, memory, start, end, passes, tick, often, None, changes=changes)


def looked(c: Cycle, memory: Memory, inputs: Values, passes: int, tick: Number, numbers: int) -> Seen:
    """So many passes with inputs that stand still, and what was seen of so many numbers and the signals after them."""
    seen = Seen([], [], [])
    _run(c, memory, inputs, inputs, passes, tick, seen.often, seen, numbers)
    return seen


def _run(
    c: Cycle,
    memory: Memory,
    start: Values,
    end: Values,
    passes: int,
    tick: Number,
    often: list[int],
    seen: Seen | None,
    numbers: int = 0,
    changes: list[int] | None = None,
) -> None:
    step, still = c.step, c.still
    moves = [] if start is end else _moves(start, end)
    inputs = end
    cells, outcomes = memory.cells, memory.outcomes
    left, bound, calm = passes, 0, False
    while left:
        k = 1 if not calm else (left if not bound else bound // 2 or 1)
        if moves:
            inputs = _on_the_way(end, moves, passes - left + k, passes)
        after, came, shown = step(cells, inputs, tick * k)
        same = came == outcomes
        if k > 1 and (not same or (still and any(after[x] != cells[x] for x in still))):
            bound = k
            continue
        left -= k
        bound = bound - k if same and bound else 0
        calm = same
        if changes is not None and not same:
            changes.append(passes - left)
        if bound == 1:
            bound, calm = 0, False
        cells, outcomes = after, came
        if seen is None:
            for n in c.signals:
                if shown[n]:
                    often[n - c.numbers] += k
        else:
            _note(seen, shown, k, numbers)
    memory.cells, memory.outcomes, memory.shown = cells, outcomes, shown


def _moves(start: Values, end: Values) -> list[tuple[int, Number, Number]]:
    """Where a number is on the way, from what and how far; a switch is there at once."""
    both = enumerate(zip(start, end, strict=True))
    return [(k, a, b - a) for k, (a, b) in both if a != b and type(b) is not bool]


def _note(seen: Seen, shown: Values, passes: int, numbers: int) -> None:
    if not seen.low:
        seen.low, seen.high = list(shown[:numbers]), list(shown[:numbers])
        seen.often[:] = [0] * (len(shown) - numbers)
    else:
        for k in range(numbers):
            value = shown[k]
            if value < seen.low[k]:
                seen.low[k] = value
            elif value > seen.high[k]:
                seen.high[k] = value
    for k in range(numbers, len(shown)):
        if shown[k]:
            seen.often[k - numbers] += passes


def _on_the_way(end: Values, moves: list[tuple[int, Number, Number]], at: int, passes: int) -> Values:
    if at >= passes:
        return end
    made = list(end)
    for k, a, way in moves:
        made[k] = a + (way * at // passes if isinstance(way, int) else way * at / passes)
    return tuple(made)
