"""A text laid out the usual way, and never another text than was meant."""

from latchproof.diagnostics import Diagnostic
from latchproof.source import Source
from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.format import format_file
from latchproof.syntax.parse import parse
from latchproof.syntax.tree import File


def layout(source: Source) -> tuple[str | None, tuple[Diagnostic, ...]]:
    """The new text, None if it cannot be read as rules. It is read again before it is given out."""
    tree, found = parse(source)
    if tree is None:
        return None, found
    text = format_file(tree, source)
    again, _ = parse(Source(source.name, text))
    if again is None or again != split_alternatives(tree) or _remarks(again) != _remarks(tree):
        raise AssertionError("the new layout does not say the same; nothing was written")
    return text, found


def _remarks(tree: File) -> list[str]:
    return sorted(comment.text for comment in tree.comments)
