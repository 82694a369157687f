"""`latchproof explain`."""

import json

import pytest

from latchproof.cli import exits
from latchproof.diagnostics.catalogue import CATALOGUE
from latchproof.rules.hazards import TITLES
from latchproof.show.visible import width
from tests.cli.commands import run
from tests.layout.test_words import DEVELOPERS_ONLY


def test_without_a_code_all_are_listed() -> None:
    ran = run("explain")
    assert ran.code == exits.FINE
    named = [line.split()[0] for line in ran.out.splitlines() if line and not line.startswith(" ")]
    assert named == [*sorted(CATALOGUE), *TITLES]
    assert max(map(width, ran.out.splitlines())) <= 80


def test_one_code() -> None:
    ran = run("explain", "not-text")
    assert ran.code == exits.FINE
    assert ran.out.startswith("not-text: the file is not UTF-8 text\n\nRule files are plain text in UTF-8.")


@pytest.mark.parametrize("code", ["error[not-text]:", "error[not-text]", "NOT-TEXT"])
def test_a_code_as_it_is_pasted(code: str) -> None:
    assert run("explain", code) == run("explain", "not-text")


def test_several_codes() -> None:
    ran = run("explain", "not-text", "file-too-large")
    assert ran.out.index("not-text: ") < ran.out.index("file-too-large: ")


def test_an_unknown_code_suggests_a_near_one() -> None:
    ran = run("explain", "not-txt")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err == "latchproof: there is no code not-txt; did you mean not-text?\n"


def test_an_unknown_code_like_no_other() -> None:
    ran = run("explain", "\x1b[2J")
    assert (ran.code, ran.out) == (exits.MISUSE, "")
    assert ran.err == "latchproof: there is no code \\x1b[2j; `latchproof explain` alone lists all codes\n"


def test_json() -> None:
    data = json.loads(run("explain", "--format", "json").out)
    assert data["schema"] == "latchproof.explanations/1"
    assert {row["code"] for row in data["explanations"]} == set(CATALOGUE)


@pytest.mark.parametrize("written", ["H13", "h13"])
def test_a_hazard(written: str) -> None:
    ran = run("explain", written)
    assert ran.code == exits.FINE
    assert ran.out.startswith("H13: the motor jumps when the stick gets it back\n\n")
    assert 'accept H13 in NAME because "..."' in " ".join(ran.out.split())


@pytest.mark.parametrize("code", TITLES)
def test_each_hazard_says_what_happens_what_is_looked_for_and_what_to_do(code: str) -> None:
    (row,) = json.loads(run("explain", code, "--format", "json").out)["explanations"]
    assert len(row["text"]) >= 3
    assert DEVELOPERS_ONLY.findall(run("explain", code).out) == []


def test_a_hazard_and_a_code_as_json() -> None:
    data = json.loads(run("explain", "H40", "not-text", "--format", "json").out)
    assert [row["code"] for row in data["explanations"]] == ["H40", "not-text"]


def test_only_forty_hazards() -> None:
    assert sorted(TITLES) == [f"H{n:02}" for n in range(1, 41)]
    assert run("explain", "H41").code == exits.MISUSE
    assert max(width(line) for code in TITLES for line in run("explain", code).out.splitlines()) <= 80


@pytest.mark.parametrize("code", CATALOGUE)
def test_it_fits_80_columns(code: str) -> None:
    assert max(width(line) for line in run("explain", code).out.splitlines()) <= 80
