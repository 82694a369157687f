"""`latchproof prove --certificates` and `latchproof recheck` as commands."""

import json
import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from latchproof.cli import exits
from latchproof.prove.workers import Workers
from tests.cli.commands import process, run
from tests.cli.test_prove import FIGHT, START
from tests.prove.test_recheck import Horn, Liar

RULES = START + (
    'claim frees "off frees the motor": always motor is free while guard is off\n'
    "claim full: always motor is at most 100 %\n"
    "claim works: can motor is driven\n"
)
NAMES = [f"{claim}.{asks}.smt2" for claim in ("frees", "full") for asks in ("claim", "start", "step")]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A rule file and its proof records."""
    folder = tmp_path_factory.mktemp("made")
    (folder / "true.latch").write_text(RULES)
    ran = process("prove", "--no-cache", "--certificates", "proofs", "true.latch", cwd=str(folder))
    assert (ran.code, ran.err) == (exits.FINE, "proofs: 2 proof records written\n")
    assert sorted(p.name for p in (folder / "proofs").iterdir()) == [*NAMES[:3], *NAMES[3:], "proofs.json"]
    return folder


@pytest.fixture(autouse=True)
def folder(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_records_hold() -> None:
    ran = run("recheck", "true.latch", "proofs")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert ran.out == (
        "frees: holds (z3, cvc5)\n"
        "full: holds (z3, cvc5)\n"
        "works: no proof: that something can happen is shown by an example\n"
        "\n"
        "2 checked: 2 hold\n"
    )


@pytest.mark.parametrize("solver", ["z3", "cvc5"])
def test_one_solver(solver: str) -> None:
    ran = run("recheck", "--solver", solver, "true.latch", "proofs")
    assert ran.code == exits.FINE
    assert ran.out.startswith(f"frees: holds ({solver})\n")


def test_without_the_second_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("latchproof.prove.solvers.is_installed", lambda solver: solver == "z3")
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FINE
    assert ran.out.startswith("frees: holds (z3)\n")
    assert ran.err == "cvc5 is not installed, so z3 judges alone; pip install 'latchproof[recheck]' brings it\n"
    for asked in ("cvc5", "both"):
        ran = run("recheck", "--solver", asked, "true.latch", "proofs")
        assert (ran.code, ran.out) == (exits.MISUSE, "")


def test_an_edited_text_is_refused(folder: Path) -> None:
    path = folder / "proofs" / "frees.step.smt2"
    path.write_text(path.read_text().replace("(check-sat)", "(assert false)\n(check-sat)"))
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FAULT
    assert ran.out.startswith("frees: refused: frees.step.smt2, line ")
    assert ran.out.endswith("\n2 checked: 1 holds, 1 refused\n")


def test_a_damaged_list_is_refused(folder: Path) -> None:
    path = folder / "proofs" / "proofs.json"
    path.write_text(path.read_text().replace("at most 100 %", "at most 101 %"))
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FAULT
    assert ran.out == (
        "proofs: refused: proofs.json: it has been changed since it was written: its\n  checksum is another\n"
    )


def test_changed_rules(folder: Path) -> None:
    (folder / "true.latch").write_text(
        RULES.replace("at most 100 %", "at most 99 %") + "claim new: never motor is driven\n"
    )
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FAULT
    assert ran.out == (
        "note: the rule file has been changed since; each promise is compared with what\n  the rules come to now\n"
        "\n"
        "frees: holds (z3, cvc5)\n"
        "full: refused: the record is of another promise: always motor is at most 100 %\n"
        "works: no proof: that something can happen is shown by an example\n"
        "new: no proof: there is no proof record of it\n"
        "\n"
        "3 checked: 1 holds, 1 without a proof, 1 refused\n"
    )


def test_no_time_is_not_decided() -> None:
    ran = run("recheck", "--time-limit", "0.001", "true.latch", "proofs")
    assert ran.code == exits.UNDECIDED
    assert ran.out.startswith("frees: not decided: z3: time ran out; cvc5: time ran out\n")
    assert "holds" not in ran.out


def test_json() -> None:
    ran = run("recheck", "--format", "json", "true.latch", "proofs")
    data = json.loads(ran.out)
    assert ran.code == exits.FINE
    assert set(data) == {"schema", "file", "folder", "solvers", "refused", "notes", "claims"}
    assert (data["schema"], data["refused"], data["notes"]) == ("latchproof.recheck/1", None, [])
    assert [(c["name"], c["result"]) for c in data["claims"]] == [
        ("frees", "holds"),
        ("full", "holds"),
        ("works", "example"),
    ]
    assert data["claims"][0]["answers"] == {s: ["unsat"] * 3 for s in ("z3", "cvc5")}


def test_what_was_shown_to_be_impossible(folder: Path) -> None:
    (folder / "never.latch").write_text(START + "claim odd: can motor is driven while guard is off\n")
    ran = run("prove", "--no-cache", "--certificates", "odd", "never.latch")
    assert ran.code == exits.FAULT
    ran = run("recheck", "never.latch", "odd")
    assert ran.code == exits.FAULT
    assert ran.out == (
        "odd: fails: it can never happen, and the proof of that holds (z3, cvc5)\n\n1 checked: 1 fails\n"
    )
    assert (
        json.loads(run("recheck", "--format", "json", "never.latch", "odd").out)["claims"][0]["result"] == "impossible"
    )


def test_what_nobody_wrote_has_a_record_too(folder: Path) -> None:
    (folder / "two.latch").write_text(FIGHT.replace("while brake is out", "while brake is out and guard is off"))
    assert run("prove", "--no-cache", "--certificates", "two", "two.latch").code == exits.FINE
    ran = run("recheck", "two.latch", "two")
    assert ran.code == exits.FINE
    assert ran.out.startswith(
        "climb and stop never drive motor to different values in one cycle: holds (z3,\n  cvc5)\n"
    )


def test_a_claim_that_fails_leaves_no_record(folder: Path) -> None:
    (folder / "false.latch").write_text(RULES + "claim slow: always motor is at most 50 %\n")
    ran = run("prove", "--no-cache", "--certificates", "half", "false.latch")
    assert (ran.code, ran.err) == (exits.FAULT, "half: 2 proof records written\n")
    ran = run("recheck", "false.latch", "half")
    assert ran.code == exits.FAULT
    assert "\nslow: no proof: there is no proof record of it\n" in ran.out


def test_nothing_that_a_record_says_acts_on_the_terminal(folder: Path) -> None:
    from latchproof.prove.record_file import read_list
    from latchproof.prove.records import listed, row

    path = folder / "proofs" / "proofs.json"
    found = read_list(path.read_bytes())
    strange = "\x1b[2J\u202e" + "long " * 100_000
    rows = [
        row(replace(one.proof, claim=f"{name}{strange}"[: 10 + at * 10**6]), strange, one.facts, one.files)
        for at, (name, one) in enumerate(found.proofs.items())
    ]
    rows += [row(one.proof, strange, one.facts, one.files) for one in found.proofs.values()]
    path.write_text(listed(found.origin, strange, rows))
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FAULT
    assert "\x1b" not in ran.out
    assert "\u202e" not in ran.out
    assert "frees: refused: the record is of another promise: \\x1b[2J\\u202elong long" in ran.out
    assert len(ran.out) < 3000


# ---------- what a record takes for granted


FACTS = """rules "Facts" version "1"
cycle from 10 ms to 50 ms
button a
stick x from 0 % to 100 %
channel motor { follows x  from 0 % to 100 % }
assume calm: whenever a is pressed then x is at most 40 %
claim low: never a is pressed and x is above 50 %
"""
STOPPED = FACTS.replace(
    "claim low", "assume full: always x is above 60 %\nassume less: always x is below 40 %\nclaim low"
)


def forged(name: str, text: str) -> None:
    """The rules, and a record of `low` that states nothing at all but what the facts say."""
    from latchproof import __version__
    from latchproof.prove.records import Proof, origin_of, records
    from latchproof.source import Source
    from tests.helpers.rules import machine_of

    Path(f"{name}.latch").write_text(text)
    machine = machine_of(text)
    origin = origin_of(machine, [Source(f"{name}.latch", text)], None)
    Path(name).mkdir()
    proof = Proof("low", True, ("true",))
    for file, content in records(machine, [proof], origin, f"latchproof {__version__}").items():
        (Path(name) / file).write_text(content)


def test_facts_are_named_and_asked_about_again() -> None:
    forged("calm", FACTS)
    ran = run("recheck", "calm.latch", "calm")
    assert ran.code == exits.FINE
    assert " ".join(ran.out.split()).endswith(
        "low: holds (z3, cvc5) 1 checked: 1 holds Taken for granted, as the rule file states it: assumption calm. "
        "Asked again (z3): under these facts there is always a next moment."
    )
    assert json.loads(run("recheck", "--format", "json", "calm.latch", "calm").out)["claims"][0]["time"] == "goes on"


@pytest.mark.parametrize("solver", ["z3", "cvc5", "both"])
def test_a_record_under_facts_that_stop_time_is_none(solver: str) -> None:
    """No step keeps to both assumptions, so all three questions have no answer, and that means nothing."""
    forged("stopped", STOPPED)
    ran = run("recheck", "--solver", solver, "stopped.latch", "stopped")
    assert ran.code == exits.UNDECIDED
    said = " ".join(ran.out.split())
    assert said.startswith("low: not decided: it is not settled that its facts leave the world a next moment")
    assert said.endswith("1 checked: 1 not decided")
    row = json.loads(run("recheck", "--format", "json", "stopped.latch", "stopped").out)["claims"][0]
    assert (row["result"], row["time"]) == ("not decided", "open")
    assert row["answers"] == {s: ["unsat"] * 3 for s in ("z3", "cvc5")}


def test_a_proof_that_needs_no_facts_asks_nothing_of_them(folder: Path) -> None:
    text = STOPPED.replace("claim low", "claim wide: always motor is at most 100 %\nclaim low")
    (folder / "wide.latch").write_text(text)
    run("prove", "--no-cache", "--certificates", "wide", "wide.latch")
    ran = run("recheck", "--format", "json", "wide.latch", "wide")
    rows = {c["name"]: c for c in json.loads(ran.out)["claims"]}
    assert (rows["wide"]["result"], rows["wide"]["time"], rows["wide"]["facts"]) == ("holds", "not asked", [])


# ---------- the folder


def test_a_folder_with_other_things_is_left_alone(folder: Path) -> None:
    (folder / "mine").mkdir()
    (folder / "mine" / "proofs.json").write_text("{}")
    (folder / "mine" / "frees.step.smt2").write_text("mine")
    for target in (".", "mine", "true.latch"):
        ran = run("prove", "--no-cache", "--certificates", target, "true.latch")
        assert (ran.code, ran.out) == (exits.MISUSE, "")
        assert ran.err.startswith(f"latchproof: {target} ")
    assert (folder / "mine" / "frees.step.smt2").read_text() == "mine"


def test_records_take_the_place_of_records(folder: Path) -> None:
    (folder / "true.latch").write_text(RULES.replace("claim full: always motor is at most 100 %\n", ""))
    (folder / "proofs" / "notes.txt").write_text("mine")
    (folder / "elsewhere").write_text("mine")
    (folder / "proofs" / "frees.step.smt2").unlink()
    (folder / "proofs" / "frees.step.smt2").symlink_to(folder / "elsewhere")
    assert run("prove", "--no-cache", "--certificates", "proofs", "true.latch").code == exits.FINE
    assert sorted(p.name for p in (folder / "proofs").iterdir()) == [*NAMES[:3], "notes.txt", "proofs.json"]
    assert (folder / "elsewhere").read_text() == "mine"
    assert run("recheck", "true.latch", "proofs").code == exits.FINE


def test_one_rule_file_a_folder() -> None:
    ran = run("prove", "--certificates", "new", "true.latch", "true.latch")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert not os.path.exists("new")


@pytest.mark.parametrize("target", ["none", "true.latch", ".", "a\0b"])
def test_no_folder_of_records(target: str) -> None:
    ran = run("recheck", "true.latch", target)
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err.startswith("latchproof: ")


def test_files_that_are_none(folder: Path) -> None:
    (folder / "proofs" / "frees.step.smt2").unlink()
    os.mkfifo(folder / "proofs" / "frees.step.smt2")
    (folder / "proofs" / "full.step.smt2").unlink()
    (folder / "proofs" / "full.step.smt2").symlink_to("/dev/zero")
    ran = run("recheck", "true.latch", "proofs")
    assert ran.code == exits.FAULT
    assert ran.out.count(": refused: ") == 2


# ---------- a proof that is none


def test_a_planted_proof_is_reported(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def planted() -> Workers:
        return Liar(Horn, "true")

    fine = "claim fine: always motor is free while guard is off\n"
    (folder / "false.latch").write_text(f"{START}claim slow: always motor is at most 50 %\n{fine}")
    monkeypatch.setattr("latchproof.prove.workers.loading", planted)
    ran = run("prove", "--no-cache", "--certificates", "planted", "false.latch")
    assert ran.code == exits.MISUSE
    assert "slow: always motor is at most 50 %\n  not decided" in ran.out
    assert "1 proved, 1 not decided" in ran.out
    told, written = ran.err.splitlines()
    assert told == (
        "latchproof: slow: internal error: the proof (any cycle time) did not survive its check. "
        "Please report it, with the rule file and this line."
    )
    assert written == "planted: 1 proof record written"
