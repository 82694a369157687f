"""How time and memory grow with the rules: families of rule sets (`families.py`) at growing sizes.

Processor seconds, own and of all workers, so that other work on the machine matters little; several rows are made at
once, and many claims are dealt to several processes. The peer is z3's Horn engine on ordinary steps, in a process of
its own; it is asked about the first claim only.
"""

import resource
import sys
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

import z3

from latchproof.machine.cone import cone
from latchproof.machine.model import Machine, Property
from latchproof.prove.formulas import NoFormulaError
from latchproof.prove.prover import prove
from tests.benchmarks.families import FAMILIES, SIZES
from tests.benchmarks.peer import horn_clauses
from tests.helpers.child import ChildError, Forked, in_child
from tests.helpers.rules import machine_of

LIMIT = 60.0
"""Seconds on the wall for each claim, unless others are said: more on a machine that is busy with other work."""
PEER_SECONDS = 8
"""Seconds of processor time that the peer gets."""
SHARE = 25
"""Claims that one process is dealt."""
AT_ONCE = 6
"""Rows that are made at once, and processes that the claims of a row are dealt to."""


def used() -> float:
    """Processor seconds of this process and of all its children that have ended."""
    spent = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(s.ru_utime + s.ru_stime for s in spent)


def row(family: str, size: int, limit: float) -> str:
    """One line of the table; in a process of its own, so that memory is told apart."""
    beside = peer(family, size)
    started = used()
    machine = machine_of(FAMILIES[family](size))
    built = used() - started
    dealt = [machine.properties[k : k + SHARE] for k in range(0, len(machine.properties), SHARE)]
    with ThreadPoolExecutor(AT_ONCE) as threads:
        parts = list(threads.map(lambda some: in_child(lambda: _proved(machine, some, limit), 3600), dealt))
    answers = sum((part[0] for part in parts), Counter[str]())
    spent, slowest = sum(p[1] for p in parts), max(p[2] for p in parts)
    largest, own = max(p[3] for p in parts), max(p[4] for p in parts)
    told = ", ".join(f"{n} {answer}" for answer, n in sorted(answers.items()))
    return (
        f"{family:21}{size:6}{beside or 'none':>10}{built:10.2f}{spent:10.2f}{slowest:10.2f}{largest:9}{own:8}   {told}"
    )


def _proved(
    machine: Machine, properties: Sequence[Property], limit: float
) -> tuple[Counter[str], float, float, int, int]:
    """How many of each answer, processor seconds of all and of the slowest, MB of the largest worker and of itself."""
    answers: Counter[str] = Counter()
    claims = {c.name: c for c in machine.rules.claims}
    started, slowest = used(), 0.0
    with Forked() as workers:
        for property_ in properties:
            before = used()
            answers[prove(machine, property_, claims.get(property_.name), workers, limit).answer] += 1
            slowest = max(slowest, used() - before)
    largest, own = (resource.getrusage(of).ru_maxrss // 1024 for of in (resource.RUSAGE_CHILDREN, resource.RUSAGE_SELF))
    return answers, used() - started, slowest, largest, own


def peer(family: str, size: int) -> str:
    """Seconds for the first claim; empty where there is no answer, "too long" where its text may not be that long."""
    machine = machine_of(FAMILIES[family](size))
    try:
        text = horn_clauses(cone(machine, machine.properties[0]))
    except NoFormulaError:
        return "too long"
    before = used()
    try:
        answer = in_child(lambda: _asked(text), 1200)
    except (ChildError, TimeoutError):
        return ""
    return f"{used() - before:.2f}" if answer in {"sat", "unsat"} else ""


def _asked(text: str) -> str:
    resource.setrlimit(resource.RLIMIT_CPU, (PEER_SECONDS, PEER_SECONDS))
    solver = z3.SolverFor("HORN")
    solver.from_string(text)
    return str(solver.check())


def scale(families: Sequence[str] = tuple(FAMILIES), sizes: Sequence[int] = SIZES, limit: float = LIMIT) -> None:
    print("\nprocessor seconds; MB of the largest worker and of the program itself")
    print(f"{limit:.0f} s on the wall for a claim; {AT_ONCE} rows at once")
    columns = f"{'rules':>10}{'proofs':>10}{'slowest':>10}{'worker':>9}{'own':>8}"
    print(f"{'family':21}{'size':>6}{'peer':>10}{columns}   answers")
    rows = [(family, size) for size in sorted(sizes, reverse=True) for family in families]
    with ThreadPoolExecutor(AT_ONCE) as threads:
        made = dict(zip(rows, threads.map(lambda r: _tried(*r, limit), rows), strict=True))
    for family in families:
        for size in sizes:
            print(made[family, size], flush=True)


def _tried(family: str, size: int, limit: float) -> str:
    try:
        line = in_child(lambda: row(family, size, limit), 3600)
    except (ChildError, TimeoutError) as error:
        line = f"{family:21}{size:6}   {(str(error).strip() or 'no end').splitlines()[-1][:80]}"
    print(line, file=sys.stderr, flush=True)
    return line
