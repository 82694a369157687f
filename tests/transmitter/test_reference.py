"""grammar/TRANSMITTER.md says what the program does."""

import re

import pytest

from latchproof.source import Source
from latchproof.transmitter.generic import generic
from latchproof.transmitter.interview import step
from latchproof.transmitter.questions import begin
from latchproof.transmitter.read import read
from tests.layout.house import ROOT
from tests.transmitter.reference import rows

PAGE = (ROOT / "grammar" / "TRANSMITTER.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(("heading", "lines"), list(rows()), ids=lambda x: x if isinstance(x, str) else "")
def test_the_tables(heading: str, lines: list[str]) -> None:
    _, _, behind = PAGE.partition("At the top\n" if heading == "at the top" else f"`{heading}`")
    table = re.search(r"^\|---.*\n((?:\|.*\n)*)", behind, re.MULTILINE)
    assert table is not None
    assert table.group(1).splitlines() == lines


def test_the_example_is_read() -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    found, diagnostics = read(Source("mine.toml", example))
    assert [(d.code, d.title) for d in diagnostics] == []
    assert found is not None
    assert found.hands[0].serves == "guard"
    assert {"starts", "gates.kinds", "telemetry.cell"} <= found.unknown


def test_the_prepared_answers_are_answers() -> None:
    """Each line of the page is the answer to a question that comes up."""
    block = PAGE.partition("    # key = answer\n")[2].partition("\n\n")[0]
    answers = dict(line.strip().split(" = ", 1) for line in block.splitlines())
    state = begin(generic("typical"), generic=True)
    while (question := state.question) is not None:
        state = step(state, answers.pop(question.id, ""))
        assert state.said == ()
    assert answers == {}
