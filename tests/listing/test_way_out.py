"""The first line never says more than the rules make sure."""

import re
from dataclasses import replace

import pytest

from latchproof import pipeline
from latchproof.listing import build
from latchproof.listing.model import WayOut
from latchproof.machine.stage import at_stage
from latchproof.prove.verdicts import Answer, Verdict
from latchproof.prove.workers import Workers
from latchproof.transmitter.generic import generic
from tests.listing.cases import EXAMPLES, USUAL, load, rules

SENSOR = "sensor height { from 0 m to 100 m stale after 1 s }\n"


def out(text: str) -> WayOut:
    return build(rules(USUAL + SENSOR + text)).way_out


FREED = [
        ("rule r while guard is on and height is below 9 m { drive motor to 40 % }", "at once"),
        ("rule r while guard is on { drive motor to 40 % hand back 50 %/s }", "after at most 2 s"),
        ("rule r while guard is on { move motor more by 8 % hand back 4 %/s }", "after at most 2 s"),
        ("rule r while guard is on { limit motor to at most 8 % hand back 200 %/s }", "after at most 0.5 s"),
        ("rule r while guard is on { drive motor to 40 % ramp up 5 %/s after 2 s }", "at once"),
        ("rule r while (guard is on) extended 3 s { drive motor to 40 % }", "after at most 3 s"),
        ("rule r while (guard is on) extended 3 s { drive motor to 40 % hand back 50 %/s }", "after at most 5 s"),
        ("rule r while (guard is on) pulsed 4 s { drive motor to 40 % }", "after at most 4 s"),
        ("rule r while guard is on for 2 s { drive motor to 40 % }", "at once"),
        ("latch l { set when height is stale reset when guard is off }\nrule r while l { drive motor to 4 % }",
         "at once"),
        ("latch l { set when height is stale reset when not (guard is on) } rule r while l { drive motor to 4 % }",
         "at once"),
        ("latch l { set when height is stale reset when guard is off for 2 s } rule r while l { drive motor to 4 % }",
         "after at most 2 s"),
        ("signal s = guard is on and height is below 9 m\nlatch l { set when s reset when not s set wins }\n"
         "rule r while l { drive motor to 4 % }", "at once"),
        ("sequence q while guard is on { phase a for 1 s { drive motor to 1 % } phase b { drive motor to 2 % } }",
         "at once"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), FREED)
def test_freed(text: str, says: str) -> None:
    found = out(text)
    assert found.action == f"guard switch to off: the sticks are yours {says}"
    assert found.still == ()


NOT_FREED = [
    "rule r while height is below 9 m { drive motor to 40 % }",
    "rule r while guard is on or height is stale { drive motor to 40 % }",
    "rule r while guard is on ends { drive motor to 40 % }",
    "rule r while (guard is off) pulsed 3 s { drive motor to 40 % }",
    "latch l { set when guard is on reset when height is below 9 m } rule r while l { drive motor to 4 % }",
    "latch l { set when height is stale reset when guard is off set wins } rule r while l { drive motor to 4 % }",
    "latch l { set when height is stale reset when guard is off begins } rule r while l { drive motor to 4 % }",
    "rule r while previous of (guard is on) { drive motor to 40 % }",
]


@pytest.mark.parametrize("text", NOT_FREED)
def test_not_freed(text: str) -> None:
    found = out(text)
    assert found.action == "guard switch to off: by the rules alone this frees NOTHING"
    assert not found.named
    assert len(found.still) == 1
    assert found.still[0].startswith("rule r may still act on motor: while ")


HELD = [
    ("rule r while guard is off { drive motor to 40 % }", "motor goes to 40 % at once"),
    ("latch l { set when guard is off } rule r while l { drive motor to 4 % }", "motor goes to 4 % at once"),
    ("latch l { set when guard is on and height is stale reset when guard is off }\n"
     "rule r while not l { drive motor to 0 % ramp down 50 %/s }", "motor goes to 0 % within 2 s"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), HELD)
