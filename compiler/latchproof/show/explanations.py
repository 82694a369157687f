"""Explanations of codes as text for the terminal."""

import textwrap
from collections.abc import Iterable

from latchproof.diagnostics.explanation import Explanation
from latchproof.show.style import PLAIN, Style

SCHEMA = "latchproof.explanations/1"


def render(explanation: Explanation, style: Style = PLAIN) -> str:
    parts = [style.paint(f"{explanation.code}: {explanation.title}", "strong")]
    parts += [textwrap.fill(p, style.width, break_on_hyphens=False) for p in explanation.paragraphs]
    for head, text in (("Not so:", explanation.wrong), ("But so:", explanation.mended)):
        if text:
            parts.append(style.paint(head, "strong") + "\n" + textwrap.indent(text.strip("\n"), "    "))
    return "\n\n".join(parts)


_ACCEPTED = """A danger that you have thought about and live with is accepted in the rule file, with your reason:
accept {} in RULE because "...". This version does not look for it by itself. The acceptance and its reason are printed
on every listing."""


def hazard(number: str, title: str, style: Style = PLAIN) -> str:
    """What `accept` names by that number."""
    head = textwrap.fill(f"{number}: {title}", style.width, break_on_hyphens=False)
    text = textwrap.fill(" ".join(_ACCEPTED.format(number).split()), style.width, break_on_hyphens=False)
    return f"{style.paint(head, 'strong')}\n\n{text}"


def hazard_row(number: str, title: str) -> dict[str, object]:
    text = [" ".join(_ACCEPTED.format(number).split())]
    return {"code": number, "title": title, "text": text, "wrong": None, "mended": None}


def listed(explanations: Iterable[Explanation], style: Style = PLAIN) -> str:
    """One line a code, by the alphabet."""
    rows = sorted(explanations, key=lambda e: e.code)
    wide = max((len(e.code) for e in rows), default=0)
    lines = []
    for e in rows:
        first, *rest = textwrap.wrap(e.title, max(20, style.width - wide - 2), break_on_hyphens=False)
        lines += [f"{style.paint(f'{e.code:<{wide}}', 'strong')}  {first}", *(f"{'':{wide}}  {line}" for line in rest)]
    return "\n".join(lines)


def as_row(explanation: Explanation) -> dict[str, object]:
    return {
        "code": explanation.code,
        "title": explanation.title,
        "text": list(explanation.paragraphs),
        "wrong": explanation.wrong,
        "mended": explanation.mended,
    }
