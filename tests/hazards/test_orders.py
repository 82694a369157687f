"""Entries that read one another (H19): what only some order of evaluation brings."""

from pathlib import Path

from latchproof.hazards.model import Check
from latchproof.prove.workers import Workers
from tests.helpers.hazards import findings, site_of

CASE = Path(__file__).parent / "cases" / "H19_shows_order.latch"


def test_an_order_that_no_rule_of_reading_would_give(workers: Workers) -> None:
    """Two latches that one lever keeps apart for two cycles: if all reads are equally late, or none is, it does."""
    found = findings(site_of(CASE.read_text(encoding="utf-8")), ["H19"], workers)
    both = {f.outcome.variant: f.state for f in found if isinstance(f.outcome, Check) and f.about == "slow_first"}
    assert both == {
        "": "proved",
        "if every entry sees what the others were one cycle before": "proved",
        "if an entry sees what stands below it one cycle late": "proved",
        "in whatever order the entries are worked out": "fails",
    }
