"""Where induction sticks: a state that no known fact forbids, from which some cycles without a breach lead to one.

It explains why a claim is not decided, and decides nothing: whether the machine ever comes into that state is open.
"""

from collections.abc import Mapping

import z3

from latchproof.prove.encode import Encoder
from latchproof.prove.found import Stuck
from latchproof.prove.induction import filtered_facts
from latchproof.prove.unrolling import exact, number
from latchproof.run.program import Exact


def stuck(encoder: Encoder, most: int) -> Stuck | None:
    """With as many good cycles before it as still leave such a state, at most `most`; None if one cycle leaves none."""
    solver = z3.SolverFor("QF_LRA")
    here = encoder.state("@0")
    plain = encoder.state("")
    facts, _ = filtered_facts(encoder)
    to_here = [(plain[n], here[n]) for n in plain]
    solver.add(encoder.tuned(), *(z3.substitute(f, *to_here) for f in facts))
    found: Stuck | None = None
    for k in range(most + 1):
        inputs, dt = encoder.inputs(f"@in{k}"), z3.Real(f"@dt{k}")
        frame = encoder.frame(here, inputs, dt)
        solver.add(encoder.ordinary(dt), frame.allowed)
        solver.push()
        solver.add(frame.goal)
        if solver.check() != z3.sat:
            return found
        found = _read(solver.model(), encoder, here, inputs, dt, k)
        solver.pop()
        after = encoder.state(f"@{k + 1}")
        solver.add(z3.Not(frame.goal), *(after[n] == frame.after[n] for n in after))
        here = after
    return found


def _read(
    model: z3.ModelRef,
    encoder: Encoder,
    state: Mapping[str, z3.ExprRef],
    inputs: Mapping[str, z3.ExprRef],
    dt: z3.ArithRef,
    good: int,
) -> Stuck:
    def values(several: Mapping[str, z3.ExprRef]) -> dict[str, Exact]:
        return {name: exact(model.eval(x, model_completion=True)) for name, x in several.items()}

    tuned = {name: number(model, x) for name, x in encoder.parameters.items()}
    return Stuck(values(state), values(inputs), number(model, dt), tuned, good)
