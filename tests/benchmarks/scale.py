"""How time and memory grow with the rules: families of rule sets (`families.py`) at growing sizes.

Processor seconds, own and of all workers, so that other work on the machine matters little. The peer is z3's Horn
engine on ordinary steps, in a process of its own; it is asked about the first claim only.
"""

import resource
from collections import Counter
from collections.abc import Sequence

import z3

from latchproof.machine.cone import cone
from latchproof.prove.prover import prove
from tests.benchmarks.families import FAMILIES, SIZES
from tests.benchmarks.peer import horn_clauses
from tests.helpers.child import ChildError, Forked, in_child
from tests.helpers.rules import machine_of

LIMIT = 60.0
"""Seconds on the wall for each claim."""
PEER_SECONDS = 8
"""Seconds of processor time that the peer gets. Where it has no answer it is not asked about larger sizes."""


def used() -> float:
    """Processor seconds of this process and of all its children that have ended."""
    spent = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(s.ru_utime + s.ru_stime for s in spent)


def row(family: str, size: int, beside: str) -> str:
    """One line of the table; in a process of its own, so that memory is told apart."""
    started = used()
    machine = machine_of(FAMILIES[family](size))
    built = used()
    answers: Counter[str] = Counter()
    slowest = 0.0
    claims = {c.name: c for c in machine.rules.claims}
    with Forked() as workers:
        for property_ in machine.properties:
            before = used()
            answers[prove(machine, property_, claims.get(property_.name), workers, LIMIT).answer] += 1
            slowest = max(slowest, used() - before)
    proved = used()
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    told = ", ".join(f"{n} {answer}" for answer, n in sorted(answers.items()))
    return (
        f"{family:21}{size:6}{beside or 'none':>10}{built - started:10.2f}{proved - built:10.2f}{slowest:10.2f}"
        f"{largest:9}{own:8}   {told}"
    )


def peer(family: str, size: int) -> str:
    """Seconds for the first claim; empty where there is no answer."""
    machine = machine_of(FAMILIES[family](size))
    text = horn_clauses(cone(machine, machine.properties[0]))
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


def scale(families: Sequence[str] = tuple(FAMILIES), sizes: Sequence[int] = SIZES) -> None:
    print("\nprocessor seconds; MB of the largest worker and of the program itself")
    columns = f"{'rules':>10}{'proofs':>10}{'slowest':>10}{'worker':>9}{'own':>8}"
    print(f"{'family':21}{'size':>6}{'peer':>10}{columns}   answers")
    for family in families:
        beside = "0"
        for size in sizes:
            try:
                beside = beside and in_child(lambda: peer(family, size), 3600)  # noqa: B023
                print(in_child(lambda: row(family, size, beside), 3600), flush=True)  # noqa: B023
            except ChildError as error:
                print(f"{family:21}{size:6}   {str(error).strip().splitlines()[-1][:80]}", flush=True)
