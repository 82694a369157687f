"""All explanations by code. Each area of `explanations` is a file of its own."""

from latchproof.diagnostics.explanation import Explanation
from latchproof.diagnostics.explanations import files

CATALOGUE: dict[str, Explanation] = {e.code: e for area in (files.EXPLANATIONS,) for e in area}
