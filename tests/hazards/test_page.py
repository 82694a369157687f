"""The page about hazards names every one of them, and every fact that they ask for."""

import re

from latchproof.hazards.vocabulary import VOCABULARY, line
from latchproof.rules.hazards import TITLES
from tests.helpers.hazards import site_of
from tests.helpers.rules import ROOT

PAGE = (ROOT / "grammar" / "HAZARDS.md").read_text("utf-8")


def test_every_hazard_with_its_title() -> None:
    assert dict(re.findall(r"^\| (H\d\d) \| (.*) \|$", PAGE, re.MULTILINE)) == dict(TITLES)


def test_every_fact_with_its_meaning() -> None:
    rows = re.findall(r"^\| `(\w+)` \| (\S*) \| (.*) \|$", PAGE, re.MULTILINE)
    assert rows == [(name, word.unit, word.meaning) for name, word in VOCABULARY.items()]


def test_the_line_that_states_a_fact_is_read_and_counts() -> None:
    site = site_of('rules "Facts"\n' + "\n".join(map(line, VOCABULARY)))
    assert [f.name for f in site.rules.facts] == list(VOCABULARY)
