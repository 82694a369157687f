"""The examples run into none of the hazards, or say in the file why they live with it; the first attempt is there to
run into them."""

from pathlib import Path

import pytest

from latchproof.hazards.catalogue import CHECKS
from latchproof.hazards.report import unneeded
from latchproof.prove.workers import Workers
from latchproof.show.hazards import state
from tests.helpers.hazards import findings, site_of
from tests.helpers.rules import ROOT

FILES = sorted((ROOT / "examples").glob("*/*.latch"))
FIRST = "first_attempt.latch"
EXPECTED = {
    "H01", "H02", "H03", "H04", "H05", "H06", "H10", "H12", "H13", "H16", "H28", "H29", "H34", "H38",
}  # fmt: skip
"""What the first attempt runs into, whatever else it does: the list may grow."""


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_an_example_is_clean_or_says_why_not(path: Path, workers: Workers) -> None:
    site = site_of(path.read_text("utf-8"), path.parent)
    found = findings(site, CHECKS, workers)
    bad = {f"{f.hazard} {state(f)} in {f.about}" for f in found if state(f) in ("fails", "not decided")}
    if path.name == FIRST:
        assert {b[:3] for b in bad if " fails " in b} >= EXPECTED
        return
    assert bad == set()
    assert unneeded(site.rules, found, CHECKS) == ()
