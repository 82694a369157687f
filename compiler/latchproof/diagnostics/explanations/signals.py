"""Codes about signals: what belongs together, what is compared with what, sensors that fall silent, loops."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "and-or-mixed",
        "`and` and `or` without brackets",
        """
        `a and b or c` is read one way by some and the other way by the rest, and a guard that is armed by "height is
        stale" alone is the difference. With brackets there is nothing to know by heart; the message shows both.
        """,
        wrong=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m  stale after 2 s }\n"
            "signal s = guard is on and height is above 62 m or height is stale"
        ),
        mended=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m  stale after 2 s }\n"
            "signal s = guard is on and (height is above 62 m or height is stale)"
        ),
    ),
    Explanation(
        "what-lasts",
        "a time that may belong to one test or to all",
        """
        `guard is on and height is above 62 m for 2 s`: must only the height last, or both? Put brackets round what
        lasts. In a guard usually all of it is meant, so that a switch that is just passing by does not arm it.
        """,
        wrong=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m }\n"
            "signal s = guard is on and height is above 62 m for 2 s"
        ),
        mended=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m }\n"
            "signal s = (guard is on and height is above 62 m) for 2 s"
        ),
    ),
    Explanation(
        "not-a-signal",
        "a number where something true or false is needed",
        """
        A height is not true or false; that it is below 46 m is. Compare the number, or name a latch or a signal.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal low = height",
        mended="sensor height { from 0 m to 500 m }\nsignal low = height is below 46 m",
    ),
    Explanation(
        "not-a-number",
        "something true or false where a number is needed",
        """
        A latch or a signal is on or off and cannot be reckoned with or compared. Use its bare name in place of the
        comparison.
        """,
        wrong="button b\nsignal s = b is pressed\nsignal t = s is above 3",
        mended="button b\nsignal s = b is pressed\nsignal t = s",
    ),
    Explanation(
        "negated-comparison",
        "a comparison turned round with `not`",
        """
        `is not below 46 m` says backwards what `is at least 46 m` says forwards. At the field, with the model in the
        air, only one of the two is read correctly at once.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal s = height is not below 46 m",
        mended="sensor height { from 0 m to 500 m }\nsignal s = height is at least 46 m",
    ),
    Explanation(
        "stale-is-not",
        "not stale, not fresh",
        """
        Stale and fresh are each other's opposite: a sensor that is not stale is fresh. One word is clearer than a
        `not` that is overlooked.
        """,
        wrong="sensor height { from 0 m to 500 m  stale after 2 s }\nsignal s = height is not stale",
        mended="sensor height { from 0 m to 500 m  stale after 2 s }\nsignal s = height is fresh",
    ),
    Explanation(
        "equal-measured",
        "a measured number compared for equality",
        """
        A sensor jumps over values: from one frame to the next the height goes from 46.2 m to 45.7 m and was never
        equal to 46 m. A rule that waits for that moment may wait until the ground. Use at least, at most, or from ...
        to.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal s = height is equal to 46 m",
        mended="sensor height { from 0 m to 500 m }\nsignal s = height is from 45 m to 47 m",
    ),
    Explanation(
        "equal-stick",
        "a stick or knob compared for equality",
        """
        A stick trembles, and at its stop one transmitter reads 0 %, another 0.4 %, the same one 1 % in the cold. A
        rule that waits for exactly 0 % may wait for ever, and a guard that only a closed stick restarts never restarts.
        Leave a little room: at most 2 %.

        In a promise equality is what it says, so nothing is said there.
        """,
        wrong="stick throttle from 0 % to 100 %\nsignal closed = throttle is equal to 0 %",
        mended="stick throttle from 0 % to 100 %\nsignal closed = throttle is at most 2 %",
    ),
    Explanation(
        "no-reset",
        "a latch that nothing switches off",
        """
        Without `reset when` and without `timeout` a latch that has come on stays on until the transmitter is switched
        off. If a rule hangs on it, the pilot cannot end it in the air.

        Sometimes that is wanted: "the model has been armed once". Then a comment inside the braces says so, for whoever
        reads the file next, and the warning is not given.
        """,
        wrong="switch guard positions off, on\nlatch armed { set when guard is on }",
        mended="switch guard positions off, on\nlatch armed { set when guard is on  reset when guard is off }",
    ),
    Explanation(
        "crossed-thresholds",
        "two thresholds the wrong way round",
        """
        `is below 30 m until above 45 m` begins at the first and ends at the second number; between them it stays as
        it was. If the second lies before the first, it would end at once and begin again, every cycle: a flutter in
        place of the calm that two thresholds are for.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal s = height is below 45 m until above 30 m",
        mended="sensor height { from 0 m to 500 m }\nsignal s = height is below 30 m until above 45 m",
    ),
    Explanation(
        "needs-stale-after",
        "nothing says when the sensor counts as stale",
        """
        A sensor that falls silent keeps its last number. The rules can only notice with `stale after`: so long
        without a frame, and it is stale. How long is for you to decide; a guard should not act on a height that is
        older than the model needs to fall out of it.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal s = height is stale",
        mended="sensor height { from 0 m to 500 m  stale after 2 s }\nsignal s = height is stale",
    ),
    Explanation(
        "rate-needs-number",
        "a rate where it cannot be compared",
        """
        How fast a reading changes is compared with a fixed number, nothing else: `rate of height is below -3 m/s`.
        The change over one gap is compared with the number times the gap, without any division, and that stays exact
        only if the number stands still.
        """,
        wrong="sensor height { from 0 m to 500 m }\nvalue v = 2 * rate of height",
        mended="sensor height { from 0 m to 500 m }\nsignal s = rate of height is below -3 m/s",
    ),
    Explanation(
        "truth-in-rules",
        "a rule that speaks of the true quantity",
        """
        A transmitter knows what the sensor shows, never how high the model really is. Only promises and assumptions
        may speak of the truth; a rule that could would be proved and could not be built.
        """,
        wrong=(
            "sensor height { from 0 m to 500 m  changes from -18 m/s to 8 m/s }\n"
            "signal s = truth of height is below 25 m"
        ),
        mended="sensor height { from 0 m to 500 m  changes from -18 m/s to 8 m/s }\nsignal s = height is below 25 m",
    ),
    Explanation(
        "truth-needs-changes",
        "nothing is known of how fast the true quantity changes",
        """
        Between two frames the model flies on. A promise about the true height needs a fact that bounds how fast it
        can change: `changes from -18 m/s to 8 m/s`, the steepest dive and the best climb that you would fly.
        """,
        wrong="sensor height { from 0 m to 500 m }\nclaim c: always truth of height is above 25 m",
        mended=(
            "sensor height { from 0 m to 500 m  changes from -18 m/s to 8 m/s }\n"
            "claim c: always truth of height is above 25 m"
        ),
    ),
    Explanation(
        "loop",
        "things that depend on each other in a circle",
        """
        Each needs the others to be known first, so none of them can be. A latch may read itself, and then reads what
        it was in the cycle before; every longer circle must say once where the cycle before is meant, with `previous
        of`. The order in which statements stand never decides: on another transmitter it would be another order.
        """,
        wrong="signal a = b\nsignal b = not a",
        mended="signal a = b\nsignal b = not (previous of a)",
    ),
)
