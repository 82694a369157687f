"""What the README shows is what the commands print. `...` on a line of its own stands for something left out."""

import re
import shlex
import subprocess

import pytest

from tests.cli.commands import command, environment
from tests.layout.house import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"^```console\n\$ latchproof ([^\n]+)\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
PATIENCE = ("--time-limit", "120")
"""The commands of the README on a busy machine."""


@pytest.mark.parametrize(("words", "expected"), SHOWN, ids=[words for words, _ in SHOWN])
def test_shows_what_is_printed(words: str, expected: str) -> None:
    name, *arguments = shlex.split(words)
    run = subprocess.run(
        command(name, *PATIENCE, *arguments), cwd=ROOT, env=environment(), capture_output=True, text=True, check=False
    )
    for part in re.split(r"^\.\.\.\n", expected, flags=re.MULTILINE):
        assert part.strip("\n") in run.stdout


def test_the_job_stands_first() -> None:
    title, job = README.split("\n\n")[:2]
    assert title == "# Latchproof"
    assert "compiler and verifier" in job
    assert "\n#" not in job


def test_every_example_is_named() -> None:
    for folder in (ROOT / "examples").iterdir():
        assert not folder.is_dir() or f"`{folder.name}`" in README
