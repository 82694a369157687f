"""What is said beside verdicts: promises never put to the test, things that cannot happen, facts that contradict."""

import pytest

from latchproof.prove.prover import prove_all
from latchproof.prove.workers import Workers
from latchproof.show.diagnostics import render
from latchproof.source import Source
from latchproof.strength.honest import Honest, honest
from tests.helpers.rules import machine_of

HEAD = """switch guard positions off, on
button test
sensor height { from 0 m to 100 m  step 1 m  stale after 1 s }
channel motor { rests at 0 %  from 0 % to 100 % }
"""


def looked_at(workers: Workers, text: str, time_limit: float = 60) -> Honest:
    machine = machine_of(HEAD + text)
    verdicts = tuple(prove_all(machine, workers, time_limit=time_limit, at_once=2))
    return honest(machine, verdicts, workers, time_limit=time_limit, at_once=2)


def told(workers: Workers, text: str) -> str:
    source = Source("test.latch", HEAD + text)
    return "\n\n".join(render(d, {source.name: source}) for d in looked_at(workers, text).found)


GUARD = "rule climb while guard is on and height is below 20 m { drive motor to 60 % }\n"

UNTESTED = [
    ("whenever guard is on and guard is off then motor is driven", "guard is on and guard is off"),
    ("for 1 s after (height is above 100 m) never motor is driven", "height is above 100 m"),
    ("before (motor is equal to 70 %) comes (guard is on)", "motor is equal to 70 %"),
    ("length of (motor is above 60 %) at most 1 s", "motor is above 60 %"),
    ("starts of (motor is above 60 %) at most 1 in 1 s", "motor is above 60 %"),
    ("never motor is driven while guard is on and guard is off", "guard is on and guard is off"),
    ("never motor is above 60 % since motor is above 70 %", "motor is above 70 %"),
    ("whenever guard is off then motor is free while guard is on", "guard is off"),
]


@pytest.mark.parametrize(("claim", "place"), UNTESTED)
def test_never_put_to_the_test(workers: Workers, claim: str, place: str) -> None:
    text = HEAD + GUARD + f"claim c: {claim}\n"
    found = looked_at(workers, text.removeprefix(HEAD))
    (d,) = found.found
    span = d.labels[0].span
    assert (d.code, d.severity, text[span.start : span.end]) == ("never-tested", "warning", place)
    assert [v.untested for v in found.verdicts] == [True]


TESTED = [
    "whenever motor is driven then motor is equal to 60 %",
    "for 1 s after (guard is on ends) never guard is on and guard is off",
    "before motor is driven comes (guard is on)",
    "length of motor is driven at most 1000 s while guard is on for 1 s",
    "starts of motor is driven at most 300 in 1 s",
    "never motor is above 60 %",
    "never motor is above 60 % while guard is on for 300 s",
    "never motor is above 60 % since (guard is on) begins",
]


@pytest.mark.parametrize("claim", TESTED)
def test_put_to_the_test(workers: Workers, claim: str) -> None:
    found = looked_at(workers, GUARD + f"claim c: {claim}\n")
    assert found.found == ()
    assert found.open == ()


def test_what_fails_is_not_said_to_be_untested(workers: Workers) -> None:
    found = looked_at(workers, GUARD + "claim c: never motor is driven while guard is on\n")
    assert [v.untested for v in found.verdicts] == [False]


def test_without_time_nothing_untrue_is_said(workers: Workers) -> None:
    machine = machine_of(HEAD + GUARD + "claim c: whenever guard is on and guard is off then motor is driven\n")
    verdicts = tuple(prove_all(machine, workers, time_limit=60, at_once=2))
    found = honest(machine, verdicts, workers, time_limit=0.001, at_once=2)
    assert found.open == ("c",)
    assert not [d for d in found.found if d.code != "time-stops"]


def test_a_latch_that_cannot_be_set(workers: Workers) -> None:
    assert told(
        workers, "latch on {\n  set when test is pressed and height is below 0 m\n  reset when guard is off\n}\n"
    ) == (
        "warning[never-set]: on can never be set\n"
        "  --> test.latch:5:1\n"
        "5 | latch on {\n"
        "  | ^^^^^^^^^^ whatever the pilot and the air do, it stays as it is at power-up\n"
        "hint: see whether what sets it can ever be true while nothing resets it"
    )


def test_an_action_that_never_comes(workers: Workers) -> None:
    text = (
        "latch on { set when test is pressed  reset when guard is off  timeout 2 s }\n"
        "rule climb while on {\n  drive motor to 60 %  after 3 s\n}\n"
    )
    assert told(workers, text) == (
        "warning[never-acts]: climb never comes to act on motor\n"
        "  --> test.latch:7:9\n"
        "7 |   drive motor to 60 %  after 3 s\n"
        "  |         ^^^^^ it is over before this action begins, or its amount is nothing\n"
        "hint: compare how long climb lasts with the `after` of this action"
    )


def test_a_phase_that_never_comes(workers: Workers) -> None:
    text = (
        "sequence gear while guard is on {\n"
        "  phase open until height is below 0 m { drive motor to 10 % }\n"
        "  phase shut { drive motor to 20 % }\n}\n"
    )
    assert [(d.code, d.title) for d in looked_at(workers, text).found] == [
        ("never-acts", "gear never comes to its phase shut")
    ]


def test_a_guard_without_faults(workers: Workers) -> None:
    text = (
        "latch on { set when (height is below 20 m and height is fresh) for 1 s  reset when guard is off\n"
        "  timeout 4 s then blocked until guard is off }\n"
        'rule climb while on { drive motor to 60 %  after 500 ms  announce voice "up" every 1 s }\n'
        "sequence gear while test is pressed { phase a for 1 s { } phase b { announce tone } }\n"
    )
    assert told(workers, text) == ""


def test_assumptions_that_contradict_each_other(workers: Workers) -> None:
    text = (
        "assume apart: always height is above 10 m assumed\n"
        "assume here: always guard is on assumed\n"
        "assume there: never guard is on assumed\n"
        "claim c: never motor is driven\n"
    )
    assert told(workers, text) == (
        "error[no-first-cycle]: these leave the world no way to begin\n"
        "  --> test.latch:6:1\n"
        "6 | assume here: always guard is on assumed\n"
        "  | ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ this\n"
        "7 | assume there: never guard is on assumed\n"
        "  | --------------------------------------- and this\n"
        "hint: no flight keeps to all of them, so everything would be proved of it:\n"
        "      change or take back one"
    )


def test_facts_that_may_stop_time(workers: Workers) -> None:
    text = (
        "assume soon: whenever test is pressed then guard is on within 0.5 s assumed\n"
        "assume apart: length of (guard is on) at least 0.2 s assumed\n"
    )
    (d,) = looked_at(workers, text).found
    assert (d.code, d.severity) == ("time-stops", "warning")
    assert [(HEAD + text)[x.span.start :].split(":")[0] for x in d.labels] == ["assume soon"]


def test_an_assumption_that_a_switch_can_keep(workers: Workers) -> None:
    text = "assume on: always guard is on assumed\nassume apart: never test is pressed and (guard is on ends) assumed\n"
    assert looked_at(workers, text).found == ()
