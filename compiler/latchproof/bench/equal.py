"""Slips that change nothing: first those that do show a difference somewhere are put aside, the others are proved."""

from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Literal

from latchproof.bench.can_do import Bring, Hold, PowerCycle, Press, Step, Wait
from latchproof.bench.cycle import Values
from latchproof.bench.hold import Seen, looked
from latchproof.bench.levels import thresholds
from latchproof.bench.play import Bench, Manner, play, started
from latchproof.bench.position import Table
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Differ, Equal, equal
from latchproof.rules.model import RuleSet

Decided = Literal["same", "differs", "not decided"]

WALKS, MOVES = 6, 120
PASSES = (1, 2, 5, 20, 60, 150, 400)
"""So long things stay as they are while somebody plays about."""

EXACTLY = Manner("exactly as written", (Fraction(0),), (0,))


def told_apart(table: Table, steps: Sequence[Step], machines: Iterable[int]) -> set[int]:
    """Those machines that do anything else than the right one: in this test, in it with every reading put exactly on a
    number that is compared with, or while somebody plays about; whether anybody could see that or not."""
    b, walks = table.bench, [_Walk(table, seed) for seed in range(WALKS)]
    tests = (tuple(steps), *_on_the_edge(b, steps))
    return {k for k in machines if any(_differ(b, test, k) for test in tests) or any(w.differs(k) for w in walks)}


class _Walk:
    """Somebody plays about with everything, often too quick for anybody to see what comes of it."""

    def __init__(self, table: Table, seed: int) -> None:
        self.bench = table.bench
        dice = Random(seed)
        edges = thresholds(table.bench)
        setting = table.bench.rest
        self.parts: list[tuple[Values, int]] = []
        for _ in range(MOVES):
            do = dice.choice([d for d in table.dos(setting) if not isinstance(d, Wait | PowerCycle)])
            if isinstance(do, Bring | Hold):
                name = do.sensor if isinstance(do, Bring) else do.control
                do = replace(do, value=dice.choice([do.value, do.value, *edges.get(name, ())]))
            setting = setting.done(do)
            pressed = do.button if isinstance(do, Press) else None
            self.parts.append((table.bench.values(setting, 0, pressed), dice.choice(PASSES)))
        self.right = list(self._shown(0))

    def _shown(self, k: int) -> Iterator[Seen]:
        run, c = started(self.bench, k, EXACTLY), self.bench.cycles[k]
        _, tick = self.bench.passes(Fraction(1), shortest=False)
        for values, passes in self.parts:
            yield looked(c, run.memory, values, passes, tick, c.numbers)

    def differs(self, k: int) -> bool:
        return any(seen != right for seen, right in zip(self._shown(k), self.right, strict=True))


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
    right: RuleSet, others: Iterable[tuple[int, RuleSet]], workers: Workers, seconds: float, at_once: int
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
        return pair[0], answer

    with ThreadPoolExecutor(max(1, at_once)) as pool:
        return dict(pool.map(ask, others))
