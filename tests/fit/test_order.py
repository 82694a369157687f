"""On a transmitter, "one pass earlier" is what stands further down the list: no field can say it otherwise."""

from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.fit.fit import fit
from latchproof.listing import build
from latchproof.readback.sheet import as_shown
from latchproof.transmitter.generic import generic

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*/*.latch"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_what_is_read_now_stands_above_and_what_is_read_earlier_below(path: Path) -> None:
    rules = pipeline.check(str(path)).rules
    assert rules is not None
    listed = 0
    for transmitter in (generic("typical"), generic("rich")):
        fitted = fit(rules, transmitter)
        if not fitted.fits:
            continue
        there = as_shown(fitted.rules, transmitter)
        entries = build(there, None, "", transmitter, rules).entries
        listed += 1
        for entry in entries:
            assert all(r.entry < entry.number for r in entry.reads if r.when == "now")
            assert all(r.entry >= entry.number for r in entry.reads if r.when == "earlier")
    assert listed
