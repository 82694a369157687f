"""Paths to texts with lines and spans."""

from latchproof.source.text import Source, Span, by_name

__all__ = ["Source", "Span", "by_name"]
