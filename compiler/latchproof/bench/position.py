"""Where a test stands: the right machine and all those with a slip that nobody has seen yet, side by side."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from latchproof.bench.can_do import (
    Bring,
    Do,
    Hold,
    PowerCycle,
    Press,
    Setting,
    Step,
    Telemetry,
    Turn,
    Wait,
    cost,
)
from latchproof.bench.levels import Levels
from latchproof.bench.observe import Expected, Eye
from latchproof.bench.play import LOOK, MANNERS, Bench, Manner, Playing, Shown, changes, play, started

RUNNING = 300
"""What it costs to have a motor line at its upper end for a step."""

Key = tuple[int, int]
"""A machine and a manner, by their places; machine 0 is the right one."""


@dataclass(slots=True)
class Position:
    """`runs`: what is still to be told apart, and the right machine in every manner."""

    setting: Setting
    runs: dict[Key, Playing] = field(default_factory=dict)

    @property
    def alive(self) -> list[int]:
        """Machines with a slip that not every manner has shown."""
        return list(dict.fromkeys(k for k, _ in self.runs if k))


@dataclass(frozen=True)
class Table:
    """The bench, with somebody who looks, and how he may do it. `motors`: channels to be run as little as can be.
    `flying`: nothing is unplugged or switched off. `never`: switches that are not touched."""

    bench: Bench
    eye: Eye
    levels: Levels
    manners: tuple[Manner, ...] = MANNERS
    motors: frozenset[str] = frozenset()
    flying: bool = False
    never: frozenset[str] = frozenset()

    def start(self, machines: Iterable[int]) -> Position:
        keys = [(k, m) for k in (0, *machines) for m in range(len(self.manners))]
        return Position(self.bench.rest, {(k, m): started(self.bench, k, self.manners[m]) for k, m in keys})

    def right(self, position: Position, step: Step) -> "Next":
        """What the right machine does, in every manner."""
        after = position.setting.done(step.do)
        runs, shown = {}, []
        for m in range(len(self.manners)):
            p = position.runs[0, m].copy()
            seen = play(self.bench, p, step, position.setting, after)
            runs[0, m] = p
            shown.append(seen)
        return Next(after, runs, self.eye.expected(shown))

    def differs(self, p: Playing, step: Step, before: Setting, want: "Next") -> bool:
        """Plays on; whether it shows something else than it should."""
        seen = play(self.bench, p, step, before, want.setting)
        return self.eye.wrong(want.expected, seen)

    def take(self, position: Position, step: Step, want: "Next | None" = None) -> tuple[Position, list[Key]]:
        """The position after a step, and the runs in which it was seen that something is wrong."""
        want = want or self.right(position, step)
        runs, found = dict(want.runs), []
        for key, p in position.runs.items():
            if key[0] == 0:
                continue
            q = p.copy()
            if self.differs(q, step, position.setting, want):
                found.append(key)
            else:
                runs[key] = q
        return Position(want.setting, runs), found

    def price(self, step: Step, before: Setting, want: "Next") -> int:
        """What a step costs, dearer the more a motor runs at its end."""
        spent = cost(step, before, self.bench.ways)
        for x, level in zip(self.bench.rules.channels, want.expected.levels, strict=True):
            if x.name in self.motors and level is not None:
                above = self.bench.cycles[0].worth(level[1]) - x.low
                spent += int(RUNNING * above / (x.high - x.low))
        return spent

    def all(self, steps: Sequence[Step], machines: Iterable[int]) -> tuple[Position, list[list[Key]]]:
        """A whole test from switching on: where it ends, and what each step showed."""
        position, found = self.start(machines), []
        for step in steps:
            position, seen = self.take(position, step)
            found.append(seen)
        return position, found

    # ---------- what may be done next

    def candidates(
        self, position: Position, dos: Iterable[Do] | None = None, *, heard: bool = True
    ) -> Iterator[tuple[Step, "Next"]]:
        """Everything worth doing: of each thing only those waits after which the right machine stands differently, or
        has been `heard` more often."""
        for do in self.dos(position.setting) if dos is None else dos:
            last: object = None
            for wait in self.waits(position, do, position.runs[0, 0]):
                step = Step(do, wait)
                made = self.right(position, step)
                state = made.state if heard else made.state[0]
                if state != last:
                    last = state
                    yield step, made

    def waits(self, position: Position, do: Do, p: Playing) -> list[Fraction]:
        """The shortest, and those after which this run has shown what happened since the one before."""
        after, all_ = position.setting.done(do), self.levels.waits
        happens = changes(self.bench, p, do, position.setting, after, all_[-1])
        late = -min(p.manner.early)
        kept = [all_[0]]
        for t in happens:
            if (w := next((w for w in all_ if w - late - LOOK >= t), all_[-1])) > kept[-1]:
                kept.append(w)
        return kept

    def dos(self, s: Setting) -> Iterator[Do]:
        rules = self.bench.rules
        yield Wait()
        for name, at in s.switches:
            if name in self.never:
                continue
            count = len(next(x for x in rules.switches if x.name == name).positions)
            yield from (Turn(name, k) for k in range(count) if k != at)
        yield from (Press(b.name) for b in rules.buttons)
        for name, held in s.controls:
            yield from (Hold(name, v) for v in self.levels.controls[name] if v != held)
        for name, read in s.readings:
            yield from (Bring(name, v) for v in self.levels.readings[name] if v != read)
        if self.flying:
            return
        if rules.sensors:
            yield Telemetry(not s.frames)
        yield PowerCycle()


@dataclass(frozen=True, slots=True)
class Next:
    """After a step: how everything stands, the right machine in every manner, and what was to be seen."""

    setting: Setting
    runs: dict[Key, Playing]
    expected: Expected

    @property
    def state(self) -> tuple[object, object]:
        """What is different where something has happened."""
        return tuple(p.memory.outcomes for p in self.runs.values()), self.expected


def bare(p: Playing, places: Sequence[int]) -> tuple[object, ...]:
    """The Boolean memory of a run."""
    return tuple(p.memory.cells[k] for k in places)


def shown_by(found: Sequence[Sequence[Key]], manners: int) -> dict[int, int]:
    """For each machine that every manner has shown, the step (from 0) by which the last of them has."""
    seen: dict[int, set[int]] = {}
    at: dict[int, int] = {}
    for n, keys in enumerate(found):
        for k, m in keys:
            seen.setdefault(k, set()).add(m)
            if len(seen[k]) == manners and k not in at:
                at[k] = n
    return at


__all__ = ["Key", "Next", "Position", "Shown", "Table", "bare", "shown_by"]
