"""Whatever can be parsed is resolved or refused, never worse; and it is done in no time."""

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from latchproof.diagnostics import has_errors, in_order
from latchproof.rules import resolve
from latchproof.source import Source
from latchproof.syntax import File, parse
from tests.rules.messages import chunks

PROGRAMS = Path(__file__).parent / "programs"
PART = (PROGRAMS / "parts/stick_low_restart.latch").read_text(encoding="utf-8")
TEXTS = [p.read_text(encoding="utf-8") for p in sorted(PROGRAMS.glob("*.latch"))]
TEXTS += [chunk.without_expectations.text for chunk in chunks()]
TOKEN = re.compile(r"\"[^\"]*\"|\w+(?:\.\w+)?|[^\w\s]|\s+")
WORDS = sorted({w for text in TEXTS for w in TOKEN.findall(text) if not w.isspace()})


@st.composite
def mutations(draw: st.DrawFn) -> str:
    """One of the texts with a few of its tokens exchanged, doubled, swapped or left out."""
    tokens = TOKEN.findall(draw(st.sampled_from(TEXTS)))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(tokens) - 1))
        match draw(st.sampled_from(("exchange", "exchange", "double", "swap", "drop"))):
            case "exchange":
                tokens[at] = draw(st.sampled_from(WORDS))
            case "double":
                tokens[at:at] = [tokens[at], " "]
            case "swap":
                other = draw(st.integers(0, len(tokens) - 1))
                tokens[at], tokens[other] = tokens[other], tokens[at]
            case _:
                tokens[at] = " "
    return "".join(tokens)


def included() -> dict[str, File | None]:
    return {"parts/stick_low_restart.latch": parse(Source("part", PART))[0]}


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.filter_too_much])
@given(mutations())
def test_never_worse_than_an_error(text: str) -> None:
    source = Source("rules.latch", text)
    tree, _ = parse(source)
    if tree is None:
        return
    rules, diagnostics = resolve(tree, included(), {"rules.latch": source})
    assert (rules is None) == has_errors(diagnostics)
    assert diagnostics == in_order(diagnostics)
    again, once_more = resolve(tree, included(), {"rules.latch": source})
    assert (again, once_more) == (rules, diagnostics)
    for diagnostic in diagnostics:
        for label in diagnostic.labels:
            assert 0 <= label.span.start <= label.span.end <= max(len(text), len(PART))


@pytest.mark.parametrize("text", TEXTS[:3])
def test_without_the_texts_it_is_the_same_but_for_quotes(text: str) -> None:
    tree, _ = parse(Source("rules.latch", text))
    assert tree is not None
    with_text, _ = resolve(tree, included(), {"rules.latch": Source("rules.latch", text)})
    without, _ = resolve(tree, included(), {})
    assert with_text is not None
    assert without is not None
    assert without.latches == with_text.latches
    assert {c.text for c in without.claims} == {""}