def test_what_the_switch_holds_is_said(text: str, says: str) -> None:
    found = out(text)
    held = f"{says} and is held there, whatever you do with the stick"
    assert found.action == f"guard switch to off: {held}; nothing is given back to you by it"
    assert (found.still, found.named) == ((), True)


@pytest.mark.parametrize(("text", "says"), HELD)
def test_what_is_said_to_be_held_is_proved_to_be(text: str, says: str, workers: Workers) -> None:
    value = re.search(r"\d+ %", says)
    assert value is not None
    claim = f"always motor is equal to {value.group()} while {held('guard is off', says)}"
    assert answer(text, claim, workers) == "proved"


def test_held_by_one_switch_and_freed_by_it() -> None:
    found = out("""
        channel flap 2 { follows throttle from 0 % to 100 % }
        rule a while guard is off { drive motor to 0 % }
        rule b while guard is on { drive flap to 40 % }
    """)
    assert found.action == (
        "guard switch to off: what it stops is yours at once; motor goes to 0 % at once and is held there, "
        "whatever you do with the stick"
    )


def test_a_channel_that_rests_goes_to_its_rest() -> None:
    pump = "channel pump 4 { rests at 5 % from 0 % to 100 % }\n"
    found = out(pump + "rule a while guard is on { drive pump to 40 % hand back 10 %/s }")
    assert found.action == "guard switch to off: pump goes to 5 % after at most 10 s"
    assert found.more == ("on release pump will come back at 10 %/s",)
    both = out(pump + "rule a while guard is on { drive pump to 40 % drive motor to 3 % }")
    assert both.action == "guard switch to off: the sticks are yours at once; pump goes to 5 % at once"
    assert both.more == ("on release motor will jump to where you hold it at that moment",)
    stays = out(
        pump + "rule a while guard is on { drive pump to 40 % } rule b while height is stale { move pump up by 1 % }"
    )
    assert "pump goes to" not in stays.action
    assert len(stays.still) == 1


def test_how_it_comes_back() -> None:
    flap = "channel flap 2 { follows throttle from 0 % to 100 % }\n"
    rules_ = "rule a while guard is on { drive motor to 40 % hand back 20 %/s limit flap to at most 30 % }"
    assert out(flap + rules_).more == (
        "on release flap will jump to where you hold it at that moment", "on release motor will come back at 20 %/s",
    )  # fmt: skip


def test_some_freed_and_some_not() -> None:
    found = out("""
        rule a while guard is on { drive motor to 40 % }
        rule b while height is below 9 m { limit motor to at most 10 % }
    """)
    assert found.action == "guard switch to off: what it stops is yours at once, but not all stops"
    assert found.still == ("rule b may still act on motor: while height is below 9 m",)


def test_the_motor_stop_is_no_reason_against() -> None:
    found = out("""
        rule a while guard is on { drive motor to 40 % }
        rule cut while motor_stop is stop { drive motor to 0 % }
    """)
    assert found.action == "guard switch to off: the sticks are yours at once; only the motor stop still acts"
    assert found.stop == (
        "motor stop switch to stop: motor goes to 0 % at once, whatever else acts. "
        "Given back (motor stop switch to run): motor follows the throttle stick at once, unless rule a acts on it"
    )


GIVEN_BACK = [
    ("rule cut while kill { drive motor to 0 % }", "motor follows the throttle stick at once"),
    ("rule cut while kill { drive motor to 0 % hand back 50 %/s }", "motor follows the throttle stick within 2 s"),
    ("rule cut while kill extended 3 s { drive motor to 0 % }", "motor follows the throttle stick within 3 s"),
    ("latch l { set when kill reset when guard is on }\nrule cut while kill or l { drive motor to 0 % }",
     "rule cut may go on holding motor while kill or l"),
    ("latch l { set when guard is on reset when kill }\nrule asleep while not l { drive motor to 0 % }\n"
     "rule cut while kill { drive motor to 0 % }",
     "motor stays with rule asleep while not l, then follows the throttle stick"),
    ("channel hook 6 { rests at 8 % from 0 % to 100 % }\nrule cut while kill { drive hook to 0 % }",
     "hook goes to 8 % at once"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), GIVEN_BACK)
