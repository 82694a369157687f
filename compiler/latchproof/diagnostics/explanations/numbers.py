"""Codes about numbers: units, ranges, arithmetic, what may be tuned, durations."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "missing-unit",
        "a number without its unit",
        """
        A plain number stands where a height, a voltage or a time is needed. Is it 46 metres or 46 feet? The
        transmitter shows one, the log the other, and the guard that mixes them up acts at a third of the height.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal low = height is below 46",
        mended="sensor height { from 0 m to 500 m }\nsignal low = height is below 46 m",
    ),
    Explanation(
        "unit-mix",
        "quantities of different kinds",
        """
        Metres are compared with volts, or added to seconds. Units of one kind (m and ft, s and ms) go together and
        are converted exactly; different kinds never do.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal low = height is below 11.1 V",
        mended="sensor height { from 0 m to 500 m }\nsignal low = height is below 46 m",
    ),
    Explanation(
        "unit-unknown",
        "nothing tells the unit",
        """
        A value that is made of nothing but itself has no unit. Add a number that has one.
        """,
        wrong="value v = previous of v",
        mended="value v = previous of v + 0 m",
    ),
    Explanation(
        "empty-range",
        "a range in which nothing lies",
        """
        The second number of a range must be the larger one. A sensor or a tune with an empty range could have no
        value at all, and about a model that cannot exist anything can be proved.
        """,
        wrong="tune floor = 46 m from 90 m to 30 m",
        mended="tune floor = 46 m from 30 m to 90 m",
    ),
    Explanation(
        "outside-range",
        "a number outside of its range",
        """
        A tune starts outside its own range, or a channel is driven to where it cannot go. The transmitter would cut
        it to its end, and the model would do something else than the rules say.
        """,
        wrong="tune floor = 20 m from 30 m to 90 m",
        mended="tune floor = 46 m from 30 m to 90 m",
    ),
    Explanation(
        "missing-range",
        "nothing says from where to where",
        """
        Sensors and channels need their range: `from 0 m to 500 m`. Promises are proved for every value in it, and
        percent are points of it.
        """,
        wrong="sensor height { step 0.1 m }",
        mended="sensor height { from 0 m to 500 m  step 0.1 m }",
    ),
    Explanation(
        "varying-product",
        "a product of two things that both vary",
        """
        A stick times a tune, a sensor times a knob: such a product bends, and about bent things the prover cannot
        decide everything. What is multiplied must stand still on one side: a number, a fact, or a tune `in steps of`
        something, which is proved once for each of its values.
        """,
        wrong=(
            "stick lever from 0 % to 100 %\ntune gain = 0.5 from 0 to 1\n"
            "channel flap { follows gain * lever  from 0 % to 100 % }"
        ),
        mended=(
            "stick lever from 0 % to 100 %\ntune gain = 0.5 from 0 to 1 in steps of 0.25\n"
            "channel flap { follows gain * lever  from 0 % to 100 % }"
        ),
    ),
    Explanation(
        "varying-divisor",
        "a division by something that varies",
        """
        A division by a sensor, a stick or a free tune bends and may divide by something near zero. Divide by a number
        or a fact, or multiply the other side of the comparison instead: not used / time is above 2, but used is above
        2 * time.
        """,
        wrong="stick a from 1 % to 100 %\nstick b from 1 % to 100 %\nsignal s = a / b is above 2",
        mended="stick a from 1 % to 100 %\nstick b from 1 % to 100 %\nsignal s = a is above 2 * b",
    ),
    Explanation(
        "division-by-zero",
        "a division by zero",
        """
        The divisor is zero, or may be. No transmitter says what comes out, so the rules cannot either.
        """,
        wrong="sensor pack { from 0 V to 14 V }\nvalue cell = pack / (3 - 3)",
        mended="sensor pack { from 0 V to 14 V }\nvalue cell = pack / 3",
    ),
    Explanation(
        "steps-do-not-fit",
        "steps that do not fit the range",
        """
        A tune `in steps of` something takes the values from the lower end of its range on, step by step, up to the
        upper end. The steps must meet the upper end and the value itself, else the number you set in the field is
        none of those that were proved.
        """,
        wrong="tune gain = 2 from 1 to 4 in steps of 2",
        mended="tune gain = 3 from 1 to 5 in steps of 2",
    ),
    Explanation(
        "too-many-steps",
        "a tune with too many values",
        """
        Each value of a tune in steps is one proof of every promise, so at most 16 are taken. Choose a larger step or
        a narrower range, or let the tune vary freely where it is not multiplied.
        """,
        wrong="tune gain = 2 from 1 to 4 in steps of 0.01",
        mended="tune gain = 2 from 1 to 4 in steps of 0.5",
    ),
    Explanation(
        "number-too-large",
        "a number larger than anything in a model",
        """
        No height, time or current comes near it. A slip of the keyboard, most likely, and a threshold that is never
        reached is a guard that never acts.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal high = height is above 90000000000000 m",
        mended="sensor height { from 0 m to 500 m }\nsignal high = height is above 90 m",
    ),
    Explanation(
        "too-large",
        "too much of something",
        """
        The rules, with all their parts written out, hold more statements or larger numbers than any transmitter could
        take, or than can be checked in reasonable time.
        """,
    ),
    Explanation(
        "not-fixed",
        "a number that must stand still varies",
        """
        The range of a sensor, the number of a limit and the like describe the model or the device; they cannot follow
        a stick. Write a number, or a fact with one value.
        """,
        wrong="stick lever from 0 % to 100 %\nchannel motor { follows lever  from 0 % to lever }",
        mended="stick lever from 0 % to 100 %\nchannel motor { follows lever  from 0 % to 100 % }",
    ),
    Explanation(
        "negative-amount",
        "a negative number where the direction is said in words",
        """
        `move elevator up by -6 %` would be down. The direction stands in the word, the number is how far: so a sign
        that is lost in copying cannot push the nose into the ground.
        """,
        wrong=(
            "button b\nstick pitch from -100 % to 100 %\n"
            "channel elevator { follows pitch  from -100 % to 100 %  up is negative }\n"
            "rule r while b is pressed { move elevator up by -6 % }"
        ),
        mended=(
            "button b\nstick pitch from -100 % to 100 %\n"
            "channel elevator { follows pitch  from -100 % to 100 %  up is negative }\n"
            "rule r while b is pressed { move elevator down by 6 % }"
        ),
    ),
    Explanation(
        "negative-duration",
        "a duration below zero",
        """
        Nothing lasts less than no time. A duration that is reckoned from tunes must stay at or above zero over their
        whole ranges.
        """,
        wrong="button b\nsignal s = b is pressed for (1 s - 2 s)",
        mended="button b\nsignal s = b is pressed for 1 s",
    ),
    Explanation(
        "zero-duration",
        "a duration of zero where it makes no sense",
        """
        A cycle takes some time, and an announcement that is repeated every 0 s never ends. Where zero has a meaning
        (a delay of none) it may be written.
        """,
        wrong='button b\nrule r while b is pressed { announce voice "low" every 0 s }',
        mended='button b\nrule r while b is pressed { announce voice "low" every 2 s }',
    ),
    Explanation(
        "varying-duration",
        "a promise over a time that varies in flight",
        """
        What is promised within a time must say which time. If it follows a knob or a sensor, it can be stretched
        until the promise means nothing. A number, a fact or a tune stands still.
        """,
        wrong=(
            "button b\nknob wait from 1 s to 3 s\nsignal s = b is pressed\n"
            "claim c: whenever s then not s within wait"
        ),
        mended="button b\nsignal s = b is pressed\nclaim c: whenever s then not s within 2 s",
    ),
    Explanation(
        "cycles-here",
        "cycles where they cannot be counted",
        """
        `2 cycles` is a number of passes of the transmitter over its entries, and how long that takes is not known
        exactly. Cycles are counted in whole numbers, and they are no seconds.
        """,
        wrong="button b\nsignal s = b is pressed for 1.5 cycles",
        mended="button b\nsignal s = b is pressed for 2 cycles",
    ),
    Explanation(
        "whole-number",
        "a whole number is needed",
        """
        Things are counted: how often a latch may be set, how far a counter counts. Half a time does not happen.
        """,
        wrong="button b\ncounter tries { counts b is pressed  at most 2.5 }",
        mended="button b\ncounter tries { counts b is pressed  at most 3 }",
    ),
)
