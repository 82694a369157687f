"""Every code is explained, every explanation has a code, and its examples do what they say."""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.diagnostics.catalogue import CATALOGUE
from latchproof.prove.fights import fault
from latchproof.source import Source
from latchproof.strength.honest import honest
from tests.layout.house import room_of, sources, tree

CODE = re.compile(r"[a-z]+(-[a-z0-9]+)+")

NO_CODES = {"year-month-day", "ms-1", "utf-8", "utf-16-be", "utf-16-le"}
"""Texts of the program that look like codes."""

FIND_FAULTS = ("source", "syntax", "rules", "machine", "run")
"""Rooms in which every text that looks like a code is one."""

MAKES = {"Diagnostic", "Trouble", "error", "warn", "say"}
"""Calls whose first argument may be a code of a single word."""


def literals(path: Path) -> set[str]:
    """Everything in a file that is or looks like a code."""
    found = set()
    for node in ast.walk(tree(path)):
        match node:
            case ast.Constant(value=str(text)) if CODE.fullmatch(text) and room_of(path) in FIND_FAULTS:
                found.add(text)
            case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name), args=[ast.Constant(value=str(text)), *_]):
                if name in MAKES and name != "say":
                    found.add(text)
    return found - NO_CODES


WHERE = [path for path in sources() if room_of(path) not in ("diagnostics", "cli", "show")]

TOLD_BY_THE_COMMAND_LINE = {"file-not-writable"}

USED = {code for path in WHERE for code in literals(path)} | TOLD_BY_THE_COMMAND_LINE


def test_every_code_is_explained() -> None:
    assert USED - set(CATALOGUE) == set()


def test_every_explanation_has_a_code() -> None:
    assert set(CATALOGUE) - USED == set()


def test_no_code_is_explained_twice() -> None:
    from latchproof.diagnostics.catalogue import AREAS

    counted = Counter(e.code for area in AREAS for e in area)
    assert [code for code, n in counted.items() if n > 1] == []


PROVED = {
    "drives-meet",
    "never-acts",
    "never-again",
    "never-ends",
    "never-resets",
    "never-set",
    "never-tested",
    "no-first-cycle",
    "time-stops",
}
"""Codes that only the prover finds."""


def codes(text: str, folder: Path, severity: str | None = None) -> set[str]:
    found = pipeline.check_text(Source("example.latch", text), folder).diagnostics
    return {d.code for d in found if severity in (None, d.severity)}


@pytest.mark.parametrize("code", sorted(PROVED))
def test_examples_for_the_prover(code: str, tmp_path: Path) -> None:
    explanation = CATALOGUE[code]
    for text, expected in ((explanation.wrong, {code}), (explanation.mended, set())):
        assert text is not None
        checked = pipeline.check_text(Source("example.latch", text), tmp_path)
        assert checked.rules is not None
        machine = pipeline.machine(checked.rules)
        with pipeline.workers() as workers:
            verdicts = tuple(pipeline.prove(machine, workers, 60, 2))
            found = honest(machine, verdicts, workers, time_limit=60, at_once=2).found
        faults = [f for v in verdicts if (f := fault(v, machine)) is not None]
        assert ({d.code for d in (*faults, *found)} & {code}) == expected


@pytest.mark.parametrize("code", [e.code for e in CATALOGUE.values() if e.wrong is not None and e.code not in PROVED])
def test_examples(code: str, tmp_path: Path) -> None:
    explanation = CATALOGUE[code]
    assert explanation.wrong is not None
    assert explanation.mended is not None
    assert code in codes(explanation.wrong, tmp_path)
    assert codes(explanation.wrong, tmp_path, "error") <= {code}
    assert code not in codes(explanation.mended, tmp_path)
    assert codes(explanation.mended, tmp_path, "error") == set()


WITHOUT_EXAMPLE = {
    "description-conflict",
    "description-key",
    "description-kind",
    "description-missing",
    "description-number",
    "description-syntax",
    "description-twice",
    "description-unit",
    "description-value",
    "file-is-a-folder",
    "file-not-allowed",
    "file-not-found",
    "file-not-readable",
    "file-not-writable",
    "file-too-large",
    "include-missing",
    "included-not-parts",
    "not-text",
    "table-cycle",
    "table-empty",
    "table-header",
    "table-quote",
    "table-range",
    "table-row",
    "table-time",
    "table-too-long",
    "table-value",
    "too-large",
    "too-many-includes",
    "too-many-words",
}
"""Codes whose cause is not in a short text."""


def test_all_others_have_an_example() -> None:
    assert {e.code for e in CATALOGUE.values() if e.wrong is None} == WITHOUT_EXAMPLE


@pytest.mark.parametrize("code", CATALOGUE)
def test_explanations_say_something(code: str) -> None:
    explanation = CATALOGUE[code]
    assert len(" ".join(explanation.paragraphs)) > 80
    assert explanation.title[0] == explanation.title[0].lower() or explanation.title[0] == "'"
    assert not explanation.title.endswith(".")
