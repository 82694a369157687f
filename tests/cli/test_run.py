"""`latchproof run` as a command."""

from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import process, run

RULES = """\
switch guard positions off, on
stick throttle from 0 % to 100 %
channel motor { follows throttle  from 0 % to 100 % }
rule climb while guard is on { drive motor to 60 % }
claim slow: always motor is at most 70 %
"""
CSV = "time,guard,throttle\n0,off,20\n0.02,on,20\n0.04,on,30\n0.06,off,30\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    (tmp_path / "in.csv").write_text(CSV)
    return tmp_path


def test_a_table_in_a_table_out() -> None:
    ran = run("run", "x.latch", "--inputs", "in.csv")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert ran.out == """\
time  guard  throttle [%]  climb  motor [%]
----  -----  ------------  -----  ---------
0     off    20            no     20
0.02  on     20            yes    60
0.04  on     30            yes    60
0.06  off    30            no     30
"""


def test_only_changes() -> None:
    ran = run("run", "x.latch", "--inputs", "in.csv", "--changes")
    assert "climb acts, motor 60 %" in ran.out


def test_comma_separated_and_resampled() -> None:
    ran = run("run", "x.latch", "--inputs", "in.csv", "--every", "10ms", "--format", "csv")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert ran.out.splitlines()[:4] == [
        "time [s],guard,throttle [%],climb,motor [%]",
        "0,off,20,no,20",
        "0.01,off,20,no,20",
        "0.02,on,20,yes,60",
    ]


def test_a_promise_that_the_run_breaks(folder: Path) -> None:
    (folder / "in.csv").write_text(CSV + "0.08,off,90\n")
    for options in ((), ("--format", "csv")):
        ran = run("run", "x.latch", "--inputs", "in.csv", *options)
        assert ran.code == exits.FAULT
        assert "broken at 0.08 s: slow: always motor is at most 70 %" in (ran.err if options else ran.out)
        assert "broken" not in (ran.out if options else ran.err)


def test_an_error_in_the_table_has_its_place(folder: Path) -> None:
    (folder / "in.csv").write_text("time,gard\n0,off\n")
    ran = run("run", "x.latch", "--inputs", "in.csv")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err.startswith("error[table-header]: no input is called gard\n  --> in.csv:1:6\n")


def test_a_missing_table() -> None:
    ran = run("run", "x.latch", "--inputs", "none.csv")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "error[file-not-found]" in ran.err


def test_standard_input_once() -> None:
    assert process("run", "x.latch", "--inputs", "-", stdin=CSV.encode()).out.count("\n") == 6
    assert process("run", "-", "--inputs", "in.csv", stdin=RULES.encode()).out.count("\n") == 6
    ran = process("run", "-", "--inputs", "-", stdin=RULES.encode())
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "only one" in ran.err


@pytest.mark.parametrize("every", ["0", "20", "0ms", "-1s", "1e3s", "soon"])
def test_every_is_a_time(every: str) -> None:
    ran = run("run", "x.latch", "--inputs", "in.csv", f"--every={every}")
    assert ran.code == exits.MISUSE
    assert "no time above 0" in ran.err


def test_inputs_are_needed() -> None:
    assert run("run", "x.latch").code == exits.MISUSE
