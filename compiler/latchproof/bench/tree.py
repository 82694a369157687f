"""Ways through what can be done: from switching on to a slip, and from anywhere to where that way begins."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from heapq import heappop, heappush
from itertools import count

from latchproof.bench.can_do import Do, Hold, Step, cost
from latchproof.bench.play import Playing
from latchproof.bench.position import Next, Position, Table, bare
from latchproof.machine.model import Machine
from latchproof.machine.terms import variables

TRIED = 500
"""Steps played for one slip before it is given up."""

HEARD = 5
"""So many steps from switching on, how often something is heard still makes a difference."""

GROWN = 80
"""States from which roads to others are followed."""


@dataclass(frozen=True, slots=True)
class Goal:
    """A state of the right machine, and what to do there to see a slip; `whole`: all of it from switching on."""

    state: object
    steps: tuple[Step, ...]
    spent: int
    whole: tuple[Step, ...]


class Tree:
    """What can be done from a position, with what the right machine does; grown as far as anybody asks.

    Only the first two manners are played here, and of the inputs only those that reach memory or a sound: what only
    passes through to a channel is tried when nothing else can show anything.
    """

    def __init__(self, table: Table, start: Position) -> None:
        self.start = start
        self.table = replace(table, manners=table.manners[:2])
        self.grown: dict[tuple[Step, ...], list[tuple[Step, Next]]] = {}
        self.passive = passive(table.bench.machines[0])
        self.booleans = [[n for n, name in enumerate(c.cells) if name in c.booleans] for c in table.bench.cycles]

    def after(self, path: tuple[Step, ...], here: Position) -> list[tuple[Step, Next]]:
        found = self.grown.get(path)
        if found is None:
            found = self.grown[path] = list(self.table.candidates(here, self._dos(here), heard=len(path) < HEARD))
        return found

    def _dos(self, here: Position) -> list[Do]:
        """Of what only passes through to a channel: back to rest, nothing else."""
        rest = dict(self.table.bench.rest.controls)
        return [
            d
            for d in self.table.dos(here.setting)
            if not (isinstance(d, Hold) and d.control in self.passive and d.value != rest[d.control])
        ]

    def shows(self, path: tuple[Step, ...], machines: list[int]) -> list[int]:
        """Which of these machines it shows as well."""
        wanted = {0, *machines}
        runs = {(j, m): p for (j, m), p in self.start.runs.items() if j in wanted and m < len(self.table.manners)}
        here = Position(self.start.setting, runs)
        for step in path:
            here, _ = self.table.take(here, step)
        return [j for j in machines if (j, 0) not in here.runs and (j, 1) not in here.runs]

    def goal(self, k: int, path: tuple[Step, ...]) -> Goal | None:
        """That way, from where on it tells the two apart."""
        if not path:
            return None
        here, at, state, spent = self._only(self.start, k), 0, None, 0
        apart = self._apart(k)
        for n, step in enumerate(path):
            if state is None or not apart(here):
                at, state, spent = n, self.state(here), 0
            spent += cost(step, here.setting, self.table.bench.ways)
            here, _ = self.table.take(here, step)
        return Goal(state, path[at:], spent, path)

    def roads(
        self, position: Position, wanted: frozenset[object], most: int
    ) -> dict[object, tuple[int, tuple[Step, ...]]]:
        """A cheap way from here to each of these states of the right machine, going first where it is new to it."""
        tie = count()
        waiting = [_Branch(0, next(tie), 0, (), self._only(position, 0))]
        found: dict[object, tuple[int, tuple[Step, ...]]] = {}
        met: set[object] = set()
        grown = 0
        while waiting and grown < most and not wanted <= found.keys():
            branch = heappop(waiting)
            here = branch.position
            state = self.state(here)
            if state in found:
                continue
            found[state] = branch.spent, branch.path
            grown += 1
            for step, want in self.table.candidates(here, self._dos(here), heard=False):
                spent = branch.spent + cost(step, here.setting, self.table.bench.ways)
                there = Position(want.setting, want.runs)
                memory = self._memory(there, 0)
                rank = spent if memory in met else spent // 3
                met.add(memory)
                heappush(waiting, _Branch(rank, next(tie), spent, (*branch.path, step), there))
        for branch in waiting:
            state = self.state(branch.position)
            if state not in found or branch.spent < found[state][0]:
                found[state] = branch.spent, branch.path
        return found

    def _only(self, position: Position, k: int) -> Position:
        wanted = {(j, m) for j in (0, k) for m in range(len(self.table.manners))}
        return Position(position.setting, {key: p for key, p in position.runs.items() if key in wanted})

    def state(self, here: Position) -> object:
        """How everything stands, and what the right machine remembers."""
        return here.setting, self._memory(here, 0)

    def to(self, k: int) -> tuple[Step, ...]:
        """The cheapest way from switching on to see that something is wrong with machine k, within so many tries."""
        tie = count()
        start = self._only(self.start, k)
        apart = self._apart(k)
        waiting = [_Branch(0, next(tie), 0, (), start)]
        been: set[object] = set()
        met: set[object] = set()
        tried = 0
        while waiting and tried < TRIED:
            branch = heappop(waiting)
            here = branch.position
            state = (here.setting, self._memory(here, 0), self._memory(here, k))
            if state in been:
                continue
            been.add(state)
            apart_now = apart(here)
            steps = self.after(branch.path, here)
            for step, want in (*steps, *(self._other_waits(here, k, steps) if apart_now else ())):
                tried += len(here.runs) - len(want.runs)
                there, _ = self.table.take(here, step, want)
                path = (*branch.path, step)
                if not there.alive:
                    return path
                spent = branch.spent + cost(step, here.setting, self.table.bench.ways)
                rank = spent // 3 if len(there.runs) < len(here.runs) or apart(there) else spent
                if (memory := (self._memory(there, 0), self._memory(there, k))) not in met:
                    met.add(memory)
                    rank //= 3
                heappush(waiting, _Branch(rank, next(tie), spent, path, there))
        return ()

    def _other_waits(self, here: Position, k: int, known: list[tuple[Step, Next]]) -> Iterator[tuple[Step, Next]]:
        """Steps with waits after which not the right machine but the other one stands differently."""
        have = {step for step, _ in known}
        run = next(p for (j, _), p in here.runs.items() if j == k)
        for do in self._dos(here):
            for wait in self.table.waits(here, do, run)[1:]:
                if (step := Step(do, wait)) not in have:
                    yield step, self.table.right(here, step)

    def _memory(self, here: Position, k: int) -> object:
        return tuple((m, bare(p, self.booleans[j])) for (j, m), p in here.runs.items() if j == k)

    def _apart(self, k: int) -> Callable[[Position], bool]:
        """Whether the two remember something different, by now unseen, whatever the manner."""
        one, other = (self.table.bench.cycles[j] for j in (0, k))
        mine = {name: n for n, name in enumerate(one.cells) if name in one.booleans}
        both = [(mine[name], n) for n, name in enumerate(other.cells) if name in mine and name in other.booleans]

        def unlike(p: Playing, q: Playing) -> bool:
            return any(p.memory.cells[a] != q.memory.cells[b] for a, b in both) or p.before != q.before

        return lambda here: all(unlike(here.runs[0, m], q) for (j, m), q in here.runs.items() if j)


@dataclass(frozen=True, slots=True, order=True)
class _Branch:
    rank: int
    tie: int
    spent: int = field(compare=False)
    path: tuple[Step, ...] = field(compare=False)
    position: Position = field(compare=False)


def passive(machine: Machine) -> frozenset[str]:
    """Sticks and knobs that no memory of signals and no sound depends on."""
    nexts = {s.name: s.next for s in machine.states}
    waiting = [s.next for s in machine.states if s.sort == "bool"]
    waiting += [x for name, x in machine.definitions.items() if name.endswith(".announced")]
    reached: set[str] = set()
    while waiting:
        names = variables(waiting) - reached
        reached |= names
        waiting = [nexts[n] for n in names if n in nexts]
    return frozenset(c.name for c in machine.rules.controls) - reached
