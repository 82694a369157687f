"""Files of one job, and tests that stand where the tested code stands."""

from pathlib import Path

import pytest

from tests.layout.house import PACKAGE, ROOMS, ROOT, named, sources

LONGEST = 500

BESIDE_THE_ROOMS = {"external", "layout", "benchmarks", "examples", "faults", "fuzz", "helpers"}
"""Folders of tests that check several rooms at once or the world outside."""


def written_by_hand() -> list[Path]:
    folders = ("compiler", "tests", "grammar", "examples")
    kinds = {".py", ".lark", ".latch", ".md"}
    return sorted(p for f in folders for p in (ROOT / f).rglob("*") if p.suffix in kinds and p.is_file())


@pytest.mark.parametrize("path", written_by_hand(), ids=named)
def test_no_file_has_two_jobs(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8", errors="replace").splitlines()) <= LONGEST


def test_the_tests_mirror_the_rooms() -> None:
    rooms = {room for room in ROOMS if (PACKAGE / room).is_dir() and any((PACKAGE / room).glob("*.py"))}
    tested = {p.parent.relative_to(ROOT / "tests").parts[0] for p in (ROOT / "tests").rglob("test_*.py")
              if p.parent != ROOT / "tests"}
    assert rooms <= tested
    assert tested <= set(ROOMS) | BESIDE_THE_ROOMS


@pytest.mark.parametrize("path", sources(), ids=named)
def test_every_file_says_what_it_is_for(path: Path) -> None:
    text = path.read_text(encoding="utf-8").lstrip()
    assert text.startswith('"""')
