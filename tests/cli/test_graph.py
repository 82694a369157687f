"""`latchproof graph` as a command."""

from pathlib import Path
from xml.etree import ElementTree

import pytest

from latchproof.cli import exits
from tests.cli.commands import run

RULES = """\
switch guard positions off, on
stick throttle from 0 % to 100 %
channel motor { follows throttle  from 0 % to 100 % }
rule climb while guard is on { drive motor to 60 % }
"""
TREE = """\
motor (channel)
|- climb (rule)
|  `- guard (switch)
`- throttle (stick)
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "x.latch").write_text(RULES)
    return tmp_path


def test_a_tree() -> None:
    ran = run("graph", "x.latch")
    assert (ran.code, ran.out, ran.err) == (exits.FINE, TREE, "")


def test_files(folder: Path) -> None:
    ran = run("graph", "x.latch", "--svg", "x.svg", "--dot", "x.dot")
    assert (ran.code, ran.out, ran.err) == (exits.FINE, TREE, "x.svg: written\nx.dot: written\n")
    assert ElementTree.parse(folder / "x.svg").getroot().tag == "{http://www.w3.org/2000/svg}svg"
    assert (folder / "x.dot").read_text().startswith("digraph rules {")


def test_a_file_is_written_over(folder: Path) -> None:
    (folder / "x.dot").write_text("old")
    assert run("graph", "x.latch", "--dot", "x.dot").code == exits.FINE
    assert (folder / "x.dot").read_text().startswith("digraph rules {")
    assert sorted(p.name for p in folder.iterdir()) == ["x.dot", "x.latch"]


@pytest.mark.parametrize(("option", "begins"), [("--dot", "digraph rules {"), ("--svg", "<svg")])
def test_standard_output_gets_nothing_else(option: str, begins: str) -> None:
    ran = run("graph", "x.latch", option, "-")
    assert (ran.code, ran.err) == (exits.FINE, "")
    assert ran.out.removeprefix('<?xml version="1.0" encoding="UTF-8"?>\n').startswith(begins)
    assert "|- climb" not in ran.out


def test_only_one_of_them_can_go_there() -> None:
    assert run("graph", "x.latch", "--dot", "-", "--svg", "-").code == exits.MISUSE


def test_where_nothing_can_be_written() -> None:
    ran = run("graph", "x.latch", "--svg", "none/x.svg")
    assert (ran.code, ran.out) == (exits.MISUSE, TREE)
    assert ran.err == "latchproof: none/x.svg cannot be written: no such file or directory\n"
