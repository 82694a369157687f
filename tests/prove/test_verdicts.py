"""Claims of every form, one that holds and one that does not, each verdict held to the six assertions."""

import pytest

from latchproof.machine.model import Fight
from latchproof.prove.prover import prove
from latchproof.prove.workers import Workers
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import machine_of
from tests.prove.small import PROVED, REFUTED, text

SECONDS = 60


def settled(claim: str, answer: str, workers: Workers) -> None:
    machine = machine_of(text(claim))
    property_, written = machine.properties[0], machine.rules.claims[0]
    verdict = prove(machine, property_, written, workers, SECONDS)
    assert verdict.answer == answer, verdict.reason
    check_verdict(machine, property_, written, verdict, workers)


@pytest.mark.parametrize("form", PROVED)
def test_what_holds_is_proved(form: str, workers: Workers) -> None:
    settled(PROVED[form], "proved", workers)


@pytest.mark.parametrize("form", REFUTED)
def test_what_does_not_hold_is_refuted(form: str, workers: Workers) -> None:
    settled(REFUTED[form], "refuted", workers)


def test_two_drives_that_meet_are_found(workers: Workers) -> None:
    """Nobody claims it, and yet it is looked for; with a priority the question does not arise."""
    fight = "rule other while test is pressed { drive motor to 10 % }\n"
    machine = machine_of(text() + fight)
    property_ = machine.properties[0]
    assert property_.unwritten == Fight("motor", "climb", "other")
    verdict = prove(machine, property_, None, workers, SECONDS)
    assert verdict.answer == "refuted"
    check_verdict(machine, property_, None, verdict, workers)
    assert not machine_of(text() + fight + "priority climb over other\n").properties


def test_no_time_gives_no_verdict(workers: Workers) -> None:
    machine = machine_of(text(PROVED["length"]))
    verdict = prove(machine, machine.properties[0], machine.rules.claims[0], workers, 0.001)
    assert verdict.answer == "unknown"
    check_verdict(machine, machine.properties[0], machine.rules.claims[0], verdict, workers)
