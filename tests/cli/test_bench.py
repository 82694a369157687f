"""`latchproof bench` as a command; what the test shows is tested with its room."""

import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import run

RULES = """\
rules "Tiny cut" version "1"
switch motor_stop positions run, stop
stick throttle from 0 % to 100 %
role kill is motor_stop is stop
channel motor 1 { follows throttle  from 0 % to 100 % }
rule cut while motor_stop is stop { drive motor to 0 %  announce tone "cut" }
stage warn_only { warn only }
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    return tmp_path


def test_a_card() -> None:
    ran = run("bench", "x.latch")
    assert ran.err == ""
    assert ran.code in (exits.FINE, exits.UNDECIDED)
    lines = ran.out.splitlines()
    assert lines[0].startswith("BENCH TEST: TINY CUT")
    assert lines[2].startswith("PROPELLER OFF")
    assert max(map(len, lines)) <= 80
    assert "motor stop switch to stop" in ran.out
    assert "This card is void until every box here is ticked" in ran.out
    assert "\x1b" not in ran.out


@pytest.mark.parametrize("form", ["markdown", "json"])
def test_other_forms(form: str) -> None:
    ran = run("bench", "--format", form, "x.latch")
    assert ran.code in (exits.FINE, exits.UNDECIDED)
    if form == "json":
        made = json.loads(ran.out)
        assert made["schema"] == "latchproof.bench/1"
        assert made["first"][0].startswith("PROPELLER OFF")
        assert made["totals"]["shown"] > 0
        assert made["by_nothing"] == []
    else:
        assert "**PROPELLER OFF" in ran.out
        assert "| 1 |" in ran.out


def test_a_name_does_not_act_in_markdown(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES.replace('"cut"', '"<b>cut</b> | *x*"'))
    ran = run("bench", "--format", "markdown", "x.latch")
    assert "<b>" not in ran.out
    assert "| *x*" not in ran.out


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--stairs", "much"], "metres from 0.5 to 200"),
        (["--stairs", "1e999"], "metres from 0.5 to 200"),
        (["--see", "0"], "percent from 1 to 50"),
        (["--height", "lift"], "invalid choice"),
        (["--stage", "warn"], "did you mean warn_only?"),
        (["--transmitter", "tiny"], "there is no transmitter tiny"),
    ],
)
def test_wrong_options(options: list[str], says: str) -> None:
    ran = run("bench", *options, "x.latch")
    assert ran.code == exits.MISUSE
    assert says in ran.err
    assert ran.out == ""


def test_on_a_transmitter() -> None:
    ran = run("bench", "--transmitter", "typical", "x.latch")
    assert ran.code in (exits.FINE, exits.UNDECIDED)
    assert "PROPELLER OFF" in ran.out


def test_rules_with_an_error(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES.replace("while motor_stop", "while motor_stp"))
    ran = run("bench", "x.latch")
    assert ran.code == exits.FAULT
    assert ran.out == ""
