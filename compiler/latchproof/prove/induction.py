"""Induction over one ordinary step: with nothing known, and with candidate facts filtered down to those that hold."""

from collections.abc import Sequence

import z3

from latchproof.prove.candidates import candidates
from latchproof.prove.encode import Encoder

MANY = 40
"""Cells from which on the filter is asked before the Horn engine."""


def one_step(encoder: Encoder) -> str | None:
    """The invariant "anything", when no allowed step at all reaches the goal."""
    solver = z3.SolverFor("QF_LRA")
    before, inputs, dt = encoder.state(""), encoder.inputs("@in"), z3.Real("@dt")
    frame = encoder.frame(before, inputs, dt)
    solver.add(encoder.tuned(), encoder.ordinary(dt), frame.allowed, frame.goal)
    return "true" if solver.check() == z3.unsat else None


def with_facts(encoder: Encoder) -> str | None:
    """The facts that the filter leaves, when they exclude the goal. Only for systems of many cells: in smaller ones the
    Horn engine is as quick and finds more."""
    if len(encoder.system.states) < MANY:
        return None
    known, excluded = filtered_facts(encoder)
    return z3.And(*known).sexpr() if excluded else None


def refitted(encoder: Encoder, facts: Sequence[str]) -> str | None:
    """An invariant made of these facts (formulas over state and tunes) and the candidates, if that is enough."""
    names = {**encoder.parameters, **encoder.state("")}
    more = [z3.parse_smt2_string(f"(assert {fact})", decls=names)[0] for fact in facts]
    known, excluded = filtered_facts(encoder, more)
    return z3.And(*known).sexpr() if excluded else None


def filtered_facts(encoder: Encoder, more: Sequence[z3.BoolRef] = ()) -> tuple[list[z3.BoolRef], bool]:
    """Houdini: candidate facts are dropped until the rest is true at the start and kept by every ordinary step.

    With the facts, over the state's constants, whether they exclude the goal already. `more` are candidates, too.
    """
    before, inputs, dt = encoder.state(""), encoder.inputs("@in"), z3.Real("@dt")
    frame = encoder.frame(before, inputs, dt)
    facts = _true_at_start(encoder, [*more, *candidates(encoder, before)])
    after = _all_substituted(facts, [(before[n], frame.after[n]) for n in before])
    solver = z3.SolverFor("QF_LRA")
    solver.add(encoder.tuned(), encoder.ordinary(dt), frame.allowed)
    kept = list(range(len(facts)))
    while True:
        solver.push()
        solver.add(*(facts[k] for k in kept))
        marks = [z3.Bool(f"@kept{k}") for k in kept]
        solver.add(*(m == after[k] for m, k in zip(marks, kept, strict=True)), z3.Or(*(z3.Not(m) for m in marks)))
        answer = solver.check()
        if answer == z3.sat:
            model = solver.model()
            kept = [k for k, m in zip(kept, marks, strict=True) if z3.is_true(model.eval(m, model_completion=True))]
        solver.pop()
        if answer == z3.unknown:
            return [], False
        if answer == z3.unsat:
            break
    held = [facts[k] for k in kept]
    solver.add(*held, frame.goal)
    return held, solver.check() == z3.unsat


def _all_substituted(facts: Sequence[z3.BoolRef], places: Sequence[tuple[z3.ExprRef, z3.ExprRef]]) -> list[z3.BoolRef]:
    """In one go: each call looks at all places."""
    if not facts:
        return []
    whole = z3.substitute(z3.And(*facts), *places)
    return [whole] if len(facts) == 1 else list(whole.children())


def _true_at_start(encoder: Encoder, facts: list[z3.BoolRef]) -> list[z3.BoolRef]:
    """Those that no state at power-up contradicts. A model contradicts many at once."""
    solver = z3.SolverFor("QF_LRA")
    solver.add(encoder.tuned(), encoder.initial(encoder.state("")))
    left = list(facts)
    while left:
        answer = solver.check(z3.Or(*(z3.Not(f) for f in left)))
        if answer == z3.unsat:
            return left
        if answer == z3.unknown:
            return []
        model = solver.model()
        left = [f for f in left if z3.is_true(model.eval(f, model_completion=True))]
    return []
