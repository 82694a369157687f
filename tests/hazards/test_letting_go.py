"""What concerns whom: rules that keep a motor off on purpose, rules with a switch of their own, and the choice between
being free at once and coming back slowly."""

import json

import pytest

from latchproof.hazards.model import Check, Finding, NotApplicable, Procedure
from latchproof.hazards.written import modifier, whole
from latchproof.prove.workers import Workers
from latchproof.rules.model import Drive, Limit, Move
from latchproof.show.hazards import bad_news
from latchproof.show.hazards_json import as_json
from tests.helpers.hazards import findings, site_of

START = """rules "Letting go"

switch guard       positions off, on
switch motor_stop  positions run, stop
stick  throttle    from 0 % to 100 %

role arm  is guard is on
role kill is motor_stop is stop

sensor height {
  from 0 m to 300 m
  stale after 2 s
}

channel motor { follows throttle  from 0 % to 100 % }

rule cut while kill { drive motor to 0 % }
"""


def found(text: str, hazard: str, workers: Workers) -> tuple[Finding, ...]:
    return findings(site_of(START + text), [hazard], workers)


def about(text: str, hazard: str, workers: Workers) -> dict[str, str]:
    return {f.about: f.state for f in found(text, hazard, workers)}


def test_a_motor_kept_off_until_the_switch_is_on_is_no_guard_that_holds_on(workers: Workers) -> None:
    text = "rule asleep while guard is off { drive motor to 0 % }"
    (only,) = found(text, "H12", workers)
    assert isinstance(only.outcome, NotApplicable)


def test_a_motor_kept_off_by_the_guard_has_to_be_given_back(workers: Workers) -> None:
    text = """latch spent {
  set when   (guard is on and throttle is above 50 %) for 9 s
  reset when throttle is at most 2 %
}
rule still while spent { drive motor to 0 % }"""
    assert about(text, "H12", workers) == {"still": "fails"}


def test_a_rule_without_any_switch_cannot_be_switched_off(workers: Workers) -> None:
    text = "rule low while height is fresh and height is below 20 m { limit motor to at least 50 % }"
    assert about(text, "H12", workers) == {"low": "fails"}


def test_a_rule_with_a_switch_of_its_own_is_left_to_that_switch(workers: Workers) -> None:
    text = """switch limiter positions off, on
rule less while limiter is on and height is above 100 m { limit motor to at most 50 % }"""
    (only,) = found(text, "H12", workers)
    assert isinstance(only.outcome, NotApplicable)


def test_power_that_only_falls_is_no_jump(workers: Workers) -> None:
    text = "rule low while guard is on and height is below 20 m { limit motor to at least 90 % }"
    (only,) = found(text, "H13", workers)
    assert isinstance(only.outcome, NotApplicable)


def test_a_small_step_is_no_jump_and_a_larger_one_is(workers: Workers) -> None:
    text = "rule high while guard is on and height is above 90 m { limit motor to at most %s }"
    assert about(text % "70 %", "H13", workers) == {"high": "proved", "motor": "proved"}
    assert about(text % "69 %", "H13", workers) == {"high": "fails", "motor": "fails"}


def test_a_motor_stop_that_ends_in_the_same_cycle_is_no_jump_of_the_guard(workers: Workers) -> None:
    text = "rule high while guard is on and height is above 90 m and kill { limit motor to at most 10 % }"
    assert about(text, "H13", workers)["high"] == "proved"


def test_the_choice_is_told_with_both_examples(workers: Workers) -> None:
    text = "rule high while guard is on and height is above 90 m { limit motor to at most 20 % }"
    several = found(text, "H13", workers)
    choice = next(f for f in several if f.about == "motor")
    assert choice.otherwise is not None
    assert choice.otherwise.hazard == "H12"
    assert (choice.state, choice.otherwise.state) == ("fails", "fails")
    said = bad_news([choice])
    first, _, second = said.partition("You cannot have both. Done the other way, this happens:")
    assert first.count("broken here:") == 1
    assert "high lets go at once (if motor came back slowly instead)" in " ".join(second.split())
    assert second.count("broken here:") == 1
    assert "accept H13 in motor because" in second
    assert "hand back 40 %/s" in second
    site = site_of(START + text)
    (row,) = json.loads(as_json("x.latch", [several], [], site.sources))["hazards"]
    (other,) = [f["otherwise"] for f in row["findings"] if f["in"] == "motor"]
    assert other["hazard"] == "H12"
    assert other["state"] == "fails"


