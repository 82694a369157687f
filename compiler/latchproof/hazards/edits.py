"""Changes to a rule file that a remedy proposes, and what the text is after them."""

from collections.abc import Iterable, Mapping

from latchproof.hazards.model import Edit, Remedy
from latchproof.hazards.site import Site
from latchproof.rules.expressions import Located
from latchproof.source import Span


def clause(site: Site, block: Located, text: str, *, where: str) -> Edit:
    """A clause added at the end of a block in braces: `where` is "latch armed" or "rule climb"."""
    place = block.span.end - 1
    before = site.sources[block.span.source].text[:place]
    lead = "  " if before.endswith("\n") else " "
    return Edit(Span(block.span.source, place, place), f"{lead}{text}\n", f"in {where}, add")


def statement(site: Site, text: str) -> Edit:
    """A statement added at the end of the rule file."""
    end = len(site.main.text)
    lead = "" if site.main.text.endswith("\n") else "\n"
    return Edit(Span(site.main.name, end, end), f"{lead}{text}\n", "add")


def instead(site: Site, part: Located, text: str, *, where: str) -> Edit:
    """Another text in place of a part of a statement."""
    old = site.line(part.span)
    return Edit(part.span, text, f"in {where}, write instead of `{old}`")


def without(site: Site, part: Located, *, where: str) -> Edit:
    """A part taken out."""
    old = site.line(part.span)
    return Edit(part.span, "", f"in {where}, take out `{old}`")


def apply(texts: Mapping[str, str], remedies: Iterable[Remedy]) -> dict[str, str]:
    """The texts by name after all edits, each of them counted in the texts as they were."""
    made = dict(texts)
    edits = {edit for remedy in remedies for edit in remedy.edits}
    for edit in sorted(edits, key=lambda x: (x.span.source, x.span.start, x.span.end, x.text), reverse=True):
        text = made[edit.span.source]
        made[edit.span.source] = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return made