def test_what_happens_when_the_motor_stop_is_given_back(text: str, says: str) -> None:
    assert out(text).stop.endswith(f"Given back (motor stop switch to run): {says}")


STOPPED = [
        ("rule cut while kill { drive motor to 0 % ramp down 50 %/s }", "motor goes to 0 % within 2 s"),
        ("rule cut while kill for 1 s { drive motor to 0 % }", "motor goes to 0 % within 1 s"),
        ("rule cut while kill { drive motor to 0 % }\nrule a while guard is on { drive motor to 4 % }\n"
         "priority cut over a",
         "motor goes to 0 % at once"),
        ("rule cut while kill { limit motor to at most 0 % }", "do not make sure"),
        ("rule cut while kill and guard is on { drive motor to 0 % }", "do not make sure"),
        ("rule c while kill or guard is on { drive motor to 0 % } rule a while guard is on { drive motor to 4 % }\n"
         "priority a over c", "do not make sure"),
        ("rule a while guard is on { drive motor to 4 % }", "do not make sure"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "says"), STOPPED)
def test_motor_stop(text: str, says: str) -> None:
    assert says in out(text).stop


def test_three_positions_and_a_button() -> None:
    text = "stick a from 0 % to 100 %\nchannel c 1 { follows a from 0 % to 100 % }\n"
    three = "switch s positions off, half, on\nrole arm is s is on\n"
    found = build(rules(text + three + "rule r while s is on { drive c to 3 % }")).way_out
    assert found.action == "s switch to off or half: the sticks are yours at once"
    held = build(rules(text + three + "rule r while s is on or s is half { drive c to 3 % }")).way_out
    assert "NOTHING" in held.action
    button = "button b\nrole arm is b is pressed\nrule r while b is pressed { drive c to 3 % }"
    assert build(rules(text + button)).way_out.action == "let go of the b button: the sticks are yours at once"


def test_a_role_made_of_several_things() -> None:
    text = """
        switch s positions off, on
        button b
        stick a from 0 % to 100 %
        channel c 1 { follows a from 0 % to 100 % }
        role arm is s is on and b is pressed
        rule r while s is on and b is pressed { drive c to 3 % }
    """
    way = build(rules(text)).way_out
    assert way.action == (
        "see to it that this is no longer so: s is on and b is held down: the sticks are yours at once"
    )


STAYS = """
latch l { set when guard is on for 1 s reset when kill }
rule asleep while not l { drive motor to 0 % }
rule cut while kill { drive motor to 0 % }
"""


def test_what_stays_after_the_motor_stop_is_proved_to_stay(workers: Workers) -> None:
    says = "motor stays with rule asleep while not l, then follows the throttle stick"
    assert out(STAYS).stop.endswith(says)
    assert answer(STAYS, "before (motor is above 0 %) comes l since (kill ends)", workers) == "proved"


def test_no_role_and_nothing_taken_from_the_sticks() -> None:
    hook = "channel hook 6 { rests at 0 % from 0 % to 100 % }\nbutton b\n"
    usual = USUAL.replace("role arm is guard is on\n", "")

    def found(text: str) -> WayOut:
        return build(rules(usual + hook + text)).way_out

    free = "these rules never take a channel from your sticks"
    only = "; all they move is hook, and no switch is named that stops that"
    moves = "rule a while b is pressed { drive hook to 100 % }\n"
    assert found(moves).action == free + only
    assert (
        found(moves + "rule cut while kill { drive motor to 0 % }").action == f"{free}, except by the motor stop{only}"
    )
    assert found("rule cut while kill { drive motor to 0 % }").action == f"{free}, except by the motor stop"
    taken = found("rule a while b is pressed { drive motor to 0 % }")
    assert taken.action.startswith("NO WAY OUT IS NAMED")
    assert taken.more == ("rule a acts on motor while b is held down",)


def test_only_who_has_a_way_out_is_told_to_take_it() -> None:
    rule = "rule a while motor_stop is run and guard is on { drive motor to 40 % }"
    with_arm = build(rules(USUAL + rule))
    without = build(rules(USUAL.replace("role arm is guard is on\n", "") + rule))
    assert [c for c in with_arm.cautions if "way out" in c]
    assert not [c for c in without.cautions if "way out" in c]
    assert len(with_arm.cautions) == len(without.cautions)


