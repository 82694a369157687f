"""Explanations as text."""

from latchproof.diagnostics.explanation import Explanation
from latchproof.show.explanations import as_row, listed, render
from latchproof.show.style import Style

FULL = Explanation(
    "some-code",
    "a title",
    """
    First, over
    two lines.

    Second.
    """,
    wrong="button a\nbutton a\n",
    mended="button a\n  button b",
)
SHORT = Explanation("a-code", "another title that is so long that it does not fit into a line", "Only this.")


def test_the_whole() -> None:
    assert render(FULL) == """\
some-code: a title

First, over two lines.

Second.

Not so:
    button a
    button a

But so:
    button a
      button b"""


def test_without_an_example() -> None:
    assert render(SHORT, Style(30)) == (
        "a-code: another title that is so long that it does not fit into a line\n\nOnly this."
    )


def test_the_list_is_sorted_and_fits() -> None:
    assert listed([FULL, SHORT], Style(50)) == """\
a-code     another title that is so long that it
           does not fit into a line
some-code  a title"""


def test_as_data() -> None:
    assert as_row(FULL)["text"] == ["First, over two lines.", "Second."]
    assert as_row(SHORT) == {
        "code": "a-code", "title": SHORT.title, "text": ["Only this."], "wrong": None, "mended": None
    }  # fmt: skip
