"""Every state of a small system, one after the other, by the interpreter's reading of its terms. No solver, no monitor
theory: breadth first from power-up, so what is reached is reached in the fewest cycles.

Numbers that the world gives are tried at the values that comparisons speak of, at their neighbours and between them;
cycle times at the shortest and the longest. A timer above everything that it is compared with counts as one that stands
a little above it. Where all numbers of a system are only compared with constants, and the cycle time is fixed, this
leaves nothing out; elsewhere it is a part of what can happen.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, product

from latchproof.machine.cone import System
from latchproof.machine.model import DT, Input
from latchproof.machine.terms import Add, AtMost, Equal, If, Less, Real, Scale, Term, Var, walk
from latchproof.run.program import Exact, prepare


@dataclass(frozen=True, slots=True)
class Explored:
    """`cycles` until the goal is reached first, or None; `closed`: no state was left that had not been looked at."""

    cycles: int | None
    closed: bool
    states: int


def explore(system: System, *, steps: int = 20_000) -> Explored:
    """Breadth first, until so many steps have been taken. `parameters` of the system stand at the value written."""
    names = [s.name for s in system.states]
    nexts = prepare([*(s.next for s in system.states), system.goal, *(c.term for c in system.constraints)])
    tuned: dict[str, Exact] = {p.name: p.value for p in system.parameters}
    worlds = list(_worlds(system))
    highest = {s.name: _highest(system) for s in system.states if s.flows and not s.echoes and s.initial is not None}
    waiting = [tuple(first) for first in _starts(system, tuned)]
    seen = set(waiting)
    taken, cycles = 0, 0
    while waiting:
        cycles += 1
        found: list[tuple[Exact, ...]] = []
        for state in waiting:
            here = {**tuned, **dict(zip(names, state, strict=True))}
            for world in worlds:
                taken += 1
                if taken > steps:
                    return Explored(None, False, len(seen))
                *after, goal = (results := nexts.run({**here, **world}))[: len(names) + 1]
                if not all(results[len(names) + 1 :]):
                    continue
                if goal:
                    return Explored(cycles, True, len(seen))
                capped = tuple(_capped(v, highest.get(n)) for n, v in zip(names, after, strict=True))
                if capped not in seen:
                    seen.add(capped)
                    found.append(capped)
        waiting = found
    return Explored(None, True, len(seen))


def _capped(value: Exact, highest: Fraction | None) -> Exact:
    return value if highest is None or value <= highest else highest


def _highest(system: System) -> Fraction:
    """Above every number that the system speaks of and every input's range, by more than a cycle."""
    spoken = [abs(t.value) for t in walk(_roots(system)) if isinstance(t, Real)]
    ranges = [max(abs(i.low), abs(i.high)) for i in system.inputs if i.low is not None and i.high is not None]
    return max([*spoken, *ranges], default=Fraction(0)) + 2 * system.longest


def _roots(system: System) -> list[Term]:
    return [*(s.next for s in system.states), system.goal, *(c.term for c in system.constraints)]


def _leaves(term: Term) -> Iterator[Term]:
    """What the value of a number may be made of; conditions of choices are left out."""
    match term:
        case If(_, then, otherwise):
            yield from _leaves(then)
            yield from _leaves(otherwise)
        case Add(operands):
            for operand in operands:
                yield from _leaves(operand)
        case Scale(_, operand):
            yield from _leaves(operand)
        case _:
            yield term


def _starts(system: System, tuned: Mapping[str, Exact]) -> Iterator[list[Exact]]:
    """Cells that may start with anything start with each of the values that their reading is tried at."""
    firsts = prepare(s.initial for s in system.states if s.initial is not None).run(tuned)
    facts = prepare(c.term for c in system.starts)
    ranges = {i.name.partition("@")[0]: i for i in system.inputs if i.low is not None}
    free = [s.name for s in system.states if s.initial is None]
    choices = [_values(ranges[name.partition("@")[0]], system) for name in free]
    for chosen in product(*choices):
        known = iter(firsts)
        given = dict(zip(free, chosen, strict=True))
        state = [given[s.name] if s.initial is None else next(known) for s in system.states]
        if all(facts.run({**tuned, **{s.name: v for s, v in zip(system.states, state, strict=True)}})):
            yield state


def _worlds(system: System) -> Iterator[dict[str, Exact]]:
    """Everything that the world may do in a cycle. A reading without its frame is tried at one value."""
    times = sorted({system.shortest, system.longest})
    choices = [_values(i, system) for i in system.inputs]
    names = [i.name for i in system.inputs]
    readings = {n: c[0] for n, c in zip(names, choices, strict=True) if n.endswith("@reading")}
    for dt, values in product(times, product(*choices)):
        world: dict[str, Exact] = dict(zip(names, values, strict=True))
        if all(world[f"{n.partition('@')[0]}@frame"] or world[n] == one for n, one in readings.items()):
            yield {**world, DT: dt}


def _values(i: Input, system: System) -> list[Exact]:
    if i.low is None or i.high is None:
        return [False, True]
    if i.grid:
        return [i.low + k * i.grid for k in range(int((i.high - i.low) / i.grid) + 1)]
    at = sorted({i.low, i.high, *(c for c in _compared(i.name, system) if i.low < c < i.high)})
    return sorted({*at, *((a + b) / 2 for a, b in pairwise(at))})


def _compared(name: str, system: System) -> set[Fraction]:
    """Constants in comparisons that this input has a part in."""
    found: set[Fraction] = set()
    for term in walk(_roots(system)):
        if isinstance(term, AtMost | Less | Equal):
            parts = [*_leaves(term.left), *_leaves(term.right)]
            if any(isinstance(p, Var) and p.name == name for p in parts):
                found |= {p.value for p in parts if isinstance(p, Real)}
    return found


def complete(system: System) -> bool:
    """Nothing is left out: one cycle time, tunes that stand, and every number compared with constants only."""
    if system.shortest != system.longest or any(p.low != p.high for p in system.parameters):
        return False
    if any(s.echoes for s in system.states):
        return False
    given = {i.name for i in system.inputs}
    for term in walk(_roots(system)):
        if isinstance(term, Scale):
            return False
        if isinstance(term, Add) and (len(_named(term) - {DT}) > 1 or _named(term) & given):
            return False
        if isinstance(term, AtMost | Less | Equal):
            bases = {
                name.removesuffix("@reading").removesuffix("@last")
                for name in (_named(term.left) | _named(term.right)) - {DT}
            }
            if len(bases) > 1:
                return False
    flowing = [_named(s.next) for s in system.states if s.flows]
    return all(DT not in names or not names & given for names in flowing)


def _named(term: Term) -> set[str]:
    return {leaf.name for leaf in _leaves(term) if isinstance(leaf, Var)}
