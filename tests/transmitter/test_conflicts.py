"""What does not go with a transmitter or with what the model has: each finding by a description that gets it."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from latchproof.rules.model import RuleSet
from latchproof.transmitter.build import unsure, with_value
from latchproof.transmitter.conflicts import conflicts, replaces
from latchproof.transmitter.finding import Finding
from latchproof.transmitter.generic import generic
from latchproof.transmitter.hands import free, serving
from latchproof.transmitter.model import Hand, Has, Transmitter
from tests.helpers.rules import ROOT, rules_of
from tests.layout.test_words import DEVELOPERS_ONLY

RULES = """\
rules "Guard" version "1"
cycle from 4 ms to 25 ms
device { reads listed order }
switch guard positions off, half, on
switch motor_stop positions run, stop
button clear
stick throttle from 0 % to 100 %
knob strength from 0 % to 100 %
sensor height { from 0 m to 400 m  frame every 500 ms  stale after 2 s }
sensor pack { from 6 V to 13 V  frame every 500 ms }
sensor quality { from 0 dB to 100 dB  frame every 500 ms }
channel motor 1 { follows throttle  from 0 % to 100 % }
channel flaps 4 { rests at 0 %  from 0 % to 100 % }
role kill is motor_stop is stop
rule climb while guard is on and height is below 20 m and pack is above 9 V and quality is above 20 dB {
  drive motor to strength  ramp up 40 %/s
  announce voice "climb"
}
rule brake while guard is half and (clear is pressed pulsed 2 s) { drive flaps to 80 % }
rule cut while motor_stop is stop { drive motor to 0 % }
priority cut over climb
"""

HANDS = (
    Hand("switch", "front left", ("away", "middle", "towards"), serves="guard",
         means=(("off", "away"), ("half", "middle"), ("on", "towards"))),
    Hand("switch", "front right", ("away", "towards"), serves="motor_stop",
         means=(("run", "away"), ("stop", "towards"))),
    Hand("button", "thumb", serves="clear"),
    Hand("stick", "left stick", serves="throttle"),
    Hand("slider", "left slider", serves="strength"),
)  # fmt: skip

GOOD: tuple[tuple[str, Any], ...] = (
    ("order", ("motor", "aileron", "elevator", "flaps")),
    ("telemetry.quality", "dB"),
    ("telemetry.stale_after", Fraction(2)),
    ("delays.again", False),
)


@pytest.fixture(scope="module")
def rules() -> RuleSet:
    return rules_of(RULES)


def fitting(**changes: Any) -> Transmitter:
    t = replace(generic("typical"), hands=HANDS, unknown=frozenset())
    for path, value in GOOD:
        t = with_value(t, path, value)
    for path, value in changes.items():
        t = with_value(t, path.replace("__", "."), value)
    return t


def hand(name: str, **changes: Any) -> tuple[Hand, ...]:
    assert any(h.name == name for h in HANDS)
    return tuple(replace(h, **changes) if h.name == name else h for h in HANDS)


def subjects(found: tuple[Finding, ...]) -> list[tuple[str, str]]:
    return [(f.subject, f.weight) for f in found]


def test_nothing_to_find(rules: RuleSet) -> None:
    assert conflicts(fitting(), rules) == ()
    assert replaces(fitting(), rules) == ()


@pytest.mark.parametrize(
    ("changes", "expected", "about"),
    [
        ({"channels": 3}, ("no channel", "stops"), "flaps"),
        ({"order": ("flaps", "motor")}, ("other channel", "stops"), "motor"),
        ({"order": ("engine",)}, ("other channel", "look"), "motor"),
        ({"hands": hand("front left", taken="flaps")}, ("hand taken", "stops"), "guard"),
        ({"hands": hand("front left", serves="gard")}, ("serves nothing", "look"), "gard"),
        ({"hands": hand("front left", serves="", taken="lights")}, ("none free", "stops"), "guard"),
        ({"hands": hand("front left", serves="")}, ("not served", "look"), "guard"),
        ({"hands": hand("front left", places=("away", "towards"), means=())}, ("too few places", "stops"), "guard"),
        ({"hands": hand("front left", means=(("off", "away"),))}, ("no place", "look"), "guard"),
        (
            {"hands": hand("front right", means=(("run", "away"), ("stopp", "towards")))},
            ("no position", "look"),
            "motor_stop",
        ),
        ({"hands": hand("front right", places=("away", "middle", "towards"))}, ("spare place", "look"), "motor_stop"),
        (
            {
                "hands": hand(
                    "front right",
                    places=("away", "middle", "towards"),
                    means=(("run", "away"), ("stop", "middle"), ("stop", "towards")),
                )
            },
            ("two places", "look"),
            "motor_stop",
        ),
        ({"hands": hand("front right", springs=True)}, ("springs back", "look"), "motor_stop"),
        ({"hands": hand("front right", springs=True, rests="towards")}, ("springs back", "look"), "motor_stop"),
        ({"hands": hand("front right", springs=True, rests="away")}, ("springs back", "unlike"), "motor_stop"),
        ({"hands": hand("front left", springs=True, rests="middle")}, ("springs back", "look"), "guard"),
        ({"hands": hand("left stick", kind="button")}, ("wrong kind", "stops"), "throttle"),
        ({"hands": hand("left stick", turned=True)}, ("turned", "unlike"), "throttle"),
        ({"hands": hand("left stick", turned=None)}, ("turned", "look"), "throttle"),
        ({"has": (Has("mix", "lights", (), ("front left",)),)}, ("hand taken", "look"), "guard"),
        ({"has": (Has("mix", "flap mix", (4,)),)}, ("channel shared", "unlike"), "flaps"),
        ({"has": (Has("flight phase", "thermal"),), "active_only": True}, ("phase", "unlike"), ""),
        ({"has": (Has("flight phase", "thermal"),), "active_only": None}, ("phase", "unlike"), ""),
        ({"sounds__voice": False}, ("no sound", "unlike"), "climb"),
        ({"sounds__voice": False, "sounds__tone": False}, ("no sound", "stops"), "climb"),
        ({"telemetry__stale": "zero"}, ("stale reading", "unlike"), "height"),
        ({"telemetry__stale": None}, ("stale reading", "look"), "height"),
        ({"telemetry__stale": "zero", "telemetry__stale_after": None}, ("stale reading", "unlike"), "pack"),
        ({"telemetry__stale_after": Fraction(1)}, ("stale after", "unlike"), "height"),
        ({"telemetry__height_zero": "sea level"}, ("height zero", "unlike"), "height"),
        ({"telemetry__height_zero": "button"}, ("height zero", "look"), "height"),
        ({"telemetry__height_zero": None}, ("height zero", "look"), "height"),
        ({"telemetry__cell": "average"}, ("cell", "look"), "pack"),
        ({"telemetry__quality": "%"}, ("link quality", "stops"), "quality"),
        ({"telemetry__quality": None}, ("link quality", "look"), "quality"),
        ({"telemetry__worse": None}, ("link quality", "look"), "quality"),
        ({"delays__again": None}, ("pulse", "look"), ""),
        ({"delays__again": True}, ("pulse", "stops"), ""),
        ({"telemetry__worse": "greater"}, ("link quality", "unlike"), "quality"),
        ({"reads": "last cycle"}, ("reads", "unlike"), ""),
        ({"starts": "any"}, ("starts", "unlike"), ""),
        ({"periods__logic": (Fraction(1, 100), Fraction(1, 20))}, ("cycle", "unlike"), ""),
        ({"periods__outputs": (Fraction(1, 100), Fraction(1, 20))}, ("outputs", "look"), ""),
        ({"periods__telemetry": (Fraction(1, 10), Fraction(1, 5))}, ("telemetry period", "unlike"), "height"),
        ({"actions__level": "before mixing"}, ("level", "unlike"), ""),
        ({"actions__trim": None}, ("level", "look"), ""),
    ],
    ids=lambda x: x[0] if isinstance(x, tuple) else "",
)
def test_each(rules: RuleSet, changes: dict[str, Any], expected: tuple[str, str], about: str) -> None:
    found = conflicts(fitting(**changes), rules)
    assert expected in subjects(found)
    finding = next(f for f in found if (f.subject, f.weight) == expected and (not about or about in f.about))
    assert finding.text
    assert finding.do
    assert not DEVELOPERS_ONLY.search(finding.text + finding.do)
    assert finding.text[-1] != "."
    assert ":" not in finding.text


def test_a_motor_stop_that_lets_go_of_itself(rules: RuleSet) -> None:
    """Only while held is no stop; a switch that only sets a latch may go back."""
    t = fitting(hands=hand("front right", springs=True, rests="away"))
    (found,) = conflicts(t, rules)
    assert found.text == ("front right goes back to away by itself, which is run, so the motor stop lets go of itself")
    latch = "latch stopped { set when motor_stop is stop  reset when clear is pressed }\nrole kill is stopped"
    kept = rules_of(RULES.replace("role kill is motor_stop is stop", latch))
    assert ("springs back", "look") in subjects(conflicts(t, kept))
    assert ("springs back", "unlike") not in subjects(conflicts(t, kept))
    turned = rules_of(RULES.replace("role kill is motor_stop is stop", "role kill is not motor_stop is run"))
    assert ("springs back", "unlike") in subjects(conflicts(t, turned))


def test_the_grave_ones_come_first(rules: RuleSet) -> None:
    weights = [f.weight for f in conflicts(unsure(fitting(channels=3, starts="any"), "telemetry.stale"), rules)]
    assert weights == sorted(weights, key=["stops", "unlike", "look"].index)


def test_a_start_signal_that_there_is_not() -> None:
    text = RULES.replace("reads listed order", "reads listed order  gives power_up for 200 ms  first frame after 1 s")
    found = subjects(conflicts(fitting(), rules_of(text)))
    assert ("start signal", "stops") in found
    assert ("first frame", "unlike") in found
    longer = subjects(conflicts(fitting(pulse=Fraction(1, 10), no_frame_before=Fraction(1)), rules_of(text)))
    assert ("start signal", "unlike") in longer
    assert ("first frame", "unlike") not in longer


# ---------- what is replaced


def test_a_throttle_cut_that_the_rules_do_is_replaced(rules: RuleSet) -> None:
    cut = Has("throttle cut", "old cut", (1,), ("front right",))
    t = fitting(has=(cut,))
    (found,) = replaces(t, rules)
    assert (found.has, found.by, found.channels) == (cut, ("cut",), ("motor",))
    assert "channel shared" not in {f.subject for f in conflicts(t, rules)}


def test_a_throttle_cut_of_its_own_stays_and_is_told(rules: RuleSet) -> None:
    without = rules_of(RULES.replace("role kill is motor_stop is stop\n", ""))
    t = fitting(has=(Has("throttle cut", "old cut", (1,)),))
    assert replaces(t, without) == ()
    assert ("channel shared", "unlike") in subjects(conflicts(t, without))


def test_a_soft_start_is_replaced_by_a_ramp(rules: RuleSet) -> None:
    (found,) = replaces(fitting(has=(Has("soft start", "slow motor", (1,)),)), rules)
    assert found.by == ("climb",)


# ---------- who serves what


def test_serving(rules: RuleSet) -> None:
    guard, stop, clear, throttle, strength = serving(fitting(), rules)
    assert guard.ways == (("off", "away"), ("half", "middle"), ("on", "towards"))
    assert [s.hand.name if s.hand else None for s in (stop, clear, throttle, strength)] == [
        "front right", "thumb", "left stick", "left slider",
    ]  # fmt: skip


def test_two_places_for_one_position(rules: RuleSet) -> None:
    means = (("run", "away"), ("stop", "middle"), ("stop", "towards"))
    t = fitting(hands=hand("front right", places=("away", "middle", "towards"), means=means))
    assert serving(t, rules)[1].ways == means
    (found,) = conflicts(t, rules)
    assert (found.text, found.do) == (
        "stop of motor stop is two places of front right, middle and towards",
        "in every entry that asks for stop take what is not run",
    )


def test_free() -> None:
    t = generic("typical")
    assert [h.name for h in free(t, "switch", 3)] == ["front left switch", "front right switch", "shoulder left switch"]
    assert free(t, "switch", 2)[0].name == "top left switch"
    used = replace(t, has=(Has("mix", "m", (), ("top left switch",)),))
    assert free(used, "switch", 2)[0].name == "top right switch"


def test_two_inputs_are_not_offered_the_same_switch() -> None:
    rules = rules_of((ROOT / "examples/floor_guard/mended.latch").read_text(encoding="utf-8"))
    offers = [
        f.do.partition(" at ")[2].partition(", which")[0]
        for f in conflicts(generic("typical"), rules)
        if f.subject == "not served"
    ]
    assert len(offers) == 5
    assert len(set(offers)) == 5
