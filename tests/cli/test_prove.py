"""`latchproof prove` as a command: what goes where, exit codes, nothing left behind."""

import json
import os
import signal
import subprocess
import time
from pathlib import Path

import pytest

from latchproof.cli import exits
from tests.cli.commands import command, environment, process, run
from tests.layout.house import ROOT

START = """\
switch guard positions off, on
stick throttle from 0 % to 100 %
channel motor { follows throttle  from 0 % to 100 % }
rule climb while guard is on { drive motor to 60 % }
"""
TRUE = START + 'claim frees "off frees the motor": always motor is free while guard is off\n'
FALSE = START + "claim slow: always motor is at most 50 %\n"
FIGHT = """\
switch guard positions off, on
switch brake positions flush, out
channel motor { rests at 0 %  from 0 % to 100 % }

rule climb while guard is on { drive motor to 60 % }
rule stop while brake is out { drive motor to 0 % }
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "true.latch").write_text(TRUE)
    (tmp_path / "false.latch").write_text(FALSE)
    (tmp_path / "fight.latch").write_text(FIGHT)
    (tmp_path / "faulty.latch").write_text(START + "claim c: always moter is free\n")
    return tmp_path


def test_a_true_promise() -> None:
    ran = run("prove", "true.latch")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert ran.out.startswith(
        "frees: off frees the motor\n  proved if a cycle takes 5 ms to 30 ms (ASSUMED)\n\n1 promise: 1 proved\n\n"
    )
    assert "propeller off" in ran.out


def test_a_false_promise() -> None:
    ran = run("prove", "false.latch")
    assert (ran.code, ran.err) == (exits.FAULT, "")
    assert ran.out.startswith("slow: always motor is at most 50 %\n  fails, like this:\n")
    assert ran.out.endswith("\n1 promise: 1 fails\n")
    assert "propeller off" not in ran.out


def test_no_time_is_not_decided() -> None:
    ran = run("prove", "--time-limit", "0.01", "true.latch", "false.latch")
    assert ran.code == exits.UNDECIDED
    assert ran.out.count("not decided") == 4
    assert "proved if" not in ran.out
    assert "fails, like this" not in ran.out


def test_a_certain_failure_outweighs_an_error_of_nobody() -> None:
    assert run("prove", "true.latch", "false.latch", "faulty.latch").code == exits.FAULT
    assert run("prove", "true.latch", "none.latch").code == exits.MISUSE


def test_an_error_in_the_rules_is_chatter_here() -> None:
    ran = run("prove", "faulty.latch")
    assert (ran.code, ran.out) == (exits.FAULT, "")
    assert ran.err.startswith("error[unknown-name]: nothing is called moter\n")


def test_several_files_are_headed_by_their_names() -> None:
    ran = run("prove", "true.latch", "false.latch")
    assert ran.out.startswith("true.latch\n\nfrees: ")
    assert "\n\nfalse.latch\n\nslow: " in ran.out


def test_one_line_each() -> None:
    ran = run("prove", "--format", "concise", "true.latch", "false.latch")
    assert ran.out.splitlines() == [
        "true.latch:5:1: proved: claim frees: off frees the motor",
        "false.latch:5:1: fails: claim slow: always motor is at most 50 %",
    ]


def test_json() -> None:
    ran = run("prove", "--format", "json", "true.latch", "false.latch", "faulty.latch")
    assert "moter" in ran.err
    data = json.loads(ran.out)
    assert data["schema"] == "latchproof.verdicts/1"
    assert [f["file"] for f in data["files"]] == ["true.latch", "false.latch", "faulty.latch"]
    [[held], [failed], none] = [f["claims"] for f in data["files"]]
    assert none == []
    keys = {
        "name",
        "text",
        "kind",
        "verdict",
        "engine",
        "seconds",
        "allowance",
        "never_put_to_the_test",
        "rests_on",
        "sticks",
        "assumed",
        "device",
    }
    assert set(held) == {*keys, "trace"}
    assert (held["name"], held["verdict"], held["trace"]) == ("frees", "proved", None)
    assert (failed["name"], failed["verdict"]) == ("slow", "refuted")
    assert [type(moment["time"]) for moment in failed["trace"]] == [str] * len(failed["trace"])
    assert failed["trace"]


def test_drives_that_meet_are_an_error_with_its_places_and_a_story() -> None:
    ran = run("prove", "fight.latch")
    assert ran.code == exits.FAULT
    golden = ROOT / "tests" / "cli" / "bad_input" / "equal_priority.txt"
    assert "---- rules.latch\n" + FIGHT + "---- prove\n" + ran.out.replace("fight.latch", "rules.latch") == (
        golden.read_text(encoding="utf-8")
    )


def test_drives_that_meet_on_one_line() -> None:
    ran = run("prove", "--format", "concise", "fight.latch")
    assert ran.out == ("fight.latch:5:38: error[drives-meet]: climb and stop drive motor to different values at once\n")


def test_standard_input() -> None:
    ran = process("prove", "--format", "concise", "-", stdin=TRUE.encode())
    assert ran.out == "-:5:1: proved: claim frees: off frees the motor\n"


@pytest.mark.parametrize("time_limit", ["0", "-1", "nan", "inf", "soon", "\x1b[2J"])
def test_a_time_limit_is_a_time(time_limit: str) -> None:
    ran = run("prove", f"--time-limit={time_limit}", "true.latch")
    assert ran.code == exits.MISUSE
    assert "is no time above 0" in ran.err
    assert "\x1b" not in ran.err


@pytest.mark.parametrize("seconds", [0.7, 1.5])
@pytest.mark.parametrize("to_all", [False, True], ids=["to the command", "to all, as a terminal does"])
def test_the_keyboard_leaves_no_process_behind(seconds: float, to_all: bool) -> None:
    path = ROOT / "examples" / "floor_guard" / "mended.latch"
    child = subprocess.Popen(
        command("prove", str(path)),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        env=environment(),
        start_new_session=True,
    )
    time.sleep(seconds)
    assert child.poll() is None
    if to_all:
        os.killpg(child.pid, signal.SIGINT)
    else:
        child.send_signal(signal.SIGINT)
    _, err = child.communicate(timeout=20)
    assert (child.returncode, err) in ((exits.INTERRUPTED, b""), (-signal.SIGINT, b""))
    for _ in range(50):
        if not alive(child.pid):
            break
        time.sleep(0.1)
    assert alive(child.pid) == []


def alive(session: int) -> list[str]:
    """The processes of a session that still do something."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, _, of = status.read_text().rpartition(")")[2].split()[:4]
        except OSError:
            continue
        if int(of) == session and state not in "ZX":
            found.append(status.parent.name)
    return found
