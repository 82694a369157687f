"""Running the command in the tests, inside this process or as a process of its own."""

import contextlib
import io
import os
import subprocess
import sys
from dataclasses import dataclass

from latchproof.cli.main import main
from tests.layout.house import ROOT


@dataclass(frozen=True, slots=True)
class Ran:
    code: int
    out: str
    err: str


def run(*argv: str) -> Ran:
    """In this process: quick, but not for what the operating system sees."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(argv)
    return Ran(code, out.getvalue(), err.getvalue())


def command(*argv: str) -> list[str]:
    return [sys.executable, "-m", "latchproof", *argv]


def environment(**changes: str) -> dict[str, str]:
    """Without the colour and debug settings of whoever runs the tests."""
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "LATCHPROOF_DEBUG", "COLUMNS", "TERM")}
    return kept | {"PYTHONPATH": str(ROOT / "compiler"), "PYTHONUTF8": "1"} | changes


def process(*argv: str, stdin: bytes = b"", cwd: str | None = None, **changes: str) -> Ran:
    done = subprocess.run(
        command(*argv), input=stdin, capture_output=True, cwd=cwd, env=environment(**changes), timeout=60, check=False
    )
    return Ran(done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace"))
