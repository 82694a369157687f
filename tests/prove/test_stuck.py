"""Where a proof sticks: a state that no fact forbids, from which some good cycles lead to a breach."""

import pytest

from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.prove.found import Stuck
from latchproof.prove.prover import prove_all
from latchproof.prove.tasks import Stick
from latchproof.prove.workers import Workers
from latchproof.show.stuck import sentence
from latchproof.strength.honest import honest
from tests.helpers.rules import machine_of

RULES = """cycle from 10 ms to 20 ms
switch guard positions off, on
button test
sensor height { from 0 m to 100 m  step 1 m  stale after 1 s }
channel motor { rests at 0 %  from 0 % to 100 % }
latch one { set when test is pressed  reset when guard is off }
latch two { set when one and height is below 20 m  reset when guard is off }
rule climb while two { drive motor to 60 % }
"""


def stick(workers: Workers, claim: str, most: int) -> tuple[Stuck | None, str]:
    machine = machine_of(RULES + f"claim c: {claim}\n")
    answer = workers.run(Stick(flatten(cone(machine, machine.properties[0])), most), 60)
    assert answer is None or isinstance(answer, Stuck), answer
    return answer, "" if answer is None else sentence(answer, machine.rules)


def test_the_state_before_the_breach(workers: Workers) -> None:
    found, said = stick(workers, "never two and height is above 90 m", 0)
    assert found is not None
    assert (found.good, found.state["two"] or found.state["one"]) == (0, True)
    assert said.startswith("The proof sticks here: if ever ")
    assert said.endswith(" breaks it. Nobody knows whether the rules ever come into this state.")


def test_good_cycles_before_it(workers: Workers) -> None:
    found, said = stick(workers, "never two and height is above 90 m", 2)
    assert found is not None
    assert found.good == 2
    assert "and it was kept for 2 cycles before," in said


def test_what_no_state_allows_does_not_stick(workers: Workers) -> None:
    assert stick(workers, "never two and guard is off", 2) == (None, "")


def test_what_is_not_decided_tells_where_it_sticks(workers: Workers) -> None:
    """A time limit that leaves no engine a chance; the question where it sticks has a time of its own."""
    machine = machine_of(RULES + "claim c: starts of two at most 30 in 60 s\n")
    verdicts = tuple(prove_all(machine, workers, time_limit=0.001, at_once=2))
    assert [v.answer for v in verdicts] == ["unknown"]
    told = honest(machine, verdicts, workers, time_limit=60, at_once=2)
    assert told.verdicts[0].stuck is not None


@pytest.mark.parametrize(("claim", "answer"), [("never two while guard is off", "proved"), ("never two", "refuted")])
def test_what_is_decided_does_not(workers: Workers, claim: str, answer: str) -> None:
    machine = machine_of(RULES + f"claim c: {claim}\n")
    verdicts = tuple(prove_all(machine, workers, time_limit=60, at_once=2))
    told = honest(machine, verdicts, workers, time_limit=60, at_once=2)
    assert [(v.answer, v.stuck) for v in told.verdicts] == [(answer, None)]
