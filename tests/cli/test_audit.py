"""`latchproof audit` as a command; what it finds is tested with its room."""

import csv
import io
import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import process, run

RULES = """\
rules "Climb" version "1"
switch guard positions off, on
stick throttle from 0 % to 100 %
channel motor 1 { follows throttle  from 0 % to 100 % }
role arm is guard is on
rule climb while guard is on { drive motor to 60 %  announce voice "climb" every 2 s }
claim frees "off means off": always motor is free while guard is off
accept H30 because "it takes off by hand"
stage gentle { }
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    ran = run("listing", "--unproved", "--format", "csv", "x.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    (tmp_path / "form.csv").write_text(ran.out)
    return tmp_path


def fill(folder: Path, **cells: str) -> None:
    """Under "as entered", by entry and field, as `_1_value="70 %"`; the rest is ticked."""
    left = dict(cells)
    rows = list(csv.reader(io.StringIO((folder / "form.csv").read_text())))
    for r in rows:
        if r[0].isdigit():
            said = left.pop(f"_{r[0]}_{r[2].replace(' ', '_')}", None)
            r[5:7] = [said or "", "" if said else "x"]
    assert not left
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    (folder / "form.csv").write_text(out.getvalue())


def test_untouched_it_does_not_pass() -> None:
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.UNDECIDED, "")
    assert "NOT READ BACK YET" in ran.out
    assert "so far this says nothing of the transmitter" in " ".join(ran.out.split())
    assert "As listed" not in ran.out


def test_one_field_that_is_not_read_back_is_no_pass(folder: Path) -> None:
    fill(folder)
    rows = (folder / "form.csv").read_text().splitlines()
    at = next(i for i, r in enumerate(rows) if r.startswith("1,") and r.endswith(",x"))
    rows[at] = rows[at].removesuffix("x")
    (folder / "form.csv").write_text("\n".join(rows))
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.UNDECIDED, "")
    assert "NOT READ BACK YET, 1 of" in ran.out


FAILS = 'claim pushes "never above half": always motor is at most 50 % while guard is on\nclaim frees'


def test_what_the_listing_does_not_keep_is_told_first(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES.replace("claim frees", FAILS))
    (folder / "form.csv").write_text(run("listing", "--unproved", "--format", "csv", "x.latch").out)
    fill(folder)
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    said = " ".join(ran.out.split())
    assert said.startswith("THE LISTING ITSELF DOES NOT KEEP 1 OF ITS 2 PROMISES, whatever was typed.")
    assert "fails as listed: never above half" in said
    fill(folder, _2_repeated="every 20 s")
    ran = run("audit", "x.latch", "form.csv")
    assert ran.code == exits.FAULT
    said = " ".join(ran.out.split())
    assert said.startswith("THE LISTING ITSELF DOES NOT KEEP 1 OF ITS 2 PROMISES")
    assert "every promise still holds" not in said
    assert "other; of the promises that the listing keeps none is broken" in said
    fill(folder, _1_acts_while="guard switch at off")
    said = " ".join(run("audit", "x.latch", "form.csv").out.split())
    assert "a promise is kept as listed, fails as entered: off means off" in said
    assert "kept as listed, fails as entered: never above half" not in said
    made = json.loads(run("audit", "x.latch", "form.csv", "--format", "json").out)
    assert made["listing_itself"] == {"promises": 2, "fails": ["never above half"], "not_decided": [],
                                      "not_in_this_stage": []}  # fmt: skip
    assert [f["as_listed"] for f in made["differences"][0]["fails"]] == ["kept"]


def test_a_stage_that_only_warns_is_not_blamed_for_what_it_leaves_out(folder: Path) -> None:
    more = RULES.replace("claim frees", 'claim helps "it can come in": can motor is driven\nclaim frees')
    (folder / "x.latch").write_text(more.replace("stage gentle { }", "stage gentle { warn only }"))
    ran = run("listing", "--unproved", "--format", "csv", "--stage", "gentle", "x.latch")
    assert ran.code == exits.FINE, ran.err
    (folder / "form.csv").write_text(ran.out)
    fill(folder)
    ran = run("audit", "--stage", "gentle", "x.latch", "form.csv")
    assert "DOES NOT KEEP" not in ran.out
    assert "- not in this stage, which only warns: it can come in" in ran.out
    assert ran.code == exits.FINE, ran.out + ran.err


def test_read_back_it_is_as_listed(folder: Path) -> None:
    fill(folder)
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "As listed: every field was read back" in ran.out
    assert "Propeller OFF" in ran.out
    assert "NOT READ BACK" not in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_danger_is_shown_with_its_flight(folder: Path) -> None:
    fill(folder, _1_acts_while="guard switch at off")
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    for said in ("Entry 1: acts while", "listed: guard switch at on", "stands: guard switch at off", "DANGEROUS",
                 "off means off", "broken here", "[ ] entry 1, acts while: guard switch at on"):  # fmt: skip
        assert said in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_what_is_other_and_keeps_its_promises_is_no_pass(folder: Path) -> None:
    fill(folder, _2_repeated="every 20 s")
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    assert "other, but every promise still holds" in ran.out


def test_what_does_nothing_passes(folder: Path) -> None:
    fill(folder, _1_acts_while="guard switch not at off")
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "shows nothing" in ran.out


def test_json(folder: Path) -> None:
    fill(folder, _1_acts_while="guard switch at off")
    ran = run("audit", "x.latch", "form.csv", "--format", "json")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    made = json.loads(ran.out)
    assert made["schema"] == "latchproof.audit/1"
    assert made["not_read_back"]["count"] == 0
    (found,) = made["differences"]
    assert (found["kind"], found["entry"], found["field"], found["verdict"]) == (
        "other value", 1, "acts while", "dangerous",
    )  # fmt: skip
    assert found["fails"][0]["claim"]["name"] == "frees"
    assert found["fails"][0]["claim"]["trace"]
    assert made["together"]["verdict"] == "dangerous"


def test_what_is_refused_has_its_place(folder: Path) -> None:
    fill(folder, _1_value="=1+1")
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    lines = (folder / "form.csv").read_text().splitlines()
    line = next(i for i, text in enumerate(lines, 1) if "=1+1" in text)
    assert ran.err.startswith(f"form.csv:{line}, column `as entered`: entry 1, value: a formula stands here: =1+1")
    assert "do: " in ran.err


def test_the_form_of_other_rules_is_refused(folder: Path) -> None:
    (folder / "x.latch").write_text(RULES.replace("60 %", "65 %"))
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "another listing" in ran.err


def test_a_stage_with_the_same_entries_has_the_same_form(folder: Path) -> None:
    fill(folder)
    assert run("audit", "--stage", "gentle", "x.latch", "form.csv").code == exits.FINE
    assert run("audit", "--stage", "gentel", "x.latch", "form.csv").code == exits.MISUSE


def test_on_a_transmitter(folder: Path) -> None:
    ran = run("listing", "--unproved", "--format", "csv", "--transmitter", "typical", "x.latch")
    (folder / "form.csv").write_text(ran.out)
    fill(folder)
    ran = run("audit", "x.latch", "form.csv", "--transmitter", "typical")
    assert (ran.code, ran.err) == (exits.FINE, "")
    fill(folder, _1_acts_while="guard switch at off")
    ran = run("audit", "x.latch", "form.csv", "--transmitter", "typical")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    assert "off means off" in ran.out


def test_files_that_are_not_there() -> None:
    assert run("audit", "x.latch", "nothing.csv").code == exits.MISUSE
    assert "nothing.csv" in run("audit", "x.latch", "nothing.csv").err
    assert run("audit", "nothing.latch", "form.csv").code == exits.MISUSE
    assert run("audit", "-", "-").code == exits.MISUSE
    assert run("audit", "x.latch", "form.csv", "--transmitter", "typicle").code == exits.MISUSE


def test_from_a_pipe(folder: Path) -> None:
    fill(folder)
    ran = process(
        "audit", "x.latch", "-", stdin=(folder / "form.csv").read_bytes(), cwd=str(folder), LATCHPROOF_CACHE=""
    )
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert "no difference" in ran.out


def test_rubbish_is_no_fault(folder: Path) -> None:
    (folder / "form.csv").write_bytes(b"\x00\x01PK\xff\xfe" * 50)
    ran = run("audit", "x.latch", "form.csv")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "not text" in ran.err
