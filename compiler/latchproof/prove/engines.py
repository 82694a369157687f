"""How a worker does what it is asked to. Only here do the engines and the solver come in."""

from typing import assert_never

from latchproof.machine.flat import unflatten
from latchproof.prove.encode import Encoder
from latchproof.prove.found import Answer
from latchproof.prove.horn import horn
from latchproof.prove.induction import one_step, refitted, with_facts
from latchproof.prove.progress import always_goes_on
from latchproof.prove.recheck import certificate_holds
from latchproof.prove.search import search
from latchproof.prove.stuck import stuck
from latchproof.prove.tasks import Bounded, Horn, Induct, Progress, Recheck, RecheckAll, Refit, Result, Stick, Task


def perform(task: Task) -> Result:
    """Runs the task in this process."""
    match task:
        case Induct(flat):
            encoder = Encoder(unflatten(flat))
            return Answer(one_step(encoder) or with_facts(encoder))
        case Horn(flat, steps, effort):
            return horn(Encoder(unflatten(flat)), steps, effort=effort)
        case Refit(flat, facts):
            return Answer(refitted(Encoder(unflatten(flat)), facts))
        case Bounded(flat, holds, deepest, seconds):
            return search(Encoder(unflatten(flat)), holds=holds, deepest=deepest, seconds=seconds)
        case Recheck(flat, invariant):
            return certificate_holds(unflatten(flat), invariant)
        case RecheckAll(proofs):
            return tuple(certificate_holds(unflatten(p.system), p.invariant) for p in proofs)
        case Progress(flat):
            return always_goes_on(Encoder(unflatten(flat)))
        case Stick(flat, most):
            return stuck(Encoder(unflatten(flat)), most)
        case _:
            assert_never(task)
