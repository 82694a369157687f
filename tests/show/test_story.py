"""Stories as a pilot reads them. Each file has the rules, the table that was run, and the story.

The first line names the claim, and the time between cycles where the table is resampled.
"""

from fractions import Fraction
from pathlib import Path

import pytest

from latchproof.prove.story import tell
from latchproof.show.story import render
from latchproof.show.style import Style
from latchproof.show.visible import width
from tests.show.tales import Tale, tale

FILES = sorted((Path(__file__).parent / "stories").glob("*.txt"))
CUT = "\n----\n"


def told(path: Path) -> tuple[Tale, str, str]:
    """The tale of a file, the story it should give, and all that stands before it."""
    head, rules, table, *story = path.read_text("utf-8").split(CUT)
    claim, _, every = head.partition(" every ")
    made = tale(rules, table, claim.strip(), Fraction(every) if every else None)
    return made, story[0].rstrip("\n") if story else "", CUT.join((head, rules, table))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_story(path: Path, request: pytest.FixtureRequest) -> None:
    made, expected, before = told(path)
    story = render(tell(made.machine, made.property_, made.trace), made.machine.rules)
    if request.config.getoption("--update-goldens"):
        path.write_text(f"{before}{CUT}{story}\n", "utf-8")
        return
    assert story == expected


@pytest.mark.parametrize("columns", [50, 64, 80, 100])
@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_no_line_is_too_long(path: Path, columns: int) -> None:
    made, _, _ = told(path)
    story = render(tell(made.machine, made.property_, made.trace), made.machine.rules, Style(columns))
    assert [line for line in story.split("\n") if width(line) > columns] == []
    assert [line for line in story.split("\n") if line != line.rstrip()] == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_colour_only_when_asked_for(path: Path) -> None:
    made, _, _ = told(path)
    story = tell(made.machine, made.property_, made.trace)
    assert "\x1b" not in render(story, made.machine.rules)
    assert "\x1b[" in render(story, made.machine.rules, Style(80, colour=True))


def test_there_are_stories_of_every_form() -> None:
    assert len(FILES) >= 12
