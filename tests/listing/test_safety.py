"""What stands beside the entries: the receiver's failsafe, channels to leave alone, promises, names of things."""

from pathlib import Path

import pytest

from latchproof.listing import build
from latchproof.listing.model import Listing
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Can
from latchproof.show import listing_markdown, listing_text
from latchproof.show.style import Style
from tests.listing.cases import EXAMPLES, USUAL, load, rules


def failsafe(listing: Listing) -> dict[str, str]:
    return {f.label: f.value for f in listing.entries[-1].fields}


def test_no_rest_is_prescribed_for_a_lost_link() -> None:
    """A tow hook that rests closed would keep the glider on the rope."""
    case = rules(
        USUAL
        + "channel hook 6 { rests at -100 % from -100 % to 100 % }\n"
        + "rule cut while kill { drive motor to 0 % drive hook to -100 % }"
    )
    found = failsafe(build(case))
    assert found["channel 6"] == "hook: ________ you decide"
    assert found["channel 1"] == 'motor: stopped, never "as before"'


def test_a_surface_that_the_motor_stop_centres_is_no_motor() -> None:
    flap = "channel flap 5 { follows 2 * throttle - 100 % from -100 % to 100 % }\n"
    case = rules(USUAL + flap + "rule cut while kill { drive motor to 0 % drive flap to 0 % }")
    assert failsafe(build(case))["channel 5"] == "flap: ________ you decide"


def test_a_motor_is_known_by_the_motor_stop() -> None:
    case = rules(USUAL.replace("channel motor", "channel screw") + "rule cut while kill { drive screw to 0 % }")
    assert failsafe(build(case))["channel 1"] == 'screw: stopped, never "as before"'
    without = rules(
        USUAL.replace("channel motor", "channel screw") + "rule cut while guard is on { drive screw to 0 % }"
    )
    assert failsafe(build(without))["channel 1"] == "screw: ________ you decide"


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_of_every_example_only_motors_are_decided(path: Path) -> None:
    case = load(path)
    decided = [
        v for label, v in failsafe(build(case)).items() if label.startswith("channel ") and "you decide" not in v
    ]
    assert all(v.endswith(': stopped, never "as before"') for v in decided)
    assert all("at rest" not in v for v in failsafe(build(case)).values())


def test_with_what_the_failsafe_is_set() -> None:
    assert failsafe(build(rules(USUAL)))["set it with"] == (
        "guard switch to off; the motor stopped; apart from that no action of this list acting"
    )
    more = "switch box positions pupil, teacher\nrole instructor is box is teacher\n"
    assert failsafe(build(rules(USUAL + more)))["set it with"].startswith(
        "guard switch to off; box switch to pupil; the motor stopped; "
    )
    none = "stick a from 0 % to 100 % channel flap 1 { follows a from 0 % to 100 % }"
    assert failsafe(build(rules(none)))["set it with"] == (
        "every switch at its harmless place; no action of this list acting"
    )
    rope = "switch rope positions free, towing\nrole launch is rope is towing\n"
    assert failsafe(build(rules(none + "\n" + rope)))["set it with"].startswith(
        "rope switch to free; every other switch at its harmless place; "
    )


def test_channels_that_nothing_touches_are_not_typed() -> None:
    flap = "stick pitch from -100 % to 100 %\nchannel elevator 2 { follows pitch from -100 % to 100 % }\n"
    touched = USUAL + "rule a while guard is on { drive motor to 4 % }\n"
    listing = build(rules(touched + flap))
    assert [u.channel for u in listing.untouched] == ["channel 2 (elevator)"]
    assert not [e for e in listing.entries if "elevator" in e.purpose]
    assert not [f for f in listing.fill_in_first if "elevator" in f.subject or "pitch" in f.subject]
    for shown in (listing_text.render(listing), listing_markdown.render(listing)):
        assert "leave as it is" in shown.lower()
        assert "follows pitch stick" in " ".join(shown.replace("|", "").split())
    asked = build(rules(touched + flap.replace("elevator 2", "elevator")))
    asks = [a.question for f in asked.fill_in_first if f.subject == "channel elevator" for a in f.asks]
    assert asks == ["is number"]
    read = build(rules(touched + flap + "rule b while elevator is above 7 % { announce tone }"))
    assert read.untouched == ()
    mixed = build(rules(touched + flap + "rule b while guard is on { move pitch up by 7 % }"))
    assert mixed.untouched == ()


