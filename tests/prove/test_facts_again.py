"""Whether a record's facts leave a next moment, asked again when the record is checked."""

from latchproof.prove import facts_again
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.recheck import Opinion, compare
from latchproof.prove.records import Proof, origin_of, records
from latchproof.prove.solvers import ask
from latchproof.prove.workers import Workers
from tests.helpers.rules import machine_of

CALM = """rules "Facts" version "1"
cycle from 10 ms to 50 ms
button a
stick x from 0 % to 100 %
assume calm: whenever a is pressed then x is at most 40 %
claim low: never a is pressed and x is above 50 %
"""
STOPPED = CALM + "assume full: always x is above 60 %\nassume less: always x is below 40 %\n"


def thought_of(text: str, seconds: float = 20) -> Opinion:
    """Of a record of the claim that states nothing but what the facts say."""
    machine = machine_of(text)
    origin = origin_of(machine, [], None)
    files = records(machine, [Proof("low", True, ("true",))], origin, "this")
    (compared,) = compare(machine, origin, "this", {name: text.encode() for name, text in files.items()}).claims
    assert not compared.refused
    opinion = Opinion(compared, {"z3": tuple(ask("z3", script) for script in compared.scripts)})
    assert opinion.result == "holds", "the three questions alone have no answer"
    with Workers() as workers:
        return facts_again.with_time(opinion, machine, TimeGoesOn(workers), seconds)


def test_facts_that_leave_a_way() -> None:
    opinion = thought_of(CALM)
    assert (opinion.result, opinion.time) == ("holds", "goes on")


def test_facts_that_stop_time() -> None:
    opinion = thought_of(STOPPED)
    assert (opinion.result, opinion.time) == ("not decided", "open")


def test_without_the_seconds_for_it() -> None:
    opinion = thought_of(CALM, seconds=0)
    assert (opinion.result, opinion.time) == ("not decided", "too late")