def test_a_slow_return_shows_the_jump_that_it_avoids(workers: Workers) -> None:
    text = "rule high while guard is on and height is above 90 m { limit motor to at most 20 %  hand back 20 %/s }"
    (only,) = found(text, "H12", workers)
    assert only.otherwise is not None
    assert (only.state, only.otherwise.hazard, only.otherwise.state) == ("fails", "H13", "fails")


def test_what_is_proved_tells_of_no_choice(workers: Workers) -> None:
    text = "rule high while guard is on and height is above 90 m { limit motor to at most 80 %  hand back 20 %/s }"
    (only,) = found(text, "H12", workers)
    assert only.otherwise is not None
    assert only.otherwise.state == "proved"
    assert "cannot have both" not in bad_news([only])


@pytest.mark.parametrize(("rate", "state"), [("150 %/s", "proved"), ("151 %/s", "fails")])
def test_as_fast_as_common_practice_and_no_faster(workers: Workers, rate: str, state: str) -> None:
    text = f"rule low while guard is on and height is below 20 m {{ drive motor to 60 %  ramp up {rate} }}"
    assert {f.state for f in found(text, "H24", workers) if isinstance(f.outcome, Check)} == {state}


def test_the_file_s_own_figure_counts(workers: Workers) -> None:
    text = """fact ramp_rate = 20 %/s  assumed
fact rise_time = 4 s  assumed
rule low while guard is on and height is below 20 m { drive motor to 80 %  ramp up 20 %/s }"""
    assert {f.state for f in found(text, "H24", workers)} == {"proved"}
    assert {f.state for f in found(text.replace("4 s", "3.5 s"), "H24", workers)} == {"proved", "fails"}


def test_who_wins_is_a_step_for_the_pilot(workers: Workers) -> None:
    text = "rule low while guard is on and height is below 20 m { drive motor to 60 %  ramp up 80 %/s }"
    (step,) = found(text, "H18", workers)
    assert isinstance(step.outcome, Procedure)
    assert "low, cut. On a transmitter whose first line wins: cut, low" in step.outcome.step


def test_rules_that_never_meet_need_no_order(workers: Workers) -> None:
    text = """rule low while guard is on and height is below 20 m { drive motor to 60 %  ramp up 80 %/s }
rule high while guard is on and height is above 80 m { drive motor to 10 % }"""
    assert about(text, "H17", workers)["low"] == "proved"
    assert about(text.replace("above 80 m", "above 10 m"), "H17", workers)["low"] == "fails"


def test_an_action_is_found_with_its_modifiers_and_without_comments() -> None:
    text = """channel flaps { rests at 0 %  from 0 % to 100 % }
rule low while guard is on {
  drive motor, flaps to larger of (20 %, 30 %)  # drive it
      ramp up 50 %/s  after 1 s  hand back 20 %/s  # slowly
  announce voice "drive back"
}"""
    site = site_of(START + text)
    low = next(r for r in site.rules.rules if r.name == "low")
    for action in low.actions:
        if isinstance(action, Drive | Move | Limit):
            written = site.text(whole(site, action).span)
            assert written.startswith("drive motor, flaps to larger of (20 %, 30 %)")
            assert written.endswith("hand back 20 %/s")
            part = modifier(site, action, "hand back")
            assert part is not None
            assert site.text(part.span) == "  hand back 20 %/s"
            part = modifier(site, action, "after")
            assert part is not None
            assert site.text(part.span) == "  after 1 s"
            assert modifier(site, action, "ramp down") is None
