"""All explanations by code. Each area of `explanations` is a file of its own."""

from latchproof.diagnostics.explanation import Explanation
from latchproof.diagnostics.explanations import (
    descriptions,
    files,
    names,
    numbers,
    outputs,
    possible,
    promises,
    signals,
    structure,
    tables,
    writing,
)

_FILES = (files, writing, structure, names, numbers, signals, outputs, promises, possible, tables, descriptions)

AREAS = tuple(area.EXPLANATIONS for area in _FILES)

CATALOGUE: dict[str, Explanation] = {e.code: e for area in AREAS for e in area}
