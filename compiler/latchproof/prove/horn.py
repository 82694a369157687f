"""z3's Horn engine on the steps of a system: an invariant, or word that the goal can be reached."""

import z3

from latchproof.prove.encode import Encoder, constant, equal
from latchproof.prove.found import Answer as Answer
from latchproof.prove.holds import hold
from latchproof.prove.induction import filtered_facts
from latchproof.prove.tasks import Steps

OPTIONS = {
    "engine": "spacer",
    "xform.slice": False,
    "xform.inline_linear": False,
    "xform.inline_eager": False,
    "spacer.weak_abs": False,
    "spacer.eq_prop": False,
    "spacer.simplify_lemmas_post": True,
}
"""The clauses as they stand, since a relation that was inlined away has no invariant to give; the engine's own options
were the quickest of those tried on the examples' claims about counts and windows."""


def horn(encoder: Encoder, steps: Steps, goal_state: z3.BoolRef | None = None, *, effort: int = 0) -> Answer:
    """Whether the goal can be reached by such steps; with `goal_state` (over the state before a step) that instead.

    The harder question, with holds, is put together with the facts that a filter finds first. With an `effort` the
    engine stops after so many of the solver's own small steps, which are the same on every machine.
    Raises z3.Z3Exception when the engine gives up.
    """
    before, inputs, dt = encoder.state(""), encoder.inputs("@in"), z3.Real("@dt")
    known: list[z3.BoolRef] = []
    if steps == "ordinary and holds":
        known, excluded = filtered_facts(encoder)
        if excluded and goal_state is None:
            return Answer(invariant=z3.And(*known).sexpr())
    tunes = list(encoder.parameters.values())
    relation = z3.Function("reached", *(x.sort() for x in (*tunes, *before.values())), z3.BoolSort())
    goal = z3.Function("goal", z3.BoolSort())
    following = {s.name: constant(f"{s.name}@next", s.sort) for s in encoder.system.states}
    here, there = relation(*tunes, *before.values()), relation(*tunes, *following.values())
    frame = encoder.frame(before, inputs, dt)
    bounds = dt > 0 if steps == "free" else encoder.ordinary(dt)

    engine = z3.Fixedpoint()
    engine.set(**OPTIONS)
    if effort:
        engine.set(rlimit=effort)
    engine.register_relation(relation, goal)
    engine.declare_var(*tunes, *before.values(), *inputs.values(), *following.values(), dt)
    engine.rule(here, [encoder.tuned(), encoder.initial(before)])
    engine.rule(there, [here, bounds, frame.allowed, equal(following, frame.after)])
    if steps == "ordinary and holds":
        long = hold(encoder, before, inputs, dt, idle_parts=False)
        engine.rule(there, [here, long.condition, equal(following, long.frame.after)])
    engine.rule(goal(), [here, bounds, frame.allowed, frame.goal] if goal_state is None else [here, goal_state])
    places = [(x, z3.Var(k, x.sort())) for k, x in enumerate((*tunes, *before.values()))]
    if known:
        engine.add_cover(-1, relation, z3.substitute(z3.And(*known), *places))
    try:
        answer = engine.query(goal())
    except z3.Z3Exception as error:
        if effort and "resource limit" in str(error):
            return Answer(reason="it was not worth more effort")
        raise
    if answer == z3.sat:
        return Answer(reached=True)
    if answer == z3.unknown:
        return Answer(reason=engine.reason_unknown())
    found = z3.substitute_vars(engine.get_cover_delta(-1, relation), *tunes, *before.values())
    return Answer(invariant=z3.And(found, *known).sexpr())
