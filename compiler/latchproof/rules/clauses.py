"""Clauses that may stand once, and clauses that may not be missing."""

from collections.abc import Iterable

from latchproof.diagnostics import Label
from latchproof.rules.scope import Env
from latchproof.source import Span


def at_most_once(spans: Iterable[Span], what: str, env: Env) -> bool:
    """Report every clause after the first; whether there was none."""
    first: Span | None = None
    fine = True
    for span in spans:
        if first is None:
            first = span
            continue
        fine = False
        env.error(
            "repeated-clause",
            f"{what} is said twice",
            Label(span, "once more"),
            Label(first, "first here"),
            hints=("keep one of the two",),
        )
    return fine


def missing(place: Span, name: str, lacks: str, label: str, add: str, env: Env, code: str = "missing-clause") -> None:
    env.error(code, f"{name} {lacks}", Label(place, label), hints=(f"add: {add}",))
