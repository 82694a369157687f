"""Text to a frozen tree, every node with its place, and the tree back to well-laid-out text."""

from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.format import format_file
from latchproof.syntax.parse import parse
from latchproof.syntax.tree import File

__all__ = ["File", "format_file", "parse", "split_alternatives"]
