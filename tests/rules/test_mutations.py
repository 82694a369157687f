"""Whatever can be parsed is resolved or refused, never worse; and it is done in no time."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from latchproof.diagnostics import has_errors, in_order
from latchproof.rules import resolve
from latchproof.source import Source
from latchproof.syntax import File, parse
from latchproof.syntax.lexing import lex
from tests.rules.messages import chunks

PROGRAMS = Path(__file__).parent / "programs"
PART = (PROGRAMS / "parts/stick_low_restart.latch").read_text(encoding="utf-8")
TEXTS = [p.read_text(encoding="utf-8") for p in sorted(PROGRAMS.glob("*.latch"))]
TEXTS += [chunk.without_expectations.text for chunk in chunks()]
AMOUNTS = ("0", "3", "-3", "2.5", "0 m", "46 m", "-3 m", "100 ft", "2 s", "0 s", "3 cycles", "50 %", "350 %", "40 %/s")
AMOUNTS += ("12 V", "3 A", "300 W", "3 m/s", "1000000000000000", "stick_or_so")


def words(text: str) -> list[tuple[str, str]]:
    """Kind and text of every token; what stands between two tokens is a blank."""
    return [(t.kind, text[t.start : t.end]) for t in lex(Source("x", text)).tokens if t.end > t.start]


WORDS = [words(text) for text in TEXTS]
NAMES = sorted({word for each in WORDS for kind, word in each if kind == "NAME"})


@st.composite
def mutations(draw: st.DrawFn) -> str:
    """One of the texts with a few of its names and numbers exchanged, or tokens doubled, swapped or left out."""
    tokens = list(draw(st.sampled_from(WORDS)))
    own = sorted({word for kind, word in tokens if kind == "NAME"}) or NAMES
    of_kind = {kind: [i for i, t in enumerate(tokens) if t[0] == kind] for kind in ("NAME", "QUANTITY", "NUMBER")}
    for _ in range(draw(st.integers(1, 5))):
        kind = draw(st.sampled_from(("NAME", "NAME", "QUANTITY", "NUMBER", "any")))
        places = of_kind.get(kind) or range(len(tokens))
        at = draw(st.sampled_from(places))
        match kind:
            case "NAME":
                tokens[at] = kind, draw(st.sampled_from(own) | st.sampled_from(NAMES))
            case "QUANTITY" | "NUMBER":
                tokens[at] = kind, draw(st.sampled_from(AMOUNTS) | st.sampled_from(own))
            case _:
                match draw(st.sampled_from(("double", "swap", "drop"))):
                    case "double":
                        tokens[at] = kind, f"{tokens[at][1]} {tokens[at][1]}"
                    case "swap":
                        other = draw(st.integers(0, len(tokens) - 1))
                        tokens[at], tokens[other] = tokens[other], tokens[at]
                    case _:
                        tokens[at] = kind, ""
    return " ".join(word for _, word in tokens)


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
