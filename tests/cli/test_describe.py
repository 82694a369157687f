"""`latchproof describe` as a command; questions and descriptions are tested with their room."""

import os
import pty
import signal
import subprocess
import time
from dataclasses import replace
from pathlib import Path

import pytest

from latchproof.cli import exits
from latchproof.show.style import PLAIN
from latchproof.show.transmitter import render
from latchproof.source import Source
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.read import read
from tests.cli.commands import Ran, command, environment, process, run

ANSWERS = """\
# my transmitter
name = Old faithful
channels = 8
order = motor, elevator
hand.1.name = left front
hand.1.kind = switch of 3 places
hand.1.serves = guard
hand.1.means = off is away, on is towards
has.1.what = throttle cut
has.1.channels = 1
gates.inputs = 4
reads = listed order ?
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "answers.txt").write_text(ANSWERS)
    return tmp_path


def written(path: Path) -> Transmitter:
    found, diagnostics = read(Source(path.name, path.read_text(encoding="utf-8")))
    assert diagnostics == ()
    assert found is not None
    return found


def typed(*lines: str, args: tuple[str, ...] = ()) -> Ran:
    return process("describe", *args, stdin="".join(f"{line}\n" for line in lines).encode(), cwd=os.getcwd())


# ---------- prepared answers


def test_prepared_answers(folder: Path) -> None:
    ran = run("describe", "--answers", "answers.txt", "-o", "mine.toml")
    assert (ran.code, ran.out) == (exits.FINE, "")
    mine = written(folder / "mine.toml")
    assert (mine.name, mine.channels, mine.order, mine.gates.inputs) == ("Old faithful", 8, ("motor", "elevator"), 4)
    assert (mine.hands[0].serves, mine.has[0].channels) == ("guard", (1,))
    assert mine.reads == "listed order"
    assert "reads" in mine.assumed
    assert "starts" in mine.unknown
    assert {
        "delays.steps",
        "room.total",
        "pulses.travel",
        "hand.left front.springs",
        "has.throttle cut",
    } <= mine.assumed
    assert not {"channels", "gates.inputs", "hand.left front.kind"} & mine.assumed


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("channels = 8", "channels = many", "line 3: channels: this is no answer here; say a number from 1 to 64"),
        ("channels = 8", "channels 8", "line 3: a line is key = answer"),
        ("channels = 8", "chanels = 8", "there is no question chanels after these answers; did you mean `channels`?"),
        ("channels = 8", "channels = 8\nchannels = 9", "line 4: channels is answered on line 3 already"),
        ("name = Old faithful\n", "", "add a line name = ..."),
        ("channels = 8", "channels = back", "line 3: back is no answer here"),
        ("order = motor, elevator", "order = a, a", "line 4: order: `a` moves on two channels"),
    ],
)
def test_a_wrong_line_is_told_and_nothing_is_written(folder: Path, old: str, new: str, said: str) -> None:
    (folder / "answers.txt").write_text(ANSWERS.replace(old, new))
    ran = run("describe", "--answers", "answers.txt", "-o", "mine.toml")
    assert ran.code == exits.FAULT
    assert said in ran.err
    assert "grammar/TRANSMITTER.md" in ran.err
    assert "?." not in ran.err
    assert not (folder / "mine.toml").exists()


def test_no_such_answers() -> None:
    assert run("describe", "--answers", "nix.txt").code == exits.MISUSE


def test_to_standard_output(folder: Path) -> None:
    ran = run("describe", "--answers", "answers.txt", "-o", "-")
    found, diagnostics = read(Source("-", ran.out))
    assert diagnostics == ()
    assert found is not None
    assert sorted(p.name for p in folder.iterdir()) == ["answers.txt"]


# ---------- nothing is lost, nothing is overwritten


def test_a_file_that_is_there_stays(folder: Path) -> None:
    (folder / "mine.toml").write_text("precious")
    ran = run("describe", "--answers", "answers.txt", "-o", "mine.toml")
    assert ran.code == exits.MISUSE
    assert "--force" in ran.err
    assert (folder / "mine.toml").read_text() == "precious"
    assert run("describe", "--answers", "answers.txt", "-o", "mine.toml", "--force").code == exits.FINE
    assert written(folder / "mine.toml").channels == 8


def test_the_end_of_input_keeps_what_was_answered(folder: Path) -> None:
    ran = typed("Mine", "6", args=("-o", "mine.toml"))
    assert ran.code == exits.FAULT
    assert "Not finished" in ran.err
    assert "--from mine.toml" in ran.err
    mine = written(folder / "mine.toml")
    assert (mine.name, mine.channels) == ("Mine", 6)
    assert "delays.steps" in mine.assumed
    assert "NOT FINISHED" in (folder / "mine.toml").read_text()


def test_nothing_answered_nothing_written(folder: Path) -> None:
    assert typed(args=("-o", "mine.toml")).code == exits.FAULT
    assert not (folder / "mine.toml").exists()


def test_going_on_later(folder: Path) -> None:
    typed("Mine", "6", args=("-o", "mine.toml"))
    ran = typed(*[""] * 80, args=("--from", "mine.toml", "-o", "mine.toml", "--force"))
    assert ran.code == exits.FINE
    assert written(folder / "mine.toml").channels == 6
    assert "NOT FINISHED" not in (folder / "mine.toml").read_text()


def test_ctrl_c_on_a_terminal(folder: Path) -> None:
    """A real terminal: the question stands, the answer is taken, Ctrl-C keeps it."""
    mine, theirs = pty.openpty()
    child = subprocess.Popen(
        command("describe", "-o", "mine.toml"), stdin=theirs, stdout=theirs, stderr=theirs, cwd=folder,
        env=environment(TERM="xterm"), start_new_session=True,
    )  # fmt: skip
    os.close(theirs)
    shown = _until(mine, "What do you call this transmitter?")
    os.write(mine, b"Mine\n")
    shown += _until(mine, "How many channels")
    child.send_signal(signal.SIGINT)
    shown += _until(mine, "mine.toml: written")
    assert child.wait(timeout=30) == exits.INTERRUPTED
    os.close(mine)
    assert "PROPELLER OFF" in shown
    assert written(folder / "mine.toml").name == "Mine"


def _until(terminal: int, text: str) -> str:
    shown, end = "", time.monotonic() + 60
    while text not in " ".join(shown.split()) and time.monotonic() < end:
        shown += os.read(terminal, 4096).decode("utf-8", "replace")
    assert text in " ".join(shown.split())
    return shown


def test_bytes_that_are_no_text(folder: Path) -> None:
    ran = process(
        "describe", "-o", "mine.toml", stdin=b"\xff\xfe\x00\n\x1b[2J\nMine\n" + b"x" * 5000 + b"\n", cwd=str(folder)
    )
    assert ran.code == exits.FAULT
    assert "\x1b" not in ran.err


# ---------- what it says


def test_a_whole_round_on_eighty_columns(folder: Path) -> None:
    ran = typed("Mine", *[""] * 80, args=("-o", "mine.toml"))
    assert ran.code == exits.FINE
    assert ran.out == ""
    assert all(len(line) <= 80 for line in ran.err.splitlines())
    assert "To find out:" in ran.err
    assert "\x1b" not in ran.err
    assert written(folder / "mine.toml").name == "Mine"


def test_a_wrong_answer_is_asked_again() -> None:
    ran = typed("Mine", "many", "8", args=("-o", "mine.toml"))
    assert ran.err.count("How many channels") == 2
    assert "say a number from 1 to 64" in ran.err


@pytest.mark.parametrize("name", NAMES)
def test_show(name: str) -> None:
    ran = run("describe", "--show", name)
    assert ran.code == exits.FINE
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    assert generic(name).name in ran.out
    assert "ASSUMED" in ran.out


def test_show_of_a_wrong_file(folder: Path) -> None:
    (folder / "bad.toml").write_text("chanels = 8\n")
    ran = run("describe", "--show", "bad.toml")
    assert ran.code == exits.MISUSE
    assert "error[description-key]: there is no `chanels` here" in ran.err
    assert "bad.toml:1:1" in ran.err
    assert ran.out == ""


def test_one_that_is_not_known_is_counted_as_one() -> None:
    one = replace(generic("typical"), unknown=frozenset({"reads"}), assumed=frozenset({"starts"}))
    assert "1 answer is ASSUMED; 1 is not known: there" in " ".join(render(one, PLAIN).split())


def test_an_unrelated_neighbour_is_not_offered(folder: Path) -> None:
    (folder / "mine.toml").write_text("")
    assert "did you mean" not in run("describe", "--show", "b.toml").err
    assert "did you mean mine.toml?" in run("describe", "--show", "mne.toml").err


@pytest.mark.parametrize("text", ["", "[project]\nversion = 1\n"])
def test_a_file_that_is_no_description(folder: Path, text: str) -> None:
    (folder / "other.toml").write_text(text)
    ran = run("describe", "--show", "other.toml")
    assert ran.code == exits.MISUSE
    assert ran.err.count("error[") == 1
    assert "latchproof describe" in ran.err


def test_with_the_names_of_a_rule_file(folder: Path) -> None:
    (folder / "x.latch").write_text('rules "x" version "1"\nswitch guard positions off, on\n')
    ran = typed("Mine", *[""] * 80, args=("-o", "mine.toml", "--for", "x.latch"))
    assert ran.code == exits.FINE
    assert "Which switch shall be guard (off, on) of the rule file?" in " ".join(ran.err.split())
    (folder / "y.latch").write_text("nonsense")
    assert typed("Mine", args=("-o", "other.toml", "--for", "y.latch")).code == exits.FAULT


def test_show_of_a_folder(folder: Path) -> None:
    (folder / "sub").mkdir()
    ran = run("describe", "--show", "./sub")
    assert ran.code == exits.MISUSE
    assert "this is a folder, not a description" in ran.err
    assert "latch" not in ran.err


@pytest.mark.parametrize("data", [b"\xef\xbb\xbf", b"\r\n"])
def test_show_of_what_other_editors_write(folder: Path, data: bytes) -> None:
    run("describe", "--answers", "answers.txt", "-o", "mine.toml")
    text = (folder / "mine.toml").read_bytes()
    changed = text.replace(b"\n", data) if data == b"\r\n" else data + text
    (folder / "other.toml").write_bytes(changed)
    assert run("describe", "--show", "other.toml").out == run("describe", "--show", "mine.toml").out != ""


# ---------- a name is not a path


def test_a_name_is_the_built_in_one_and_a_path_a_file(folder: Path) -> None:
    run("describe", "--answers", "answers.txt", "-o", "typical")
    assert "Old faithful" not in run("describe", "--show", "typical").out
    assert "Old faithful" in run("describe", "--show", "./typical").out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("typcal", "did you mean typical?"),
        ("mine", "built in are small, typical, rich"),
        ("nix.toml", "there is no such file"),
        ("", "built in are"),
        ("\x1b[2J", "built in are"),
        ("../builtin/rich", "there is no such file"),
    ],
)
def test_neither(name: str, said: str) -> None:
    ran = run("describe", "--show", name)
    assert ran.code == exits.MISUSE
    assert said in ran.err
    assert "\x1b" not in ran.err
