"""What is wrong, as data. Rendering is in `show`; explanations of the codes are in `catalogue`."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from latchproof.source import Span

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Label:
    """A place and what is to be said about it."""

    span: Span
    text: str = ""


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One message: the first label is where it happened, the others hold the rest of the story."""

    code: str
    title: str
    labels: tuple[Label, ...] = ()
    hints: tuple[str, ...] = ()
    severity: Severity = "error"


def in_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sorted by file and place, each once."""

    def key(d: Diagnostic) -> tuple[str, int, int, str]:
        span = d.labels[0].span if d.labels else Span("", -1, -1)
        return span.source, span.start, span.end, d.code

    return tuple(sorted(dict.fromkeys(diagnostics), key=key))


def has_errors(diagnostics: Iterable[Diagnostic]) -> bool:
    return any(d.severity == "error" for d in diagnostics)
