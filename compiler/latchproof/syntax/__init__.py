"""Text to a frozen tree, every node with its place, and the tree back to well-laid-out text."""

from latchproof.syntax.parse import parse

__all__ = ["parse"]
