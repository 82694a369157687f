"""One short test that shows every slip that can be shown.

What shows most for what it costs is done next; where nothing shows anything at once, the cheapest way to one of the
slips left is looked for, by trying what can be done from here on with the right machine and the one with the slip side
by side. Work is counted in steps played, never in seconds, so that the same rules give the same test.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from latchproof.bench.can_do import Step
from latchproof.bench.position import Position, Table
from latchproof.bench.tree import GROWN, Goal, Tree

SAMPLE = 20
"""So many slips are looked at to see what a step is worth; the best are then played with all."""

ASKED = 8
"""So many ways to a slip are tried before the best is taken."""

PATIENCE = 3
"""So often a way to a slip may miss it."""

LONGEST = 120
"""Steps of a test."""


@dataclass(frozen=True)
class Found:
    """`left`: slips that the search has not found a way to show. `alone`: for some, how many steps from switching on
    show that one alone."""

    steps: tuple[Step, ...]
    left: tuple[int, ...]
    alone: dict[int, int]


def search(table: Table, machines: Iterable[int], told: Callable[[int, int], None] = lambda done, left: None) -> Found:
    """A test from switching on. `told` hears how many slips are shown, and how many are left."""
    position = table.start(machines)
    steps: list[Step] = []
    work = _Work(table, position)
    given_up: set[int] = set()
    everyone = len(position.alive)
    while len(steps) < LONGEST:
        live = [k for k in position.alive if k not in given_up]
        told(everyone - len(position.alive), len(live))
        path = work.at_once(position, position.alive) or (work.way(position, live, given_up) if live else ())
        if not path and not live:
            break
        for step in path:
            position, _ = table.take(position, step)
            steps.append(step)
    alone = {k: len(goal.whole) for k, goal in work.goals.items() if goal is not None}
    return Found(tuple(steps), tuple(position.alive), alone)


@dataclass
class _Work:
    table: Table
    start: Position
    goals: dict[int, Goal | None] = field(default_factory=dict)
    missed: dict[int, int] = field(default_factory=dict)

    def at_once(self, position: Position, live: list[int]) -> tuple[Step, ...]:
        """The single step that shows most for its cost, if any shows something."""
        some = live[:: -(-len(live) // SAMPLE)]
        rated = []
        for n, (step, want) in enumerate(self.table.candidates(position)):
            shows = 0
            for k in some:
                p = position.runs.get((k, 0)) or next(p for (j, _), p in position.runs.items() if j == k)
                shows += self.table.differs(p.copy(), step, position.setting, want)
            if shows:
                rated.append((-Fraction(shows, self.table.price(step, position.setting, want)), n, step, want))
        rated.sort(key=lambda x: x[:2])
        best: tuple[Step, ...] = ()
        most = None
        for _, _, step, want in rated[:3]:
            after, _ = self.table.take(position, step, want)
            gained = len(live) - len(set(after.alive) & set(live))
            worth = Fraction(gained, self.table.price(step, position.setting, want))
            if gained and (most is None or worth > most):
                best, most = (step,), worth
        return best

    def way(self, position: Position, live: list[int], given_up: set[int]) -> tuple[Step, ...]:
        """The way to one of the slips that shows most of all of them for its cost."""
        for k in live:
            if k not in self.goals:
                self._look_for(k, live)
        goals = [goal for k in live if (goal := self.goals[k]) is not None]
        wanted = frozenset(goal.state for goal in goals)
        for grown in (GROWN, 4 * GROWN):
            roads = self.tree.roads(position, wanted, grown)
            known = [
                (roads[goal.state][0] + goal.spent, k, (*roads[goal.state][1], *goal.steps))
                for k in live
                if (goal := self.goals[k]) is not None and goal.state in roads
            ]
            if known:
                break
        given_up.update(k for k in live if self.goals[k] is None or not known)
        best: tuple[Step, ...] = ()
        most = None
        for spent, k, path in sorted(known)[:ASKED]:
            after = position
            for step in path:
                after, _ = self.table.take(after, step)
            gained = len(live) - len(set(after.alive) & set(live))
            if k in after.alive:
                self.missed[k] = self.missed.get(k, 0) + 1
                if self.missed[k] >= PATIENCE:
                    given_up.add(k)
            if gained and (most is None or Fraction(gained, spent) > most):
                best, most = path, Fraction(gained, spent)
        return best

    def _look_for(self, k: int, live: list[int]) -> None:
        """A way to machine k, and to others that it happens to show as well."""
        path = self.tree.to(k)
        self.goals[k] = self.tree.goal(k, path)
        if path:
            others = [j for j in live if j not in self.goals]
            for j in self.tree.shows(path, others):
                self.goals[j] = self.tree.goal(j, path)

    @cached_property
    def tree(self) -> Tree:
        return Tree(self.table, self.start)
