"""Data flows one way: a room imports only from rooms above it."""

import ast
from pathlib import Path

import pytest

from tests.layout.house import PACKAGE, ROOMS, imports, named, room_of, sources, tree

EVERYWHERE = "diagnostics"
"""Errors are data that every room makes; of the other rooms it knows places in texts only."""

OUTSIDE = {"__init__", "__main__"}


def allowed(room: str) -> set[str]:
    if room in OUTSIDE:
        return set(ROOMS)
    above = set(ROOMS[: ROOMS.index(room) + 1])
    return above | {EVERYWHERE}


def imported_rooms(path: Path) -> dict[str, int]:
    """Rooms of the package that a file imports from, with the line."""
    found = {}
    for line, name in imports(path):
        match name.split("."):
            case ["latchproof", room, *_] if room in ROOMS:
                found[room] = line
    return found


@pytest.mark.parametrize("path", sources(), ids=named)
def test_a_room_imports_only_from_rooms_above_it(path: Path) -> None:
    may = allowed(room_of(path))
    assert not {f"line {line}: {room}" for room, line in imported_rooms(path).items() if room not in may}


def test_every_room_is_in_the_order() -> None:
    there = {p.name.removesuffix(".py") for p in PACKAGE.iterdir() if p.suffix == ".py" or any(p.glob("*.py"))}
    assert there - OUTSIDE <= set(ROOMS)


@pytest.mark.parametrize("path", sources(), ids=named)
def test_imports_are_absolute(path: Path) -> None:
    assert not [n.lineno for n in ast.walk(tree(path)) if isinstance(n, ast.ImportFrom) and n.level]


@pytest.mark.parametrize("path", sources("syntax", "rules", "machine", "run"), ids=named)
def test_the_meaning_does_not_depend_on_a_solver(path: Path) -> None:
    assert not [line for line, name in imports(path) if name.split(".")[0] == "z3"]


PRINTS = {"print", "input", "open", "breakpoint"}


@pytest.mark.parametrize(
    "path", [p for p in sources() if room_of(p) not in ("cli", "source", *OUTSIDE)], ids=named
)
def test_only_the_command_line_and_the_reader_touch_the_world(path: Path) -> None:
    calls = [n for n in ast.walk(tree(path)) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)]
    assert not [f"line {n.lineno}: {n.func.id}" for n in calls if isinstance(n.func, ast.Name) and n.func.id in PRINTS]


def test_the_pipeline_is_a_table_of_contents() -> None:
    assert len((PACKAGE / "pipeline.py").read_text(encoding="utf-8").splitlines()) < 100


def test_the_rule_sees_a_wrong_import() -> None:
    assert "prove" not in allowed("run")
    assert "diagnostics" in allowed("source")
    assert "syntax" not in allowed("diagnostics")
