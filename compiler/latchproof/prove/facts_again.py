"""Whether the facts that a proof record takes for granted leave the world a next moment; asked again, by z3 alone.

Under facts that bring time to a stand nothing can ever be broken, and a record of anything would hold. The three texts
of a record do not ask about that, since the answer is the same for all records that rest on the same facts.
"""

from dataclasses import replace

from latchproof.machine.cone import cone
from latchproof.machine.model import Machine
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.recheck import Opinion
from latchproof.prove.records import subject


def with_time(opinion: Opinion, machine: Machine, progress: TimeGoesOn, seconds: float) -> Opinion:
    """What is thought of a record, after it was asked whether its facts leave time going on."""
    compared = opinion.compared
    if opinion.result != "holds" or not compared.facts:
        return opinion
    mine, property_ = subject(machine, compared.name, compared.allowance)
    found = progress.under(cone(mine, property_), seconds)
    return replace(opinion, time="too late" if found is None else "goes on" if found else "open")
