"""Codes about promises, requirements, stages and accepted hazards."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "needs-frame-every",
        "a sensor is said to keep arriving, and nothing says how often",
        """
        `provided height keeps arriving` means that the gap between two frames stays within what the sensor's `frame
        every` says. Without that fact the words promise nothing. Measure it: the log of one flight shows the gaps.
        """,
        wrong=(
            "sensor height { from 0 m to 500 m  stale after 2 s }\n"
            "claim c: never height is stale provided height keeps arriving"
        ),
        mended=(
            "sensor height {\n  from 0 m to 500 m  stale after 2 s  frame every 250 ms measured\n}\n"
            "claim c: never height is stale provided height keeps arriving"
        ),
    ),
    Explanation(
        "unknown-claim-word",
        "a word behind the name of a claim that means nothing",
        """
        Behind the name of a claim stands a sentence in quotation marks or a colon, and before them the word `strict`
        if the claim is to hold in every single cycle even where the transmitter's entries read one another late.
        """,
        wrong="button b\nlatch l { set when b is pressed  reset when b is released }\nclaim b_counts now: can l",
        mended="button b\nlatch l { set when b is pressed  reset when b is released }\nclaim b_counts_now: can l",
    ),
    Explanation(
        "require-broken",
        "the numbers in the file break their own requirement",
        """
        `require` is a relation that tunes and facts must keep among each other: the release lies at least 8 m above
        the floor. The numbers as they stand, or those of a stage, do not. Promises are proved only for numbers that
        do.
        """,
        wrong=(
            "tune floor = 46 m from 30 m to 90 m\ntune release = 50 m from 40 m to 110 m\n"
            "require release is at least floor + 8 m"
        ),
        mended=(
            "tune floor = 46 m from 30 m to 90 m\ntune release = 58 m from 40 m to 110 m\n"
            "require release is at least floor + 8 m"
        ),
    ),
    Explanation(
        "require-varies",
        "a requirement about something that changes in flight",
        """
        `require` is kept by you, on the ground, when you choose the numbers; it speaks of tunes and facts only. What
        should hold in flight is a promise, and is proved: `claim NAME: always ...`.
        """,
        wrong="sensor height { from 0 m to 500 m }\nrequire height is at least 8 m",
        mended="tune floor = 46 m from 30 m to 90 m\nrequire floor is at least 8 m",
    ),
    Explanation(
        "unknown-hazard",
        "there is no such hazard",
        """
        `accept` names a hazard by its number and gives the reason why it is lived with. A number that
        does not exist would accept nothing, and the hazard would look as if it had been thought about.
        """,
        wrong='button b\nrule r while b is pressed { announce tone }\naccept H99 in r because "it only beeps"',
        mended='button b\nrule r while b is pressed { announce tone }\naccept H13 in r because "it only beeps"',
    ),
    Explanation(
        "drives-meet",
        "two rules drive a channel to different values at once",
        """
        No priority says which of the two goes first, and there is a moment in which both act; `latchproof prove` shows
        it. What the model would do then is an accident of the transmitter: motor on, or motor off.

        Say which rule wins with `priority`, or let their conditions exclude each other. Where a kill switch has its
        role, the rule that acts on it wins without being told.
        """,
        wrong=(
            "switch guard positions off, on\nswitch brake positions flush, out\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while guard is on { drive motor to 60 % }\nrule stop while brake is out { drive motor to 0 % }"
        ),
        mended=(
            "switch guard positions off, on\nswitch brake positions flush, out\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while guard is on { drive motor to 60 % }\n"
            "rule stop while brake is out { drive motor to 0 % }\n"
            "priority stop over climb"
        ),
    ),
)
