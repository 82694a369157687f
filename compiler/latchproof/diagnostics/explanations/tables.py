"""Codes about tables of inputs, as `latchproof run --inputs` reads them."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "table-empty",
        "a table with nothing in it",
        """
        The first line of a table names its columns (time, and switches, sticks and sensors of the rules by their
        names), every further line is one moment. This one has no columns or no moments, so there is nothing to run.
        """,
    ),
    Explanation(
        "table-header",
        "a column that the rules do not know",
        """
        Each column is the time or one input of the rules, by its name, with the unit in brackets if it is another
        one: time, guard, height [ft]. A column that is misspelt would be left out, and the run would show a guard at
        work in a flight that never was.
        """,
    ),
    Explanation(
        "table-row",
        "a line with too few or too many cells",
        """
        Every line has as many cells as the first one. With one more or less, each value behind it would be taken for
        another input: a voltage for a height.
        """,
    ),
    Explanation(
        "table-quote",
        "quotation marks in a table that do not pair",
        """
        A cell may stand in double quotation marks, then it ends with the second one and the next separator follows.
        Here one is missing or something stands behind it.
        """,
    ),
    Explanation(
        "table-value",
        "a cell that cannot be read",
        """
        Switches have the names of their positions, buttons pressed or released, everything else plain numbers such as
        12.5. Formulas are not worked out and nothing is guessed.
        """,
    ),
    Explanation(
        "table-range",
        "a value that the rules say cannot be",
        """
        The rules declare a range for each stick and sensor, and promises are proved for it. A flight outside of it is
        not covered by any of them: either the table is wrong, or the range in the rules is, and then it must be
        widened and everything proved again.
        """,
    ),
    Explanation(
        "table-time",
        "moments that are not in order",
        """
        Time goes forward from line to line. Two lines with the same time, or one before the other, leave open what
        happened when.
        """,
    ),
    Explanation(
        "table-cycle",
        "the table is coarser or finer than the transmitter's cycle",
        """
        The rules say how long one pass of the transmitter takes, from shortest to longest. The moments of the table
        lie further apart or closer together than that, so the run shows what the rules do at such a pace, not what
        the transmitter would do.
        """,
    ),
    Explanation(
        "table-too-long",
        "a table with more lines, columns or time than can be run",
        """
        The run keeps every moment exactly. Cut the log to the part that matters, or give a longer step.
        """,
    ),
)
