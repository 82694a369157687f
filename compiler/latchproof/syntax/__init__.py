"""Text to a frozen tree, every node with its place (`parse`), and the tree back to well-laid-out text (`format`)."""

from latchproof.syntax.parse import parse
from latchproof.syntax.tree import File

__all__ = ["File", "parse"]
