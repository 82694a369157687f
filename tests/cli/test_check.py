"""`latchproof check`: several files, formats, exit codes."""

import json
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import process, run

FINE = "switch guard positions off, on\nrule r while guard is on { announce tone }\n"
FAULTY = "switch guard positions off, on\nrule r while gard is on { announce tone }\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "fine.latch").write_text(FINE)
    (tmp_path / "faulty.latch").write_text(FAULTY)
    return tmp_path


def test_a_fine_file() -> None:
    ran = run("check", "fine.latch")
    assert (ran.code, ran.out, ran.err) == (exits.FINE, "", "no errors in 1 file\n")


def test_a_faulty_file() -> None:
    ran = run("check", "faulty.latch")
    assert ran.code == exits.FAULT
    assert ran.out.startswith("error[unknown-name]: nothing is called gard\n  --> faulty.latch:2:14\n")
    assert ran.err == "1 error in 1 file\n"


def test_several_files_are_all_read() -> None:
    ran = run("check", "none.latch", "faulty.latch", "fine.latch", "faulty.latch")
    assert ran.code == exits.MISUSE
    assert ran.out.count("error[unknown-name]") == 2
    assert "error[file-not-found]: there is no such file\n  --> none.latch\n" in ran.out
    assert ran.err == "3 errors in 4 files\n"


def test_one_line_each() -> None:
    ran = run("check", "--format", "concise", "faulty.latch", "none.latch", "fine.latch")
    assert ran.out == (
        "faulty.latch:2:14: error[unknown-name]: nothing is called gard\n"
        "none.latch: error[file-not-found]: there is no such file\n"
    )
    assert ran.err == ""


def test_json() -> None:
    ran = run("check", "--format", "json", "faulty.latch", "fine.latch")
    data = json.loads(ran.out)
    assert data["schema"] == "latchproof.diagnostics/1"
    [found] = data["diagnostics"]
    assert (found["code"], found["severity"]) == ("unknown-name", "error")
    assert found["labels"][0]["file"] == "faulty.latch"
    assert found["labels"][0]["start"] == {"line": 2, "column": 14, "offset": 44}
    assert (ran.code, ran.err) == (exits.FAULT, "")


def test_standard_input() -> None:
    ran = process("check", "-", stdin=FAULTY.encode())
    assert ran.code == exits.FAULT
    assert "  --> -:2:14\n" in ran.out


def test_an_included_file_with_an_error(folder: Path) -> None:
    (folder / "parts").mkdir()
    (folder / "parts" / "p.latch").write_text("part p takes signal s gives t {\n  signal t = nix\n}\n")
    (folder / "main.latch").write_text(
        'include "parts/p.latch"\nbutton b\nuse p as a with s = b is pressed\nrule r while a.t { announce tone }\n'
    )
    ran = run("check", "--format", "concise", "main.latch")
    assert ran.out == "parts/p.latch:2:14: error[unknown-name]: nothing is called nix\n"


def test_a_missing_include_is_an_error_in_the_rules(folder: Path) -> None:
    (folder / "main.latch").write_text('include "nix.latch"\nbutton b\n')
    ran = run("check", "main.latch")
    assert ran.code == exits.FAULT
    assert ran.out.startswith("error[file-not-found]: there is no such file\n  --> main.latch:1:9\n")


def test_warnings_alone_are_fine(folder: Path) -> None:
    (folder / "w.latch").write_text("sensor h { from 0 m to 9 m }\nsignal s = h is equal to 3 m\n")
    ran = run("check", "w.latch")
    assert "warning[" in ran.out
    assert ran.code == exits.FINE
