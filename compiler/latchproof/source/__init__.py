"""Paths to texts with lines and spans."""

from latchproof.source.text import Source, Span

__all__ = ["Source", "Span"]
