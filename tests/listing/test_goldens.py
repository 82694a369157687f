"""Whole listings, source and output beside each other. They were read as by someone with a transmitter in his hand."""

from pathlib import Path

import pytest

from latchproof.listing import build
from latchproof.show import listing_text
from tests.listing.cases import load

GOLDENS = sorted((Path(__file__).parent / "goldens").glob("*.latch"))


@pytest.mark.parametrize("source", GOLDENS, ids=lambda p: p.stem)
def test_golden(source: Path, request: pytest.FixtureRequest) -> None:
    golden = source.with_suffix(".txt")
    text = listing_text.render(build(load(source))) + "\n"
    if request.config.getoption("--update-goldens"):
        golden.write_text(text, encoding="utf-8")
    assert text == golden.read_text(encoding="utf-8")


def test_there_are_goldens() -> None:
    assert len(GOLDENS) >= 3
