"""From the tree of a rule file to a `RuleSet`: names resolved, units checked, numbers exact."""

from latchproof.rules.model import RuleSet
from latchproof.rules.resolve import resolve

__all__ = ["RuleSet", "resolve"]
