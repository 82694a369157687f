"""Codes about names: unknown, used twice, of the wrong kind; parts and what they take."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "unknown-name",
        "nothing has this name",
        """
        A name is used that no statement gives to anything. Usually it is misspelt; the message suggests the nearest
        one. In a part only what the part takes or makes itself is known.

        A name that stands for nothing is never read as "off": a latch that is reset by nothing does not let go.
        """,
        wrong="switch guard positions off, on\nsignal s = gaurd is on",
        mended="switch guard positions off, on\nsignal s = guard is on",
    ),
    Explanation(
        "duplicate-name",
        "two things have the same name",
        """
        Every thing needs a name of its own: rules speak of it, and so do the listing, the voice of the transmitter
        and the bench test. With two of a name each of them would speak of one, and nobody knows of which.
        """,
        wrong="switch guard positions off, on\nbutton guard",
        mended="switch guard positions off, on\nbutton guard_button",
    ),
    Explanation(
        "wrong-kind",
        "the name stands for something of another kind",
        """
        There is a thing of this name, but it cannot be used here: only a sensor has an age, only a channel or a
        control can be driven, only a switch has positions.
        """,
        wrong="stick lever from 0 % to 100 %\nsignal old = age of lever is above 2 s",
        mended="sensor height { from 0 m to 500 m }\nsignal old = age of height is above 2 s",
    ),
    Explanation(
        "unknown-position",
        "the switch has no such position",
        """
        A switch has the positions that its statement lists, in the order from away from you to towards you. One that
        is not among them could never be reached, and a kill that waits for it never comes.
        """,
        wrong="switch flaps positions clean, thermal, landing\nsignal s = flaps is landed",
        mended="switch flaps positions clean, thermal, landing\nsignal s = flaps is landing",
    ),
    Explanation(
        "unknown-state",
        "a thing that cannot be in such a state",
        """
        Buttons are pressed or released, sensors stale, fresh or heard, channels and controls free, driven, moved or
        limited; a latch or a signal is true or not and is named without `is`.
        """,
        wrong="button b\nsignal s = b is fresh",
        mended="button b\nsignal s = b is pressed",
    ),
    Explanation(
        "unknown-role",
        "there is no such role",
        """
        The roles are arm, kill, landing, launch and instructor. They tell the checks that nobody has to write which
        switch does what: that the kill wins over everything on its channels, that disarming frees the model at once.
        A misspelt role would leave those checks undone.
        """,
        wrong="switch motor_stop positions run, stop\nrole kil is motor_stop is stop",
        mended="switch motor_stop positions run, stop\nrole kill is motor_stop is stop",
    ),
    Explanation(
        "repeated-role",
        "two things for one role",
        """
        A role is given once. If two switches stop the motor, join them with `or`, so that one signal says it and
        every check sees both.
        """,
        wrong="button a\nbutton b\nrole kill is a is pressed\nrole kill is b is pressed",
        mended="button a\nbutton b\nrole kill is a is pressed or b is pressed",
    ),
    Explanation(
        "unknown-direction",
        "the channel has no such direction",
        """
        A move carries a direction word and a positive number: `move elevator up by 6 %`. The words are those that the
        channel declares (`up is negative` makes `down` positive), or up and more for growing. So the sign of a
        surface is written in one place only, and up stays up when a servo is reversed.
        """,
        wrong=(
            "button b\nstick pitch from -100 % to 100 %\n"
            "channel elevator { follows pitch  from -100 % to 100 %  up is negative }\n"
            "rule r while b is pressed { move elevator left by 6 % }"
        ),
        mended=(
            "button b\nstick pitch from -100 % to 100 %\n"
            "channel elevator { follows pitch  from -100 % to 100 %  up is negative }\n"
            "rule r while b is pressed { move elevator up by 6 % }"
        ),
    ),
    Explanation(
        "unknown-function",
        "there is no such thing `of` something",
        """
        There are rate of, age of, previous of, truth of, pilot_value of, size of, smaller of, larger of and
        exactly_one of. Others are not guessed at.
        """,
        wrong="sensor height { from 0 m to 500 m }\nvalue v = speed of height",
        mended="sensor height { from 0 m to 500 m }\nsignal s = rate of height is below -3 m/s",
    ),
    Explanation(
        "one-thing-only",
        "more than one thing where there can be only one",
        """
        `size of`, `rate of`, `age of`, `previous of` and their kin speak of one thing. Write them once for each.
        """,
        wrong="stick a from 0 % to 100 %\nstick b from 0 % to 100 %\nvalue v = size of (a, b)",
        mended="stick a from 0 % to 100 %\nstick b from 0 % to 100 %\nvalue v = size of (a - b)",
    ),
    Explanation(
        "several-needed",
        "one thing where there must be several",
        """
        `smaller of` and `larger of` choose between two or more things, `exactly_one of` counts among them. With a
        single one the other was forgotten, and a limit that was meant to hold does not.
        """,
        wrong="stick a from 0 % to 100 %\nvalue v = smaller of (a)",
        mended="stick a from 0 % to 100 %\nvalue v = smaller of (a, 60 %)",
    ),
    Explanation(
        "unknown-part",
        "there is no such part",
        """
        `use` names a part that stands neither in this file nor in one that it includes. Include the file that holds
        it: `include "parts/name.latch"`.
        """,
        wrong="button b\nuse restart as r with demand = b is pressed",
        mended=(
            "button b\npart restart takes signal demand gives locked {\n"
            "  latch locked { set when demand  reset when not demand }\n}\n"
            "use restart as r with demand = b is pressed"
        ),
    ),
    Explanation(
        "unknown-parameter",
        "the part does not take this",
        """
        Behind `with` stand only things that the part takes, by their names. A misspelt one would leave the part
        without what it needs.
        """,
        wrong=(
            "button b\npart p takes signal demand gives s {\n  signal s = not demand\n}\n"
            "use p as a with demand = b is pressed, demnd = b is pressed"
        ),
        mended=(
            "button b\npart p takes signal demand gives s {\n  signal s = not demand\n}\n"
            "use p as a with demand = b is pressed"
        ),
    ),
    Explanation(
        "missing-binding",
        "the part is not given what it takes",
        """
        A part says what it needs and gets it behind `with`, all of it. Nothing has a silent default: a forgotten idle
        position would otherwise be 0 %, on whichever end of the stick that lies.
        """,
        wrong=(
            "button b\npart p takes signal demand, value wait gives s {\n  signal s = demand for wait\n}\n"
            "use p as a with demand = b is pressed"
        ),
        mended=(
            "button b\npart p takes signal demand, value wait gives s {\n  signal s = demand for wait\n}\n"
            "use p as a with demand = b is pressed, wait = 1 s"
        ),
    ),
    Explanation(
        "part-loop",
        "a part that uses itself",
        """
        Parts are written out where they are used, so one that uses itself, directly or through others, would never
        end. Take the use out.
        """,
        wrong=(
            "button b\npart p takes signal s gives t {\n  signal t = not s\n  use p as q with s = t\n}\n"
            "use p as a with s = b is pressed"
        ),
        mended="button b\npart p takes signal s gives t {\n  signal t = not s\n}\nuse p as a with s = b is pressed",
    ),
    Explanation(
        "not-in-part",
        "something that belongs into the rule file stands in a part",
        """
        A part holds logic, rules and promises. What the model has (switches, sensors, channels, roles, stages) is
        named in the rule file and handed to the part, so that the same part serves another model.
        """,
        wrong=(
            "button b\n"
            "part p takes signal s gives t {\n"
            "  button c\n"
            "  signal t = s\n"
            "}\n"
            "use p as a with s = b is pressed"
        ),
        mended=(
            "button b\n"
            "button c\n"
            "part p takes signal s gives t {\n"
            "  signal t = s\n"
            "}\n"
            "use p as a with s = b is pressed"
        ),
    ),
)
