"""Which cells of two machines hold the same, guessed from random runs. A guess is only ever something to be proved."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, permutations

from latchproof.machine.model import DT, Input
from latchproof.machine.terms import Real, children, walk
from latchproof.readback.pair import Pair
from latchproof.run.interpreter import Interpreter
from latchproof.run.program import Exact, Running, prepare

RUNS, CYCLES = 40, 70
MOST = 24
"""Cells of a kind that are looked at for what goes with what."""
ENOUGH = 3
SEED = 20
"""The same guesses every time."""


@dataclass(frozen=True)
class Guessed:
    """`same`: cells that always held the same. `facts`: what else always held, as formulas over the memory."""

    same: tuple[tuple[str, ...], ...]
    facts: tuple[str, ...]


def guesses(p: Pair) -> Guessed:
    shown = _shown(p)
    found: dict[tuple[Exact, ...], list[str]] = {}
    for s in p.machine.states:
        found.setdefault((s.sort == "bool", *shown[s.name]), []).append(s.name)
    # What never did anything in the runs says nothing.
    same = tuple(tuple(names) for key, names in found.items() if len(names) > 1 and len(set(key[1:])) > 1)
    return Guessed(same, tuple(_facts(p, shown, same)))


def _shown(p: Pair) -> dict[str, list[Exact]]:
    """What each cell holds, pass after pass, in some random runs."""
    m = p.machine
    states = m.states
    program = prepare([s.next for s in states])
    at = _numbers(p)
    chance = random.Random(SEED)
    shown: dict[str, list[Exact]] = {s.name: [] for s in states}
    dts = (m.rules.cycle.longest, m.rules.cycle.longest, Fraction(1, 5), Fraction(1, 2), Fraction(2))
    for _ in range(RUNS):
        memory = Interpreter(m).start({}, {})
        running = Running(program)
        inputs: dict[str, Exact] = {i.name: _any(chance, i, at) for i in m.inputs}
        often = chance.choice((3, 12, 40))
        for cycle in range(CYCLES):
            for i in m.inputs:
                if cycle < 2 or chance.randrange(often) == 0:
                    inputs[i.name] = _any(chance, i, at)
            tuned: dict[str, Exact] = {q.name: q.value for q in m.parameters}
            values = running.step({**tuned, **memory, **inputs, DT: chance.choice(dts)})
            memory = {s.name: v for s, v in zip(states, values, strict=True)}
            for name, value in memory.items():
                shown[name].append(value)
    return shown


def _facts(p: Pair, shown: dict[str, list[Exact]], same: tuple[tuple[str, ...], ...]) -> Iterator[str]:
    """Times that are the same while something holds, and what goes with what."""
    second = {n for several in (*p.same, *same) for n in several[1:]}
    cells = [s for s in p.machine.states if s.name not in second and len(set(shown[s.name])) > 1]
    flags = [s.name for s in cells if s.sort == "bool"][:MOST]
    times = [s.name for s in cells if s.flows and not s.echoes and s.initial is not None][:MOST]
    for a, b in combinations(times, 2):
        for c in flags:
            for so in (True, False):
                held = [(x, y) for x, y, z in zip(shown[a], shown[b], shown[c], strict=True) if z is so]
                if len(set(held)) >= ENOUGH and all(x == y for x, y in held):
                    yield f"(=> {f'|{c}|' if so else f'(not |{c}|)'} (= |{a}| |{b}|))"
    for a, b in permutations(flags, 2):
        pairs = set(zip(shown[a], shown[b], strict=True))
        if (True, False) not in pairs:
            yield f"(=> |{a}| |{b}|)"
        if a < b and (True, True) not in pairs:
            yield f"(not (and |{a}| |{b}|))"
        if a < b and (False, False) not in pairs:
            yield f"(or |{a}| |{b}|)"


def _numbers(p: Pair) -> list[Fraction]:
    """The numbers that the rules compare with: inputs beside them make things happen."""
    found: set[Fraction] = set()
    for term in walk(s.next for s in p.machine.states):
        found |= {c.value for c in children(term) if isinstance(c, Real)}
    return sorted(found)[:200]


def _any(chance: random.Random, i: Input, at: list[Fraction]) -> Exact:
    if i.sort == "bool":
        return chance.randrange(2) == 0
    low, high = i.low or Fraction(0), i.high or Fraction(0)
    near = [n for n in at if low <= n <= high]
    if near and chance.randrange(3) > 0:
        return min(max(chance.choice(near) + chance.choice((-1, 0, 1)), low), high)
    return low + (high - low) * Fraction(chance.randrange(9), 8)