def test_no_role() -> None:
    text = "button b stick a from 0 % to 100 % channel c 1 { follows a from 0 % to 100 % } rule r while b is pressed"
    assert "NO WAY OUT IS NAMED" in build(rules(text + " { drive c to 3 % }")).way_out.action
    assert build(rules(text + " { announce tone }")).way_out.action.startswith("not needed")


def test_warn_only_moves_nothing() -> None:
    staged = [(p, s.name) for p in EXAMPLES for s in load(p).stages if s.warn_only]
    assert staged
    for path, stage in staged:
        listing = build(at_stage(load(path), stage), stage=stage)
        assert listing.way_out.action.startswith("not needed: this list moves nothing")
        assert not [e for e in listing.entries if e.section == "action"]
        assert listing.stage == stage
        assert "stops" not in listing.way_out.stop or "nothing in this list stops a motor" in listing.way_out.stop


def test_on_a_transmitter_the_way_out_is_no_surer_than_its_promises() -> None:
    cut = "rule cut while kill { drive motor to 0 % }\nrule r while guard is on { drive motor to 40 % }\n"
    case = rules(
        USUAL + cut + "claim one: always motor is at most 0 % while kill\nclaim two: always motor is at least 0 %"
    )
    plain = build(case).way_out
    assert (plain.action.count("at once"), plain.stop.count("at once")) == (1, 2)

    def told(one: Verdict, two: Verdict) -> tuple[WayOut, tuple[str, str]]:
        way = build(case, (one, two), "", generic("rich")).way_out
        assert way.action.endswith(plain.action)
        assert way.stop.endswith(plain.stop)
        return way, (way.action.removesuffix(plain.action), way.stop.removesuffix(plain.stop))

    good = Verdict("one", "proved", "", 0.0)
    assert told(good, replace(good, claim="two"))[1] == ("", "")
    answers: tuple[Answer, ...] = ("refuted", "unknown")
    for answer in answers:
        way, more = told(good, Verdict("two", answer, "", 0.0))
        assert more[0] == more[1]
        assert more[0].startswith("NOT SURE on this transmitter, see the promises that fail")
        assert "see the promises that fail" in way.stop
    late = told(replace(good, allowance=2), replace(good, claim="two"))[1]
    assert re.match(r"may be late on this transmitter, where promises are proved up to [\d.]+ ms late: $", late[0])
    assert build(case, None, "", generic("rich")).way_out.action.startswith("NOT SURE on this transmitter, since no")


# ---------- what is said is proved


def answer(text: str, claim: str, workers: Workers) -> Answer:
    machine = pipeline.machine(rules(USUAL + SENSOR + text + f"\nclaim way_out: {claim}"))
    verdicts = {v.claim: v.answer for v in pipeline.prove(machine, workers, 20, 2)}
    return verdicts["way_out"]


def held(position: str, says: str) -> str:
    """The switch is at this place, for as long as the listing says that it takes."""
    takes = re.search(r"[\d.]+ s$", says)
    return f"{position} for {takes.group()}" if takes else position


@pytest.mark.parametrize(("text", "says"), FREED)
def test_what_is_said_to_be_freed_is_proved_to_be(text: str, says: str, workers: Workers) -> None:
    assert answer(text, f"always motor is free while {held('guard is off', says)}", workers) == "proved"


@pytest.mark.parametrize("text", NOT_FREED)
def test_what_is_not_said_to_be_freed_can_stay(text: str, workers: Workers) -> None:
    assert answer(text, "always motor is free while guard is off", workers) == "refuted"


@pytest.mark.parametrize(("text", "says"), [row for row in STOPPED if "goes to" in row[1]])
def test_a_motor_that_is_said_to_stop_is_proved_to(text: str, says: str, workers: Workers) -> None:
    stop = held("motor_stop is stop", says)
    assert answer(text, f"always motor is equal to 0 % while {stop}", workers) == "proved"