def test_a_sentence_stands_alone_and_examples_apart() -> None:
    case = rules(
        USUAL
        + """rule a while guard is on { drive motor to 4 % }
        claim one "the pilot's sentence": always motor is free while guard is off
        claim two: never motor is above 4 % and guard is on
        claim flies "it can be flown": can guard is on then guard is off
        """
    )
    assert isinstance(case.claims[2].form, Can)
    listing = build(case, tuple(Verdict(c.name, "proved", "test", 0) for c in case.claims))
    text = listing_text.render(listing)
    proved, _, possible = text.partition("PROVED ---")[2].partition("POSSIBLE, BY EXAMPLE ---")
    assert "  * the pilot's sentence\n" in proved
    assert "  * two: never motor is above 4 % and guard is on\n" in proved
    assert "it can be flown" not in proved
    assert "  * it can be flown\n" in possible
    assert "- **possible, by example**: it can be flown" in listing_markdown.render(listing)


def test_a_head_that_comes_again_says_so() -> None:
    listing = build(load(next(p for p in EXAMPLES if p.stem == "tow_release")))
    for shown in (listing_text.render(listing, Style(width=80)), listing_markdown.render(listing)):
        heads = [line.strip("# -") for line in shown.split("\n") if line.startswith("## ") or line.endswith("---")]
        assert len(heads) == len(set(heads))
        assert any(h.lower() == "logic (continued)" for h in heads)


def test_what_a_hand_takes_hold_of_is_not_named_twice() -> None:
    case = rules(
        "switch lever positions up, down\nswitch guard positions off, on\nbutton handle\nstick a from 0 % to 100 %\n"
        "channel flap 1 { follows a from 0 % to 100 % }\n"
        "rule r while lever is up and guard is on and handle is pressed { drive flap to 4 % }"
    )
    assert [f.subject for f in build(case).fill_in_first][:3] == ["lever (switch)", "guard switch", "handle (button)"]


def test_a_stick_has_no_pulse_width_and_a_channel_has() -> None:
    case = rules(
        USUAL
        + "rule a while throttle is above 7 % and previous of motor is above 8 %"
        + " { limit throttle to at most 40 % move throttle more by 9 % drive motor to 50 % }"
    )
    values = [(f.value, f.other, f.words) for e in build(case).entries for f in e.fields]
    found = {v: (other, words) for v, other, words in values}
    expected = {"ABOVE 7 %": "", "ABOVE 8 %": "1080 us", "40 %": "", "50 %": "1500 us", "plus 9 %": ""}
    assert {value: found[value][0] for value in expected} == expected
    assert found["plus 9 %"] == ("", "")


RAMPS = [
    ("drive motor to 40 % ramp up 20 %/s", "from 0 % to 40 % in 2 s"),
    ("drive motor to 40 % ramp down 20 %/s", "from 100 % to 40 % in 3 s"),
    ("drive motor to 40 % hand back 20 %/s", "from 40 % to 100 % in 3 s"),
    ("limit motor to at most 40 % ramp down 20 %/s", "from 100 % to 40 % in 3 s"),
    ("limit motor to at most 30 % hand back 20 %/s", "from 30 % to 100 % in 3.5 s"),
    ("limit motor to at least 30 % hand back 20 %/s", "from 30 % to 0 % in 1.5 s"),
]


@pytest.mark.parametrize(("action", "says"), RAMPS)
def test_a_ramp_quotes_the_travel_that_matters(action: str, says: str) -> None:
    listing = build(rules(USUAL + f"rule a while guard is on {{ {action} }}"))
    assert [says in f.words for e in listing.entries for f in e.fields if f.value == "at most 20 %/s"] == [True]


def test_a_ramp_without_a_travel_quotes_none() -> None:
    listing = build(rules(USUAL + "rule a while guard is on { limit motor to at most 40 % ramp up 20 %/s }"))
    assert ["in " in f.words for e in listing.entries for f in e.fields if f.value == "at most 20 %/s"] == [False]
