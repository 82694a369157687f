"""Explanations of codes as text for the terminal."""

import textwrap
from collections.abc import Iterable, Mapping

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


_ACCEPTED = """`latchproof hazards FILE --only {0}` looks for it. What you have thought about and live with is accepted
in the rule file, for one rule or whatever it is found in, with your reason: accept {0} in NAME because "...". It is
looked for all the same, and stands with its reason in every report and on every listing."""


def hazard(number: str, title: str, page: Iterable[str], style: Style = PLAIN) -> str:
    """What a hazard is: the paragraphs of its page, and how it is looked for and accepted."""
    parts = [style.paint(textwrap.fill(f"{number}: {title}", style.width, break_on_hyphens=False), "strong")]
    parts += [textwrap.fill(p, style.width, break_on_hyphens=False) for p in _page(number, page)]
    return "\n\n".join(parts)


def hazard_row(number: str, title: str, page: Iterable[str]) -> dict[str, object]:
    return {"code": number, "title": title, "text": _page(number, page), "wrong": None, "mended": None}


def _page(number: str, page: Iterable[str]) -> list[str]:
    return [*page, " ".join(_ACCEPTED.format(number).split())]


def titles(hazards: Mapping[str, str], style: Style = PLAIN) -> str:
    """One line a hazard."""
    lines = []
    for number, title in hazards.items():
        first, *rest = textwrap.wrap(title, style.width - 5, break_on_hyphens=False)
        lines += [f"{style.paint(number, 'strong')}  {first}", *(f"     {line}" for line in rest)]
    return "\n".join(lines)


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
