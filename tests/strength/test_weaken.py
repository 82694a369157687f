"""Every way to weaken rules by one step, in the words that a pilot reads."""

from latchproof.machine.compile import compile_rules
from latchproof.rules.model import RuleSet
from latchproof.show.weakenings import changed
from latchproof.show.wording import Wording
from latchproof.strength.weaken import weakenings
from tests.helpers.rules import rules_of

RULES = """
switch guard positions off, on
button test
stick throttle from 0 % to 100 %
sensor alt { from 0 m to 200 m  step 0.5 m  stale after 1 s }
tune floor = 40 m from 30 m to 50 m
channel motor { follows throttle  from 0 % to 100 % }
channel flap { rests at 0 %  from -100 % to 100 %  up is positive }
signal low = (alt is below floor and alt is fresh) for 0.3 s
signal only_for_promises = guard is on and test is pressed
latch saving {
  set when   low
  reset when not (guard is on)
  reset when alt is below 50 m until above 60 m
  timeout 3 s then blocked until test is pressed
}
counter tries { counts saving begins  clears when guard is off  at most 5 }
rule climb while saving and tries is at most 3 {
  drive motor to 95 %  after 1 s  ramp up 40 %/s  hand back 20 %/s
  move flap up by 10 %
  announce voice "low" every 2 s
}
rule cut while test is pressed { drive motor to 0 % }
priority cut over climb
claim c: never only_for_promises and motor is driven while guard is off
"""

EXPECTED = """
signal low: `(alt is below floor and alt is fresh) for 0.3 s` were only `alt is below floor and alt is fresh`
signal low: `alt is below floor` were left out
signal low: `alt is fresh` were left out
signal low: `alt is below floor` were `alt is above floor`
signal low: `alt is below floor` were `alt is below floor + 5 m`
signal low: `alt is below floor` were `alt is below floor - 5 m`
signal low: `alt is fresh` were `alt is stale`
latch saving: `set when low` were missing
latch saving: `reset when not guard is on` were missing
latch saving: the `not` of `not guard is on` were missing
latch saving: `guard is on` were `guard is off`
latch saving: `reset when alt is below 50 m until above 60 m` were missing
latch saving: `alt is below 50 m until above 60 m` were only `alt is below 50 m`
latch saving: set and reset were swapped
latch saving: set won when both are asked for, not reset
latch saving: `timeout 3 s then blocked until test is pressed` were missing
latch saving: it could be set again right after its time-out, without `blocked until test is pressed`
latch saving: `test is pressed` were `not test is pressed`
counter tries: `saving begins` were only `saving`
counter tries: `clears when guard is off` were missing
counter tries: `guard is off` were `guard is on`
rule climb: `saving` were left out
rule climb: `tries is at most 3` were left out
rule climb: `tries is at most 3` were `tries is at least 3`
rule climb: `tries is at most 3` were `tries is at most 4`
rule climb: `tries is at most 3` were `tries is at most 2`
rule climb: `drive motor to 95 %` were missing
rule climb: `drive motor to 95 %` were `drive motor to 85 %`
rule climb: `drive motor to 95 %` had no `after 1 s`
rule climb: `drive motor to 95 %` had no `ramp up 40 %/s`
rule climb: `drive motor to 95 %` had no `hand back 20 %/s`
rule climb: `move flap up by 10 %` were missing
rule climb: `move flap up by 10 %` were `move flap down by 10 %`
rule climb: `move flap up by 10 %` were `move flap up by 11 %`
rule climb: `announce voice "low"` were missing
rule climb: `announce voice "low"` had no `every 2 s`
rule cut: `test is pressed` were `not test is pressed`
rule cut: `drive motor to 0 %` were missing
rule cut: `drive motor to 0 %` were `drive motor to 1 %`
priority cut: `priority cut over climb` were missing
"""


def told(rules: RuleSet) -> list[str]:
    w = Wording.of(rules)
    return [f"{x.place.noun} {x.place.name}: {changed(x, w)}" for x in weakenings(rules)]


def test_all_of_them_in_the_order_of_the_text() -> None:
    assert told(rules_of(RULES)) == EXPECTED.strip().splitlines()


def test_each_changes_one_thing_and_no_promise() -> None:
    rules = rules_of(RULES)
    for x in weakenings(rules):
        assert x.rules != rules
        assert (x.rules.claims, x.rules.sensors, x.rules.tunes) == (rules.claims, rules.sensors, rules.tunes)


def test_each_is_a_rule_set_or_goes_round_in_a_circle() -> None:
    for x in weakenings(rules_of(RULES)):
        machine, problems = compile_rules(x.rules)
        assert (machine is None) == bool(problems)


def test_the_place_is_what_was_changed() -> None:
    places = {RULES[x.span.start : x.span.end] for x in weakenings(rules_of(RULES))}
    assert {"alt is below floor", "alt is fresh", "test is pressed", "saving begins"} <= places


def test_two_ramps_of_the_same_speed_are_told_apart() -> None:
    rules = rules_of(RULES.replace("ramp up 40 %/s", "ramp up 40 %/s  ramp down 40 %/s"))
    lines = [line for line in told(rules) if " had no `ramp" in line]
    assert [line.partition("no `")[2] for line in lines] == ["ramp up 40 %/s`", "ramp down 40 %/s`"]
