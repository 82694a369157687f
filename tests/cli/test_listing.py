"""`latchproof listing` as a command; what stands in a listing is tested with its room."""

import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import run

RULES = """\
rules "Climb" version "1"
switch guard positions off, on
stick throttle from 0 % to 100 %
channel motor { follows throttle  from 0 % to 100 % }
role arm is guard is on
tune power = 60 % from 40 % to 80 %
rule climb while guard is on { drive motor to power  announce voice "climb" every 2 s }
claim frees: always motor is free while guard is off
stage warn_only { warn only }
stage gentle { tune power = 40 % }
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    return tmp_path


def test_it_is_proved_first() -> None:
    ran = run("listing", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "Its one promise is proved." in ran.out
    assert "NOT PROVED" not in ran.out


def test_unproved_says_so() -> None:
    ran = run("listing", "--unproved", "x.latch")
    assert ran.code == exits.FINE
    assert "NOT PROVED YET" in ran.out


def test_no_time_says_so(folder: Path) -> None:
    ran = run("listing", "--time-limit", "0.01", "x.latch")
    assert ran.code == exits.UNDECIDED
    assert "NOT ALL PROVED: 1 not decided." in ran.out


def test_a_promise_that_fails_says_so(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES + "claim slow: always motor is at most 50 %\n")
    ran = run("listing", "x.latch")
    assert ran.code == exits.FAULT
    assert "1 FAILS" in ran.out


@pytest.mark.parametrize("form", ["markdown", "json"])
def test_other_forms(form: str) -> None:
    ran = run("listing", "--unproved", "--format", form, "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    if form == "json":
        assert json.loads(ran.out)["title"] == "Climb"
    else:
        assert ran.out.startswith("# Climb")


def test_a_stage(folder: Path) -> None:
    full = run("listing", "--unproved", "x.latch").out
    gentle = run("listing", "--unproved", "--stage", "gentle", "x.latch").out
    assert "gentle" in " ".join(gentle.splitlines()[:3]).lower()
    assert gentle != full


def test_an_unknown_stage() -> None:
    ran = run("listing", "--stage", "gentel", "x.latch")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err == "latchproof: x.latch has no stage gentel; did you mean gentle?\n"


def test_an_error_in_the_rules_lists_nothing(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES + "claim c: always moter is free\n")
    ran = run("listing", "x.latch")
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert "error[unknown-name]" in ran.err
