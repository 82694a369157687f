"""Codes about channels, counters and what is done."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "channel-needs-source",
        "nothing says where the channel comes from",
        """
        A channel follows something (`follows throttle`) or rests somewhere (`rests at 0 %`). That is what the model
        gets when no rule acts, and what it is handed back to; it is too important to be guessed.
        """,
        wrong="channel motor { from 0 % to 100 % }",
        mended="channel motor { rests at 0 %  from 0 % to 100 % }",
    ),
    Explanation(
        "channel-number",
        "a channel number that cannot be, or that two channels have",
        """
        Channels are numbered from 1 to 32, each number once. With one number for two the second would silently take
        over the servo of the first. Numbers may be left out; they belong to the model and are asked for when it is
        fitted.
        """,
        wrong=(
            "channel motor 3 { rests at 0 %  from 0 % to 100 % }\n"
            "channel hatch 3 { rests at 0 %  from 0 % to 100 % }"
        ),
        mended=(
            "channel motor 3 { rests at 0 %  from 0 % to 100 % }\n"
            "channel hatch 4 { rests at 0 %  from 0 % to 100 % }"
        ),
    ),
    Explanation(
        "missing-position",
        "a table leaves out a position of its switch",
        """
        A channel that follows a switch needs a value for each of its positions. What the flaps do in the forgotten
        one would be found out in the air.
        """,
        wrong=(
            "switch flaps positions clean, thermal, landing\n"
            "channel flap { follows flaps as clean 0 %, landing 60 %  from 0 % to 100 % }"
        ),
        mended=(
            "switch flaps positions clean, thermal, landing\n"
            "channel flap { follows flaps as clean 0 %, thermal 20 %, landing 60 %  from 0 % to 100 % }"
        ),
    ),
    Explanation(
        "counter-needs-limit",
        "a counter without its limit",
        """
        A counter stops at `at most N`. Every device stops somewhere, and some begin at 0 again there; the limit makes
        it the same on all of them.
        """,
        wrong="button b\ncounter tries { counts b is pressed }",
        mended="button b\ncounter tries { counts b is pressed  at most 5 }",
    ),
)
