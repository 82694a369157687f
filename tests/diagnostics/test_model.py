"""Diagnostics are data: sorted, each once."""

from latchproof.diagnostics import Diagnostic, Label, has_errors, in_order
from latchproof.source import Span


def at(source: str, start: int, code: str = "x") -> Diagnostic:
    return Diagnostic(code, "title", (Label(Span(source, start, start + 1)),))


def test_sorted_by_file_and_place_each_once() -> None:
    a, b, c, d = at("a", 5), at("a", 30), at("b", 1), Diagnostic("x", "no place")
    assert in_order([c, b, a, b, d]) == (d, a, b, c)


def test_two_codes_at_one_place_are_sorted_by_code() -> None:
    assert in_order([at("a", 1, "z"), at("a", 1, "b")]) == (at("a", 1, "b"), at("a", 1, "z"))


def test_warnings_are_no_errors() -> None:
    warning = Diagnostic("x", "title", severity="warning")
    assert not has_errors([])
    assert not has_errors([warning])
    assert has_errors([warning, at("a", 1)])
