"""Whole programs."""

from pathlib import Path

import pytest

from latchproof.diagnostics import has_errors
from latchproof.pipeline import check
from latchproof.rules.includes import includes_of
from latchproof.source import Source
from latchproof.syntax import parse

PROGRAMS = Path(__file__).parent / "programs"


@pytest.mark.parametrize("name", ["floor_guard", "brakes", "parachute"])
def test_it_has_no_errors(name: str) -> None:
    found = check(str(PROGRAMS / f"{name}.latch"))
    assert found.rules is not None
    assert not has_errors(found.diagnostics)


def test_the_floor_guard() -> None:
    found = check(str(PROGRAMS / "floor_guard.latch")).rules
    assert found is not None
    assert [x.name for x in found.latches] == ["armed", "engaged"]
    assert [(x.over, x.under) for x in found.precedences] == [("cut", "recover")]
    assert len(found.claims) == 12
    assert found.claims[0].text == (
        "always motor is free and elevator is free and level_mode is free while guard is off and motor_stop is run"
    )
    assert found.requires[0].text == "release is at least floor + 8 m"
    assert [x.role for x in found.roles] == ["arm", "kill", "landing"]


def test_the_brakes_use_a_part() -> None:
    found = check(str(PROGRAMS / "brakes.latch")).rules
    assert found is not None
    assert [x.name for x in found.latches] == ["restart.locked"]


def test_which_files_are_to_be_read() -> None:
    text = 'include "parts/a.latch"\ninclude "../b.latch"\ninclude "c.latch"\nbutton left'
    tree, _ = parse(Source("x", text))
    assert tree is not None
    assert [i.path.value for i in includes_of(tree)] == ["parts/a.latch", "c.latch"]
