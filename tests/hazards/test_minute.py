"""All engagements of a minute together (H16): what is asked, and that it bounds the sum that it is said to bound."""

from itertools import pairwise
from random import Random

import pytest

from latchproof.hazards.model import Check, Finding
from latchproof.hazards.report import outcomes
from latchproof.prove.workers import Workers
from tests.helpers.hazards import findings, mended, remedies_of, site_of

TEXT = """rules "Minute"
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 300 m  stale after 2 s }
channel motor { follows throttle  from 0 % to 100 % }
latch low {
  set when guard is on and height is below 40 m  reset when height is above 50 m  timeout 3 s then blocked for 1 s
}
rule climb while low { limit motor to at least 60 % }
"""
MINUTE = "fact longest_in_a_minute = %s  assumed\n"


def asked(more: str) -> dict[str, str]:
    checks = [o for o in outcomes(site_of(TEXT + more), ["H16"]) if isinstance(o, Check) and o.claim is not None]
    return {c.name: c.claim.text for c in checks if c.claim is not None and c.name != "H16 climb"}


@pytest.mark.parametrize(
    ("facts", "claims"),
    [
        ("", {}),
        (MINUTE % "20 s", {"H16 climb minute": "starts of climb.acting at most 2 in 68 s"}),
        (MINUTE % "15 s to 20 s", {"H16 climb minute": "starts of climb.acting at most 1 in 68 s"}),
        (MINUTE % "20 s" + "fact longest_engagement = 4 s  assumed\n",
         {"H16 climb minute": "starts of climb.acting at most 5 in 64 s"}),
        (MINUTE % "20 s" + "role arm is guard is on\n",
         {"H16 climb minute": "starts of climb.acting at most 2 in 68 s  while guard is on"}),
        # not even one of the longest engagements fits
        (MINUTE % "5 s", {"H16 climb stretch": "length of climb.acting at most 5 s",
                          "H16 climb minute": "starts of climb.acting at most 1 in 65 s"}),
    ],
)  # fmt: skip
def test_how_often_follows_from_how_long(facts: str, claims: dict[str, str]) -> None:
    assert asked(facts) == claims


def in_a_minute(text: str, workers: Workers) -> Finding:
    found = findings(site_of(text), ["H16"], workers)
    return next(f for f in found if isinstance(f.outcome, Check) and f.outcome.name == "H16 climb minute")


@pytest.mark.parametrize("arm", ["", "role arm is guard is on\n"])
def test_after_the_remedy_it_is_proved(arm: str, workers: Workers) -> None:
    """With a switch that ends the wait, and without one."""
    text = TEXT.replace("while low", "while low and guard is on") + MINUTE % "20 s" + arm
    before = in_a_minute(text, workers)
    assert before.state == "fails"
    assert in_a_minute(mended(site_of(text), remedies_of(before.outcome)), workers).state == "proved"


def minute_of(stretches: list[tuple[int, int]], start: int, minute: int) -> int:
    return sum(max(0, min(b, start + minute) - max(a, start)) for a, b in stretches)


def test_the_starts_bound_the_sum() -> None:
    """Stretches by chance, each at most `longest`, of which at most `count` begin in a minute and the longest more."""
    rng, minute, full = Random(1), 60, 0
    for _ in range(300):
        longest, count = rng.randint(1, 20), rng.randint(1, 4)
        stretches: list[tuple[int, int]] = []
        now = 0
        for _ in range(30):
            now += rng.choice((0, 1, 2, 9))
            if len(stretches) >= count:
                now = max(now, stretches[-count][0] + minute + longest + 1)
            stretches.append((now, now + rng.choice((1, longest))))
            now = stretches[-1][1] + 1
        assert all(a[1] < b[0] for a, b in pairwise(stretches))
        most = max(minute_of(stretches, t, minute) for t in range(now))
        assert most <= count * longest
        full += most == count * longest
    assert full > 50, "the bound is met, so a smaller one would be none"
