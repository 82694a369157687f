"""The questions about a claim, and which of them are answered by a kept proof that stands: many checked in one go."""

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cache, cached_property
from importlib.metadata import PackageNotFoundError, version

from latchproof import __version__
from latchproof.machine.cone import System, cone
from latchproof.machine.flat import FlatSystem, flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.formulas import is_formula
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.memory import Keepsake, Memory, key_of, symbols
from latchproof.prove.tasks import Recheck, RecheckAll
from latchproof.rules.model import Claim

MOST_AT_ONCE = 24
"""Proofs that one process checks."""


@dataclass(frozen=True)
class Question:
    """A system, and the same flat for the way to a worker."""

    system: System

    @cached_property
    def flat(self) -> FlatSystem:
        return flatten(self.system)


@dataclass(frozen=True, slots=True)
class Asked:
    """A claim with the facts of the world, and without (`bare`); the same where no fact bears on it. `key` is that of
    the memory."""

    full: Question
    bare: Question
    key: str

    def proved_of(self, kept: Keepsake) -> Question | None:
        """What a kept proof is about; None if it holds none that can be one."""
        question = self.full if kept.with_facts else self.bare
        if kept.invariant is None or not is_formula(kept.invariant, symbols(question.system)):
            return None
        return question


@cache
def solver_version() -> str:
    """Which z3 will answer, told without loading it."""
    try:
        return version("z3-solver")
    except PackageNotFoundError:
        import z3

        return str(z3.get_version_string())


def asked(machine: Machine, property_: Property, claim: Claim | None) -> Asked:
    full = Question(cone(machine, property_))
    bare = Question(cone(machine, property_, facts=False)) if full.system.constraints else full
    key = key_of(property_, claim, full.system, bare.system, f"{__version__} {solver_version()}")
    return Asked(full, bare, key)


def standing(
    everything: Iterable[Asked], memory: Memory, progress: TimeGoesOn, *, seconds: float, at_once: int
) -> frozenset[str]:
    """The keys of questions whose kept proof passes the check against the system as it is now.

    Meanwhile it is asked whether time goes on under the facts that such proofs need, which `progress` then knows.
    """
    tasks: list[tuple[str, Recheck]] = []
    under_facts: list[System] = []
    for one in everything:
        kept = memory.exactly(one.key)
        question = None if kept is None else one.proved_of(kept)
        if kept is not None and kept.invariant is not None and question is not None:
            tasks.append((one.key, Recheck(question.flat, kept.invariant)))
            under_facts += [question.system] if kept.with_facts else []
    count = -(-len(tasks) // (MOST_AT_ONCE * at_once)) * at_once
    groups = [tasks[k::count] for k in range(min(count, len(tasks)))]  # neighbours take about as long as each other

    def check(group: Sequence[tuple[str, Recheck]]) -> list[str]:
        answers = progress.workers.run(RecheckAll(tuple(task for _, task in group)), seconds)
        if not isinstance(answers, tuple):
            return []
        return [key for (key, _), holds in zip(group, answers, strict=True) if holds is True]

    def ask_of_facts() -> None:
        """Each set of them once; where the time is not enough for one, whoever needs it asks again."""
        all(progress.under(system, seconds) is not None for system in under_facts)

    with ThreadPoolExecutor(max_workers=at_once + 1) as threads:
        asking = threads.submit(ask_of_facts)
        passed = frozenset(key for keys in threads.map(check, groups) for key in keys)
        asking.result()
    return passed
