"""Where things are, for the tests of the house rules."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "compiler" / "latchproof"

ROOMS = (
    "source",
    "diagnostics",
    "syntax",
    "rules",
    "machine",
    "run",
    "prove",
    "hazards",
    "strength",
    "transmitter",
    "fit",
    "listing",
    "readback",
    "bench",
    "cards",
    "show",
    "pipeline",
    "cli",
)
"""In the order in which data flows; a room imports only from rooms before it."""


def sources(*rooms: str) -> list[Path]:
    """The Python files of these rooms, or of the whole package."""
    where = [PACKAGE / room for room in rooms] if rooms else [PACKAGE]
    return sorted(path for folder in where for path in folder.rglob("*.py"))


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def room_of(path: Path) -> str:
    """The folder below the package, or the name of the module itself."""
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Line and full name of everything imported, also inside functions."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.lineno, node.module
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)
