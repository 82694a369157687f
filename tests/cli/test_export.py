"""`latchproof export`: a file a promise, nothing written over, nothing outside the folder."""

import json
from pathlib import Path

import pytest

from tests.cli.commands import run
from tests.helpers.lustre import read
from tests.prove.small import HEAD, PROVED, text

CLAIMS = (PROVED["never"], PROVED["length"], PROVED["can"])


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    path = tmp_path / "small.latch"
    path.write_text(text(*CLAIMS))
    return path


def promises(rules: Path) -> list[str]:
    ran = run("prove", str(rules), "--format", "json")
    return [row["name"] for row in json.loads(ran.out)["files"][0]["claims"]]


@pytest.mark.parametrize(("language", "ending"), [("smtlib", ".smt2"), ("lustre", ".lus")])
def test_a_file_for_each_promise(rules: Path, tmp_path: Path, language: str, ending: str) -> None:
    out = tmp_path / "new" / "folder"
    ran = run("export", str(rules), "--to", language, str(out))
    assert (ran.code, ran.out) == (0, "")
    names = promises(rules)
    assert sorted(f.name for f in out.iterdir()) == sorted(f"{name}{ending}" for name in names)
    assert f"{len(names)} " in ran.err
    for k, claim in enumerate(CLAIMS):
        first = (out / f"claim_{k}{ending}").read_text().splitlines()[0]
        assert first == f"{'; ' if language == 'smtlib' else '-- '}claim_{k}: {claim}"


def test_the_same_rules_give_the_same_files(rules: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert run("export", str(rules), "--to", "smtlib", str(tmp_path / name)).code == 0
    for file in (tmp_path / "one").iterdir():
        assert file.read_text() == (tmp_path / "two" / file.name).read_text()


def test_a_folder_with_something_in_it_is_left_alone(rules: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine")
    ran = run("export", str(rules), "--to", "smtlib", str(out))
    assert ran.code == 2
    assert "is not empty" in ran.err
    assert [f.name for f in out.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize("there", ["small.latch", "small.latch/folder"])
def test_what_is_no_folder_is_told(rules: Path, tmp_path: Path, there: str) -> None:
    ran = run("export", str(rules), "--to", "lustre", str(tmp_path / there))
    assert ran.code == 2
    assert ran.err.splitlines()[-1].startswith("latchproof: ")
    assert "Traceback" not in ran.err


def test_a_cycle_time_of_your_own(rules: Path, tmp_path: Path) -> None:
    ran = run("export", str(rules), "--to", "lustre", str(tmp_path / "out"), "--cycle", "25 ms")
    assert ran.code == 0
    node = read((tmp_path / "out" / "claim_0.lus").read_text())
    assert "cycle_time" in node.locals


@pytest.mark.parametrize("time", ["1 ms", "51ms", "1s"])
def test_a_cycle_time_that_the_rules_do_not_have(rules: Path, tmp_path: Path, time: str) -> None:
    ran = run("export", str(rules), "--to", "lustre", str(tmp_path / "out"), "--cycle", time)
    assert ran.code == 2
    assert "10 ms to 50 ms" in ran.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("time", ["", "ms", "-1ms", "1e3", "nan", "0ms", "1/0", "٣ms", "1.", ".5", "9" * 50])
def test_what_is_no_time(rules: Path, tmp_path: Path, time: str) -> None:
    ran = run("export", str(rules), "--to", "lustre", str(tmp_path / "out"), f"--cycle={time}")
    assert ran.code == 2
    assert "Traceback" not in ran.err


def test_a_cycle_time_is_for_lustre(rules: Path, tmp_path: Path) -> None:
    ran = run("export", str(rules), "--to", "smtlib", str(tmp_path / "out"), "--cycle", "25ms")
    assert (ran.code, ran.err) == (2, "latchproof: --cycle is for --to lustre\n")


def test_rules_with_an_error_are_not_exported(tmp_path: Path) -> None:
    path = tmp_path / "bad.latch"
    path.write_text(HEAD + "claim c: never nothing_of_the_kind\n")
    ran = run("export", str(path), "--to", "smtlib", str(tmp_path / "out"))
    assert ran.code == 1
    assert not (tmp_path / "out").exists()


def test_no_promises_no_files(tmp_path: Path) -> None:
    path = tmp_path / "none.latch"
    path.write_text('rules "None" version "1"\nbutton go\nchannel lamp { rests at 0 %  from 0 % to 100 % }\n')
    ran = run("export", str(path), "--to", "smtlib", str(tmp_path / "out"))
    assert (ran.code, ran.err.splitlines()[-1]) == (0, "latchproof: there are no promises to export")
    assert not (tmp_path / "out").exists()
