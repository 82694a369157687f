"""What is proved, what is not, and what a proof stands on."""

import pytest

from latchproof.listing import build
from latchproof.prove.assumed import Fact
from latchproof.prove.verdicts import Answer, Verdict
from latchproof.rules.model import Basis
from tests.listing.cases import USUAL, rules

TEXT = (
    USUAL
    + """
sensor height { from 0 m to 100 m frame every 300 ms stale after 1 s }
fact sink = 4 m/s measured 2025-01-02 "a log"
rule a while guard is on { drive motor to 40 % }
claim one "the pilot's sentence": always motor is free while guard is off
claim two: never motor is above 40 % and guard is on
"""
)


def verdict(claim: str, answer: Answer, *assumed: Fact) -> Verdict:
    return Verdict(claim, answer, "test", 0, assumed=assumed)


def test_nothing_checked_yet() -> None:
    listing = build(rules(TEXT))
    assert listing.state == "NOT PROVED YET: none of its 2 promises has been checked. Do not fly it like this."
    assert [(p.name, p.sentence, p.state) for p in listing.promises] == [
        ("one", "the pilot's sentence", "not checked"),
        ("two", "never motor is above 40 % and guard is on", "not checked"),
    ]
    assert ("a reading of height at least every 0.3 s", "not stated whether measured") in [
        (f.text, f.standing) for f in listing.proved_if
    ]
    assert ("sink is 4 m/s", "measured 2025-01-02, a log") in [(f.text, f.standing) for f in listing.proved_if]


@pytest.mark.parametrize(
    ("answers", "state", "not_proved"),
    [
        (("proved", "proved"), "All 2 promises are proved.", []),
        (("proved", "refuted"), "NOT ALL PROVED: 1 proved, 1 FAILS. Do not fly it like this.", ["FAILS"]),
        (("unknown", "refuted"), "NOT ALL PROVED: 1 FAILS, 1 not decided. Do not fly it like this.",
         ["not decided", "FAILS"]),
        (("proved",), "NOT ALL PROVED: 1 proved, 1 not checked. Do not fly it like this.", ["not checked"]),
    ],
)  # fmt: skip
def test_verdicts(answers: tuple[Answer, ...], state: str, not_proved: list[str]) -> None:
    found = tuple(verdict(c, a) for c, a in zip(("one", "two"), answers, strict=False))
    listing = build(rules(TEXT), found)
    assert listing.state == state
    assert [p.state for p in listing.not_proved] == not_proved


def test_an_unwritten_promise_that_fails_is_told() -> None:
    found = (verdict("one", "proved"), verdict("two", "proved"), verdict("one_driver.motor.a.b", "refuted"))
    listing = build(rules(TEXT), found)
    assert listing.state.startswith("NOT ALL PROVED")
    assert listing.not_proved[0].sentence == "a and b never pull at motor at the same time"


def test_no_promises_is_no_proof() -> None:
    silent = rules(USUAL + "rule a while guard is on { drive motor to 40 % }")
    assert build(silent).state.startswith("NOT PROVED YET")
    assert build(silent, ()).state.startswith("NOTHING PROVED")


def test_only_what_the_proof_used_is_listed() -> None:
    used = Fact("height", "frame_every", Basis("assumed", None, "guess"))
    listing = build(rules(TEXT), (verdict("one", "proved", used), verdict("two", "proved", used)))
    texts = [(f.text, f.standing) for f in listing.proved_if]
    assert texts[0] == ("a reading of height at least every 0.3 s", "ASSUMED, guess")
    assert len([t for t in texts if "height" in t[0]]) == 1
    assert not any("sink" in t for t, _ in texts)
    assert all(s.startswith("ASSUMED of your transmitter") for _, s in texts[1:])
