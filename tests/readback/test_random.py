"""Rule sets made by chance and names made to be mistaken: their listings are read back and do the same."""

from pathlib import Path

import pytest

from latchproof.listing import build
from latchproof.pipeline import check_text
from latchproof.readback.pair import pair
from latchproof.readback.pinned import pinned
from latchproof.readback.raised import raised
from latchproof.readback.values import rounded_when_printed
from latchproof.rules import RuleSet
from latchproof.source import Source
from tests.helpers.generate import generate
from tests.listing.cases import USUAL, rules

SOLVERS = {647}
"""Seeds whose proof takes a solver: two cells that only agree where it matters."""


def settled(case: RuleSet) -> bool:
    back = raised(build(case).entries, case)
    assert isinstance(back, RuleSet), back
    return pair(pinned(case), back).settled


@pytest.mark.parametrize("seed", range(600, 660))
def test_random_rules(seed: int) -> None:
    checked = check_text(Source("x.latch", generate(seed, devices=seed % 2 == 0)), Path())
    if checked.rules is not None and seed not in SOLVERS:
        assert settled(checked.rules)


ODD = r"""
switch at_at positions held_down, not_held, at_x, a_b
switch up_and_down positions a_b, down
button held
stick times_and_divided from 0 % to 100 %
stick entry_7 from 0 % to 100 %
knob the_smaller_of from 0 % to 100 %
stick a_b from -100 % to 100 %
sensor was_last_heard { from 0 m to 100 m stale after 1 s once stale reads 2 m }
sensor ft { from 0 m to 100 m }
channel and_and 1 { follows times_and_divided from 0 % to 100 % }
channel b_c { follows at_at as held_down 1 %, not_held 2 %, at_x 3 %, a_b -4 % from -100 % to 100 % }
value x = (entry_7 + the_smaller_of) * 0.5 - smaller of (times_and_divided, 4 %) - a_b
rule r while (at_at is held_down or up_and_down is not a_b or held is pressed or was_last_heard is fresh)
  and x is above 5 % and age of was_last_heard is below 3 s { drive and_and to 5 % move b_c more by 3 % }
rule s while previous of (at_at is not at_x) and ft is above 1 m { drive b_c to pilot_value of b_c }
rule at_2 while previous of (held is released) { limit b_c to at most 0 % announce voice "at \\ once" }
"""


def test_names_that_sound_like_what_is_said_of_them() -> None:
    assert settled(rules(ODD))


@pytest.mark.parametrize(
    "text",
    [
        'rule a while previous of b.voice { announce voice "a" }\n'
        'rule b while previous of a.voice { announce voice "b" }',
        "value low = previous of (30 %)\nrule a while throttle is above low { drive motor to 0 % }",
        "sensor h { from 0 m to 9 m stale after 1 s }\nsignal here = h is fresh\n"
        "rule a while here and previous of here { drive motor to 0 % }",
        "latch l { set when guard is on  reset when previous of l }\nrule a while l { drive motor to 0 % }",
    ],
    ids=["one another's voice", "a fixed number, earlier", "a name for fresh", "itself, earlier"],
)
def test_what_was_listed_wrongly_before_it_was_read_back(text: str) -> None:
    assert settled(rules(USUAL + text))


def test_a_number_that_no_decimal_says_is_told() -> None:
    case = rules(USUAL + "value third = throttle / 3\nrule a while throttle is above 100 % / 3 { drive motor to 0 % }")
    entries = build(case).entries
    assert rounded_when_printed(entries)
    assert isinstance(raised(entries, case), RuleSet)
