"""The least allowance with which a claim holds on a device whose entries read one another late.

First without any; then with as many cycles as the longest chain of references, and if that is enough, fewer by halves.
Each is a proof of its own. Whatever the time does not reach leaves a larger allowance, never a smaller one.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from threading import Lock

from latchproof.machine.allowance import allowed
from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine, Property
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Claim

Prove = Callable[[Machine, Property, Claim | None, float], Verdict]
"""The verdict on one property of a machine within so many seconds."""


@dataclass
class Allowing:
    """The machine whose claims allow for a number of cycles, each made once."""

    machine: Machine
    _made: dict[int, Machine] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def by(self, cycles: int) -> Machine:
        with self._lock:
            if cycles not in self._made:
                claims = self.machine.rules.claims
                self._made[cycles] = allowing(self.machine, {c.name: cycles for c in claims} if cycles else {})
            return self._made[cycles]


def allowing(machine: Machine, cycles: dict[str, int]) -> Machine:
    """The same machine with claims that allow for so many cycles."""
    if cycles == machine.allowances:
        return machine
    made, _ = compile_rules(machine.rules, allowances=cycles)
    assert made is not None
    return made


def decided_by(machine: Machine, *verdicts: Verdict) -> Machine:
    """The machine of which these verdicts speak: each claim with the allowance that its verdict names."""
    return allowing(machine, {v.claim: v.allowance for v in verdicts if v.allowance})


def is_least(verdict: Verdict) -> bool:
    """Whether every lesser allowance is known not to be enough; else some were not decided in time."""
    return all(v.answer != "unknown" for v in verdict.tried)


def least(allowing_: Allowing, property_: Property, claim: Claim | None, prove: Prove, limit: float) -> Verdict:
    """The verdict on a claim, and the allowance it speaks of. A claim that fails does so with the greatest."""
    machine = allowing_.machine
    most = 0 if claim is None else allowed(claim, machine.chain, machine.rules)
    if not most:
        return prove(machine, property_, claim, limit)
    started = time.monotonic()

    def left() -> float:
        return limit - (time.monotonic() - started)

    def attempt(cycles: int, seconds: float) -> Verdict:
        wider = allowing_.by(cycles)
        mine = next(p for p in wider.properties if p.name == property_.name)
        return replace(prove(wider, mine, claim, seconds), allowance=cycles)

    tried = []
    first = prove(machine, property_, claim, limit / 2)  # what it does not need is left to the others
    if first.answer == "proved" or first.broken:
        return first
    tried.append(first)
    best = attempt(most, left())
    if best.answer != "proved":
        return _summed(best, tried, limit - left())
    low, high = 0, most
    while high - low > 1 and left() > 0:
        middle = (low + high) // 2
        found = attempt(middle, left())
        if found.broken:
            return found
        tried.append(best if found.answer == "proved" else found)
        if found.answer == "proved":
            best, high = found, middle
        else:
            low = middle
    return _summed(best, tried, limit - left())


def _summed(verdict: Verdict, tried: list[Verdict], seconds: float) -> Verdict:
    """With what was found on the way, and what the whole search took."""
    return replace(verdict, seconds=max(verdict.seconds, seconds), tried=tuple(tried))
