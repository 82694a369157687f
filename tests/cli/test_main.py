"""What holds for every command: options, exit codes, and that nothing ends in a traceback."""

import os
import pty
import signal
import subprocess
import time
from argparse import Namespace
from pathlib import Path

import pytest

import latchproof
from latchproof.cli import exits
from latchproof.cli import parser as cli
from latchproof.cli.command import Command
from tests.cli.commands import command, environment, process, run

FAULTY = "signal s = 5 m\n" * 3


def test_version() -> None:
    assert run("--version").out == f"latchproof {latchproof.__version__}\n"


@pytest.mark.parametrize("argv", [(), ("chek", "x"), ("check",), ("check", "x", "--color", "pink"), ("--wrong",)])
def test_misuse(argv: tuple[str, ...]) -> None:
    ran = run(*argv)
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert "usage: latchproof" in ran.err


def test_a_wrong_option_cannot_act_on_the_terminal() -> None:
    ran = run("check", "x", "--\x1b[2J\u202e")
    assert ran.code == exits.MISUSE
    assert "\x1b" not in ran.err
    assert "--\\x1b[2J\\u202e" in ran.err


@pytest.mark.parametrize(
    ("codes", "worst"),
    [([], 0), ([0, 0], 0), ([0, 3], 3), ([3, 1], 1), ([1, 2, 3], 2), ([0, 1], 1)],
)
def test_several_files_give_the_worst_code(codes: list[int], worst: int) -> None:
    assert exits.worst(codes) == worst


def fake(error: BaseException) -> tuple[Command, ...]:
    def execute(_: Namespace) -> int:
        raise error

    return (Command("fail", "", "", lambda _: None, execute),)


def test_an_internal_error_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LATCHPROOF_DEBUG", raising=False)
    monkeypatch.setattr(cli, "COMMANDS", fake(KeyError("na\x1bme")))
    ran = run("fail")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err.count("\n") == 1
    assert "internal error: KeyError: 'na\\x1bme'" in ran.err
    assert "report" in ran.err


def test_an_internal_error_tells_more_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LATCHPROOF_DEBUG", "1")
    monkeypatch.setattr(cli, "COMMANDS", fake(KeyError("name")))
    ran = run("fail")
    assert ran.code == exits.MISUSE
    assert "Traceback" in ran.err


def test_the_keyboard_stops_it_quietly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cli, "COMMANDS", fake(KeyboardInterrupt()))
    ran = run("fail")
    assert (ran.code, ran.out, ran.err) == (exits.INTERRUPTED, "", "")


def test_the_keyboard_stops_a_process_that_waits_for_input() -> None:
    with subprocess.Popen(
        command("check", "-"), stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment()
    ) as child:
        # There is no sign of having begun to wait: ask again until it hears.
        for _ in range(50):
            time.sleep(0.2)
            child.send_signal(signal.SIGINT)
            if child.poll() is not None:
                break
        assert child.stderr is not None
        assert child.returncode in (exits.INTERRUPTED, -signal.SIGINT)
        if child.returncode == exits.INTERRUPTED:
            assert child.stderr.read() == b""


def test_a_reader_that_goes_away_is_no_error(tmp_path: Path) -> None:
    path = tmp_path / "x.latch"
    path.write_text(FAULTY)
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        done = subprocess.run(
            command("check", str(path)), stdout=write_end, stderr=subprocess.PIPE, env=environment(), check=False
        )
    finally:
        os.close(write_end)
    assert (done.returncode, done.stderr) == (exits.NO_READER, b"")


def on_terminal(*argv: str, **changes: str) -> str:
    """What the command writes when its standard output is a terminal."""
    master, slave = pty.openpty()
    with subprocess.Popen(
        command(*argv), stdout=slave, stderr=subprocess.DEVNULL, stdin=subprocess.DEVNULL, env=environment(**changes)
    ) as child:
        os.close(slave)
        chunks = []
        while True:
            try:
                chunk = os.read(master, 65536)
            except OSError:  # the other end is closed
                break
            if not chunk:
                break
            chunks.append(chunk)
        child.wait(60)
    os.close(master)
    return b"".join(chunks).decode()


@pytest.mark.parametrize(
    ("argv", "changes", "coloured"),
    [
        ([], {"TERM": "xterm"}, True),
        ([], {"TERM": "xterm", "NO_COLOR": "1"}, False),
        ([], {"TERM": "xterm", "NO_COLOR": ""}, True),
        ([], {"TERM": "dumb"}, False),
        (["--color", "never"], {"TERM": "xterm"}, False),
        (["--color", "always"], {"TERM": "xterm", "NO_COLOR": "1"}, True),
    ],
)
def test_colours_on_a_terminal(tmp_path: Path, argv: list[str], changes: dict[str, str], coloured: bool) -> None:
    path = tmp_path / "x.latch"
    path.write_text(FAULTY)
    text = on_terminal("check", str(path), *argv, **changes)
    assert "error" in text
    assert ("\x1b[" in text) is coloured


@pytest.mark.parametrize(("argv", "coloured"), [([], False), (["--color", "always"], True)])
def test_colours_in_a_pipe(tmp_path: Path, argv: list[str], coloured: bool) -> None:
    path = tmp_path / "x.latch"
    path.write_text(FAULTY)
    ran = process("check", str(path), *argv, TERM="xterm")
    assert "error" in ran.out
    assert ("\x1b[" in ran.out) is coloured


def test_letters_that_the_terminal_lacks_are_no_reason_to_stop(tmp_path: Path) -> None:
    path = tmp_path / "höhe湖.latch"
    path.write_text("signal höhe = 湖\n", encoding="utf-8")
    ran = process("check", str(path), PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert ran.code == exits.FAULT
    assert "Traceback" not in ran.err
    assert "h\\xf6he\\u6e56.latch:1:" in ran.out
