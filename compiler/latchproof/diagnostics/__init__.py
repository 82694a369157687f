"""Errors are data: code, title, labels on spans, hints."""

from latchproof.diagnostics.model import Diagnostic, Label, Severity, has_errors, in_order

__all__ = ["Diagnostic", "Label", "Severity", "has_errors", "in_order"]
