"""What pilots type as well, and what is not guessed."""

from fractions import Fraction

import pytest

from latchproof.transmitter.answers import Given, given
from latchproof.transmitter.codecs import Trouble
from latchproof.transmitter.questions import HAND_KEYS, HAS_KEYS
from latchproof.transmitter.schema import BY_PATH, Key

PULSE = BY_PATH["pulse"]
STEPS = BY_PATH["delays.steps"]


@pytest.mark.parametrize(
    ("key", "said", "same"),
    [
        (HAS_KEYS["what"], "motor cut", "throttle cut"),
        (HAS_KEYS["what"], "Motor stop ?", "throttle cut ?"),
        (HAND_KEYS["kind"], "knob", "slider"),
        (HAND_KEYS["kind"], "switch 3", "switch of 3 places"),
        (HAND_KEYS["kind"], "2-position switch", "switch of 2 places"),
        (HAND_KEYS["kind"], "3 place switch", "switch of 3 places"),
        (HAND_KEYS["means"], "off is up, on is down", "off is away, on is towards"),
        (HAND_KEYS["rests"], "up", "away"),
        (PULSE, "0,5 s", "0.5 s"),
        (PULSE, "0,125 s ?", "0.125 s ?"),
        (PULSE, "2,5 s", "2.5 s"),
        (STEPS, "from 0,5 s to 60 s by 0,1 s, from 10 s by 0,5 s", "from 0.5 s to 60 s by 0.1 s, from 10 s by 0.5 s"),
        (BY_PATH["periods.logic"], "4,5 ms to 25 ms", "4.5 ms to 25 ms"),
    ],
)
def test_the_same_in_other_words(key: Key, said: str, same: str) -> None:
    found = given(key, said)
    assert isinstance(found, Given)
    assert found == given(key, same)


def test_a_decimal_comma_is_exact() -> None:
    found = given(PULSE, "0,1 s")
    assert isinstance(found, Given)
    assert found.value == Fraction(1, 10)


@pytest.mark.parametrize(
    ("key", "said", "mend"),
    [
        (BY_PATH["pulses.travel"], "1,000 %", "write 1.000, with a point, or 1000, without"),
        (PULSE, "1,2,3 s", "write 1.2, with a point"),
        (HAND_KEYS["kind"], "switch", "say switch of 2 places or switch of 3 places"),
    ],
)
def test_what_may_mean_two_things_is_asked_again(key: Key, said: str, mend: str) -> None:
    found = given(key, said)
    assert isinstance(found, Trouble)
    assert mend in found.mend
