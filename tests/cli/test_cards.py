"""`latchproof cards` as a command; what stands on the cards is tested with its room."""

import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import run
from tests.cli.test_listing import RULES
from tests.show.pages import read

FAILING = RULES + "claim slow: always motor is at most 50 %\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    return tmp_path


def test_everything_is_proved_first() -> None:
    ran = run("cards", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    for title in ("BEFORE FLIGHT", "RECEIVER FAILSAFE AND RANGE CHECK", "FIRST FLIGHT, BY STAGES", "ON ONE PAGE",
                  "WHAT MAKES A CHECK VOID"):  # fmt: skip
        assert title in ran.out
    assert ran.out.count("Its one promise is proved.") >= 5
    assert "PROVED: motor is left to you, whatever" in ran.out
    assert "NOT PROVED" not in ran.out
    assert "known dangers of such rules: " in ran.out


def test_unproved_says_so() -> None:
    ran = run("cards", "--unproved", "x.latch")
    assert ran.code == exits.FINE
    assert ran.out.count("NOT PROVED YET: its one promise has not been checked.") >= 5
    assert "NOT PROVED YET that this stage leaves every channel to you" in ran.out


def test_a_promise_that_fails_says_so_on_every_card(folder: Path) -> None:
    (folder / "x.latch").write_text(FAILING)
    ran = run("cards", "x.latch", "--only", "before-flight", "--only", "failsafe")
    assert ran.code == exits.FAULT
    assert ran.out.count("1 FAILS. Do not fly it like this.") == 2


def test_no_time_says_so() -> None:
    ran = run("cards", "--time-limit", "0.01", "--only", "first-flight", "x.latch")
    assert ran.code in (exits.UNDECIDED, exits.FAULT)
    assert "NOT PROVED that this stage leaves these to you: motor." in ran.out


def test_only_one() -> None:
    ran = run("cards", "--unproved", "--only", "voids", "x.latch")
    assert "WHAT MAKES A CHECK VOID" in ran.out
    assert "FIRST FLIGHT, BY STAGES" not in ran.out


def test_an_unknown_card() -> None:
    ran = run("cards", "--only", "landing", "x.latch")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "before-flight" in ran.err


@pytest.mark.parametrize("form", ["markdown", "html", "json"])
def test_other_forms(form: str) -> None:
    ran = run("cards", "--unproved", "--format", form, "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    if form == "json":
        assert len(json.loads(ran.out)["cards"]) == 5
    elif form == "html":
        read(ran.out).assert_sound()
    else:
        assert ran.out.startswith("# Before flight\n")


def test_since_the_same(folder: Path) -> None:
    (folder / "old.latch").write_text("# an older remark\n" + RULES)
    ran = run("cards", "--unproved", "--only", "voids", "--since", "old.latch", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "NOTHING IS VOID by this change." in ran.out


def test_since_another(folder: Path) -> None:
    (folder / "old.latch").write_text(RULES.replace("60 % from", "70 % from"))
    ran = run("cards", "--unproved", "--only", "voids", "--since", "old.latch", "x.latch")
    assert ran.code == exits.FINE
    for check in ("read-back", "bench test", "first flight"):
        assert f"VOID: {check}." in ran.out
    assert "these still stand: the proofs, failsafe and range." in ran.out


def test_since_what_cannot_be_read(folder: Path) -> None:
    (folder / "old.latch").write_text(RULES + "claim c: always moter is free\n")
    ran = run("cards", "--unproved", "--since", "old.latch", "x.latch")
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert "error[unknown-name]" in ran.err
    assert run("cards", "--unproved", "--since", "gone.latch", "x.latch").code == exits.MISUSE


def test_a_transmitter() -> None:
    ran = run("cards", "--unproved", "--transmitter", "typical", "--only", "voids", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    wrong = run("cards", "--unproved", "--transmitter", "tpyical", "x.latch")
    assert (wrong.code, wrong.out) == (exits.MISUSE, "")


def test_another_transmitter() -> None:
    ran = run("cards", "--unproved", "--transmitter", "typical", "--since-transmitter", "rich", "--only", "voids",
              "x.latch")  # fmt: skip
    assert ran.code == exits.FINE
    assert "SINCE THE EARLIER VERSION" in ran.out
    alone = run("cards", "--unproved", "--since-transmitter", "rich", "x.latch")
    assert (alone.code, alone.out) == (exits.MISUSE, "")
    assert "--transmitter says what it is now" in alone.err


def test_an_error_in_the_rules_prints_nothing(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES + "claim c: always moter is free\n")
    ran = run("cards", "x.latch")
    assert (ran.code, ran.out) == (exits.FAULT, "")


def test_a_listing_as_a_page() -> None:
    ran = run("listing", "--unproved", "--format", "html", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    read(ran.out).assert_sound()


def test_the_listing_of_a_stage_that_only_warns(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES + "claim works: can motor is driven\n")
    ran = run("listing", "--stage", "warn_only", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "PROVED for this stage: nothing in it ever acts on a channel" in ran.out
    assert "not in this stage: works: can motor is driven" in ran.out
    (folder / "x.latch").write_text(FAILING)
    full = run("listing", "--stage", "warn_only", "x.latch")
    assert full.code == exits.FAULT
    assert "FAILS: slow" in full.out
