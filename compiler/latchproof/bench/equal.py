"""Slips that change nothing: first those that do show a difference somewhere are put aside, the others are proved."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from latchproof.bench.can_do import Bring, Hold, Step
from latchproof.bench.levels import thresholds
from latchproof.bench.play import Bench, Manner, play, started
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Differ, Equal, equal
from latchproof.rules.model import RuleSet

Decided = Literal["same", "differs", "not decided"]

EXACTLY = Manner("exactly as written", (Fraction(0),), (0,))


def told_apart(b: Bench, steps: Sequence[Step], k: int) -> bool:
    """Whether machine k does anything else than the right one in this test, or in it with every reading put exactly on
    a number that is compared with; whether anybody could see that or not."""
    return any(_differ(b, test, k) for test in (tuple(steps), *_on_the_edge(b, steps)))


def _on_the_edge(b: Bench, steps: Sequence[Step]) -> Iterator[tuple[Step, ...]]:
    edges = thresholds(b)
    for above in (False, True):
        yield tuple(replace(s, do=_edged(s.do, edges, above)) if isinstance(s.do, Bring | Hold) else s for s in steps)


def _edged(do: Bring | Hold, edges: dict[str, tuple[Fraction, ...]], above: bool) -> Bring | Hold:
    name = do.sensor if isinstance(do, Bring) else do.control
    near = [x for x in edges.get(name, ()) if (x >= do.value if above else x <= do.value)]
    return replace(do, value=min(near, key=lambda x: abs(x - do.value))) if near else do


def _differ(b: Bench, steps: Sequence[Step], k: int) -> bool:
    right, other, setting = started(b, 0, EXACTLY), started(b, k, EXACTLY), b.rest
    for step in steps:
        after = setting.done(step.do)
        if play(b, right, step, setting, after) != play(b, other, step, setting, after):
            return True
        setting = after
    return False


def decided(
    right: RuleSet, others: Iterable[tuple[int, RuleSet]], workers: Workers, seconds: float, at_once: int,
    told: Callable[[int], None],
) -> dict[int, Decided]:  # fmt: skip
    """For each whether it does the same as the right one whatever happens, by proof."""

    def ask(pair: tuple[int, RuleSet]) -> tuple[int, Decided]:
        match equal(right, pair[1], workers, seconds):
            case Equal():
                answer: Decided = "same"
            case Differ():
                answer = "differs"
            case _:
                answer = "not decided"
        told(pair[0])
        return pair[0], answer

    with ThreadPoolExecutor(max(1, at_once)) as pool:
        return dict(pool.map(ask, others))
