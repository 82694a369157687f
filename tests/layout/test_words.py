"""What a pilot reads uses a pilot's words."""

import contextlib
import io
import re
from pathlib import Path

import pytest

from latchproof.cli.main import main
from latchproof.cli.parser import COMMANDS
from latchproof.diagnostics.catalogue import CATALOGUE
from latchproof.show.explanations import render
from tests.layout.house import ROOT, named

DEVELOPERS_ONLY = re.compile(
    r"\b(invariants?|induction|inductive|cones?|oracles?|lowering|raising|certificates?|vacuous(ly)?|vacuity"
    r"|witness(es)?|refuted|equivalent mutants?)\b",
    re.IGNORECASE,
)

OPTION = "--certificates"
"""Its name is what people who check proofs look for; its text speaks of proof records."""


def goldens() -> list[Path]:
    """Texts that tests hold the program's output to."""
    return sorted(p for p in (ROOT / "tests").rglob("*.txt") if p.is_file())


@pytest.mark.parametrize("path", goldens(), ids=named)
def test_goldens(path: Path) -> None:
    assert DEVELOPERS_ONLY.findall(path.read_text(encoding="utf-8", errors="replace")) == []


@pytest.mark.parametrize("code", CATALOGUE)
def test_explanations(code: str) -> None:
    assert DEVELOPERS_ONLY.findall(render(CATALOGUE[code])) == []


@pytest.mark.parametrize("command", ["", *(c.name for c in COMMANDS)])
def test_help(command: str) -> None:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main([command, "--help"] if command else ["--help"]) == 0
    assert "usage:" in out.getvalue()
    assert DEVELOPERS_ONLY.findall(out.getvalue().replace(OPTION, "")) == []


def test_the_search_sees_the_words() -> None:
    assert DEVELOPERS_ONLY.search("the claim is Refuted.")
    assert DEVELOPERS_ONLY.search("two witnesses")
    assert not DEVELOPERS_ONLY.search("a conical raise")
