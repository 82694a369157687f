"""Codes about descriptions of transmitters."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "description-syntax",
        "a description that cannot be read",
        """
        A description of a transmitter is a text in TOML: lines like `channels = 8`, headings like [delays], comments
        after #. Words and numbers with a unit stand in quotation marks. The message says where reading had to stop.

        `latchproof describe` writes such a file and asks for everything in it.
        """,
    ),
    Explanation(
        "description-key",
        "a key that no description has",
        """
        Most often it is misspelt, or stands under another heading than its own. It is not passed over in silence: an
        answer that is left out counts as "don't know", and the listing would be made for another transmitter than the
        one in your hands.
        """,
    ),
    Explanation(
        "description-missing",
        "an answer that is missing",
        """
        Some things must be known before anything can be fitted to a transmitter: how many channels it has, which times
        and values can be set, what its switches are called. For them "don't know" is no answer, because the screen
        shows them.
        """,
    ),
    Explanation(
        "description-kind",
        "another kind of answer than is asked for",
        """
        Yes and no are `true` and `false`, counts are plain numbers, words and numbers with a unit stand in quotation
        marks, lists in square brackets. The message says which of them is needed.
        """,
    ),
    Explanation(
        "description-value",
        "an answer that is none of those that can be",
        """
        The comment above each key in a file that `latchproof describe` wrote names what may stand there. Where "don't
        know" may, it is better than a guess: then what may be is proved for.
        """,
    ),
    Explanation(
        "description-number",
        "a number that is not written exactly",
        """
        Numbers stand with their unit in quotation marks and with a point: "0.1 s", "25 ms", "1 ft". A comma, or a
        number without its unit, could be read in two ways, and a delay ten times too long is not seen on the ground.
        """,
    ),
    Explanation(
        "description-unit",
        "a unit that does not fit",
        """
        Units are those of rule files: m, ft, s, ms, V, A, %, %/s and so on. A threshold is written in the unit that
        the screen shows, since its steps are steps of that unit: a height that is set in feet and kept in metres does
        not stop where you set it.
        """,
    ),
    Explanation(
        "description-twice",
        "the same thing twice",
        """
        Two switches of one name, two thresholds of one quantity, or two things that serve the same name of the rule
        file. A listing that says "guard switch" must mean one of them.
        """,
    ),
    Explanation(
        "description-conflict",
        "answers that do not go together",
        """
        Each of them can be right, but not both: a list of entries of a kind that does not exist, a channel beyond the
        last one, a position at a place that the switch has not got. One of the two was a slip.
        """,
    ),
)
