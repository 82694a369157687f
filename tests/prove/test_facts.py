"""Facts must not stop time, tunes and cycle times are for all values, and no engine is believed without a check."""

import pytest

from latchproof.prove.prover import prove, prove_all
from latchproof.prove.workers import Workers
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import machine_of

HEAD = """rules "Facts" version "1"
cycle from 10 ms to 50 ms
button a  button b
stick x from 0 % to 100 %
sensor height { from 0 m to 100 m  changes from -10 m/s to 10 m/s }
tune delay = 1 s from 0.5 s to 2 s
fact pull = 1 s to 3 s assumed
"""


def answer(claim: str, more: str, workers: Workers) -> str:
    machine = machine_of(f"{HEAD}{more}\nclaim c: {claim}\n")
    verdict = prove(machine, machine.properties[0], machine.rules.claims[0], workers, 20)
    if verdict.answer == "refuted" or "assume" not in more:
        check_verdict(machine, machine.properties[0], machine.rules.claims[0], verdict, workers, cycles=40)
    return verdict.answer


@pytest.mark.parametrize(
    "assumptions",
    [
        "assume one: always a is pressed  assume two: never a is pressed",
        "assume one: always x is above 60 %  assume two: always x is below 40 %",
        "assume one: whenever a is pressed then b is pressed within 0.2 s  assume two: never b is pressed "
        " assume three: always a is pressed",
    ],
)
def test_facts_that_stop_time_prove_nothing(assumptions: str, workers: Workers) -> None:
    assert answer("never a is pressed and x is above 50 %", assumptions, workers) != "proved"


def test_a_sensor_that_must_rise_for_ever_proves_nothing(workers: Workers) -> None:
    rising = "sensor up { from 0 m to 10 m  changes from 1 m/s to 2 m/s }"
    assert answer("never truth of up is above 5 m and a is pressed", rising, workers) != "proved"


def test_an_assumption_that_leaves_a_way_is_used(workers: Workers) -> None:
    claim = "never a is pressed and x is above 50 %"
    assert answer(claim, "", workers) == "refuted"
    assert answer(claim, "assume calm: whenever a is pressed then x is at most 50 %", workers) == "proved"
    assert answer(claim, "assume calm: whenever a is pressed then x is at most 51 %", workers) == "refuted"


def test_an_assumption_elsewhere_changes_nothing(workers: Workers) -> None:
    assert answer("always x is at most 100 %", "assume other: never b is pressed", workers) == "proved"


@pytest.mark.parametrize(
    ("claim", "expected"),
    [
        ("length of (a is pressed pulsed delay) at most 2.05 s", "proved"),
        ("length of (a is pressed pulsed delay) at most 2.04 s", "refuted"),
        ("length of (a is pressed pulsed delay) at least 0.5 s", "proved"),
        ("length of (a is pressed pulsed delay) at least 0.51 s", "refuted"),
        ("length of (a is pressed pulsed pull) at most 3.05 s", "proved"),
        ("length of (a is pressed pulsed pull) at most 3 s", "refuted"),
        ("always delay is at most pull", "refuted"),
        ("always delay is at least 0.5 s", "proved"),
    ],
)
def test_every_value_of_a_tune_and_of_a_span_counts(claim: str, expected: str, workers: Workers) -> None:
    """Down to one cycle: the longest is 50 ms."""
    assert answer(claim, "", workers) == expected


def test_a_require_is_used_and_no_more_than_it_says(workers: Workers) -> None:
    more = "tune other = 1 s from 0.5 s to 2 s  require other is at least delay"
    assert answer("always other is at least delay", more, workers) == "proved"
    assert answer("always other is above delay", more, workers) == "refuted"


@pytest.mark.parametrize("span", ["0.3 s", "3 s", "30 s", "300 s"])
def test_long_delays_are_no_matter(span: str, workers: Workers) -> None:
    held = f"signal held = a is pressed for {span}"
    assert answer(f"before held comes (a is pressed for {span})", held, workers) == "proved"
    assert answer("never held", held, workers) == "refuted"


def test_the_same_question_has_the_same_answer(workers: Workers) -> None:
    text = f"{HEAD}latch on {{ set when a is pressed for delay  reset when b is pressed  timeout pull }}\n"
    text += "claim one: length of on at most 3.05 s\nclaim two: never on\nclaim three: can on then not on\n"
    told = []
    for _ in range(2):
        verdicts = sorted(prove_all(machine_of(text), workers, time_limit=20, at_once=2), key=lambda v: v.claim)
        told.append([(v.claim, v.answer, v.certificate, v.trace and v.trace.world) for v in verdicts])
    assert told[0] == told[1]
    assert [answer for _, answer, _, _ in told[0]] == ["proved", "proved", "refuted"]
