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
            "channel flap {\n  follows flaps as clean 0 %, landing 60 %\n  from 0 % to 100 %\n}"
        ),
        mended=(
            "switch flaps positions clean, thermal, landing\n"
            "channel flap {\n  follows flaps as clean 0 %, thermal 20 %, landing 60 %\n  from 0 % to 100 %\n}"
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
    Explanation(
        "repeated-action",
        "one rule does the same to a channel twice",
        """
        A rule may drive, move or limit a channel once. Of two targets only one can be reached, and which one is for
        you to say: make two rules of it and put one over the other with `priority`.
        """,
        wrong=(
            "button b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 %  drive motor to 60 % }"
        ),
        mended=(
            "button b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 % }"
        ),
    ),
    Explanation(
        "ramp-is-a-rate",
        "a ramp or hand-back with a time in place of a speed",
        """
        `ramp up 800 ms` could mean the time for the whole travel, from where the pilot has the stick, or to the
        target, and transmitters differ. Only a speed (45 %/s) is the same from every starting point, and bounds how
        hard the motor or the surface can jump.
        """,
        wrong=(
            "button b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 %  ramp up 800 ms }"
        ),
        mended=(
            "button b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 %  ramp up 45 %/s }"
        ),
    ),
    Explanation(
        "needs-steps",
        "a tune that may only be tuned in steps",
        """
        A speed is multiplied by the time that a cycle takes, and both would vary. Let the tune take a few values, `in
        steps of` something, at most 16; every promise is then proved once for each of them.
        """,
        wrong=(
            "button b\ntune pace = 45 %/s from 20 %/s to 80 %/s\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 %  ramp up pace }"
        ),
        mended=(
            "button b\ntune pace = 40 %/s from 20 %/s to 80 %/s in steps of 20 %/s\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule r while b is pressed { drive motor to 35 %  ramp up pace }"
        ),
    ),
    Explanation(
        "unknown-means",
        "nothing is announced that way",
        """
        An announcement is a voice, a tone or a vibration. Which of them the transmitter can make is asked for when
        the rules are fitted to it; each has its fallback.
        """,
        wrong='button b\nrule r while b is pressed { announce light "low" every 2 s }',
        mended='button b\nrule r while b is pressed { announce voice "low" every 2 s }',
    ),
    Explanation(
        "missing-quotes",
        "a text without its quotation marks",
        """
        What the transmitter says and what a file is called stands in quotation marks, so that it is never taken for a
        rule.
        """,
        wrong='rules Height floor\nbutton b',
        mended='rules "Height floor"\nbutton b',
    ),
    Explanation(
        "phase-needs-end",
        "a phase that never ends, with another one behind it",
        """
        Every phase of a sequence but the last needs its end: a time (`for 2 s`) or a signal (`until down`). Without
        one the phases behind it never come: the hatch opens and the parachute stays inside.
        """,
        wrong=(
            "button b\nchannel hatch { rests at 0 %  from 0 % to 100 % }\n"
            "sequence s while b is pressed {\n  phase a { drive hatch to 50 % }\n  phase c { drive hatch to 100 % }\n}"
        ),
        mended=(
            "button b\nchannel hatch { rests at 0 %  from 0 % to 100 % }\n"
            "sequence s while b is pressed {\n"
            "  phase a for 1 s { drive hatch to 50 % }\n  phase c { drive hatch to 100 % }\n}"
        ),
    ),
    Explanation(
        "reserved-name",
        "a name that already means something here",
        """
        `voice`, `tone`, `vibration` and `announced` behind a rule or sequence tell of its announcements, so a phase
        cannot have one of these names.
        """,
        wrong="button b\nsequence s while b is pressed { phase voice { announce tone } }",
        mended="button b\nsequence s while b is pressed { phase voice_phase { announce tone } }",
    ),
    Explanation(
        "priority-cycle",
        "priorities that go round in a ring",
        """
        One rule is put over another that is, step by step, over the first. Then none of them is on top, and which
        value the channel gets would be an accident of the device.
        """,
        wrong=(
            "button a\nbutton b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while a is pressed { drive motor to 60 % }\n"
            "rule cut while b is pressed { drive motor to 0 % }\n"
            "priority cut over climb\npriority climb over cut"
        ),
        mended=(
            "button a\nbutton b\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while a is pressed { drive motor to 60 % }\n"
            "rule cut while b is pressed { drive motor to 0 % }\n"
            "priority cut over climb"
        ),
    ),
    Explanation(
        "kill-outranked",
        "a priority that puts another rule above the kill switch",
        """
        The rule that acts while the kill switch says so outranks every other on the channels it drives, always.
        Nothing may start a motor that the pilot has stopped, whatever it is meant to save.
        """,
        wrong=(
            "switch motor_stop positions run, stop\nbutton b\nrole kill is motor_stop is stop\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while b is pressed { drive motor to 60 % }\n"
            "rule cut while motor_stop is stop { drive motor to 0 % }\npriority climb over cut"
        ),
        mended=(
            "switch motor_stop positions run, stop\nbutton b\nrole kill is motor_stop is stop\n"
            "channel motor { rests at 0 %  from 0 % to 100 % }\n"
            "rule climb while b is pressed { drive motor to 60 % }\n"
            "rule cut while motor_stop is stop { drive motor to 0 % }\npriority cut over climb"
        ),
    ),
    Explanation(
        "unused",
        "something that nothing uses",
        """
        A signal, latch or value is declared and then no rule, channel or promise asks for it. That does no harm by
        itself, but most often the rule that should ask for it asks for another one, or was forgotten.
        """,
        wrong=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m }\n"
            "signal low = height is below 46 m\nrule r while guard is on { announce tone }"
        ),
        mended=(
            "switch guard positions off, on\nsensor height { from 0 m to 500 m }\n"
            "signal low = height is below 46 m\nrule r while guard is on and low { announce tone }"
        ),
    ),
)
