"""A certificate checked again: three queries as text, built by the separate path, in a fresh solver."""

import z3

from latchproof.machine.cone import System
from latchproof.prove.smtlib import three_queries


def certificate_holds(system: System, invariant: str) -> bool | None:
    """True when all three queries are unsatisfiable; None when the solver gives up on one."""
    answers = []
    for query in three_queries(system, invariant):
        solver = z3.Solver()
        solver.from_string(query.replace("(check-sat)\n", ""))
        answers.append(solver.check())
    if any(a == z3.sat for a in answers):
        return False
    return True if all(a == z3.unsat for a in answers) else None
