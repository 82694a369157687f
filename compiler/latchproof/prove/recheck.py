"""A proof checked again: three questions as text, made by the separate path, each put to a fresh solver."""

from latchproof.machine.cone import System
from latchproof.prove.formulas import NoFormulaError
from latchproof.prove.smtlib import three_queries
from latchproof.prove.solvers import ask
from latchproof.prove.statement import from_engine


def certificate_holds(system: System, invariant: str) -> bool | None:
    """True when none of the three questions has an answer, False when one has; None when the solver gives up, or when
    the invariant is not one that can be written down."""
    try:
        statement = from_engine(system, invariant)
    except NoFormulaError:
        return None
    answers = [ask("z3", query.script()) for query in three_queries(system, statement)]
    if "sat" in answers:
        return False
    return True if all(a == "unsat" for a in answers) else None
