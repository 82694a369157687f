"""Codes about things that can never happen. The prover finds them: no reader of the text alone could be sure."""

from latchproof.diagnostics.explanation import Explanation

_GUARD = "switch guard positions off, on\nbutton test\nchannel motor { rests at 0 %  from 0 % to 100 % }\n"

EXPLANATIONS = (
    Explanation(
        "never-set",
        "a latch that can never be set",
        """
        Whatever the pilot and the air do, nothing sets this latch: what should set it can never be true, or something
        resets it in the same cycle each time. A guard that hangs on it does nothing, and every promise that speaks of
        what it does then is kept without ever being put to the test.
        """,
        wrong=_GUARD
        + "latch armed {\n  set when   guard is on and test is pressed\n"
        + "  reset when guard is on\n  reset when test is pressed\n}\n"
        + "rule climb while armed { drive motor to 60 % }",
        mended=_GUARD
        + "latch armed {\n  set when   guard is on and test is pressed\n  reset when guard is off\n}\n"
        + "rule climb while armed { drive motor to 60 % }",
    ),
    Explanation(
        "never-resets",
        "a latch that can never be reset",
        """
        Once it is set, nothing resets this latch: its `reset when` lines can never be true after it was set, or the set
        wins each time. What acts while it is set then acts until power is switched off.
        """,
        wrong=_GUARD
        + "latch armed {\n  set when   guard is on or guard is off\n  reset when test is pressed\n  set wins\n}\n"
        + "rule climb while armed { drive motor to 60 % }",
        mended=_GUARD
        + "latch armed {\n  set when   guard is on\n  reset when test is pressed\n}\n"
        + "rule climb while armed { drive motor to 60 % }",
    ),
    Explanation(
        "never-acts",
        "something in the rules that can never happen",
        """
        Whatever the pilot and the air do, this rule, phase or action never comes to anything. Mostly two conditions
        exclude each other, or a time-out ends it all before a delay has passed.
        """,
        wrong=_GUARD + "rule climb while guard is on and guard is off { drive motor to 60 % }",
        mended=_GUARD + "rule climb while guard is on { drive motor to 60 % }",
    ),
    Explanation(
        "never-ends",
        "something that can never stop",
        """
        Once this rule acts, nothing the pilot or the air do makes it stop: the model does not come back to the sticks.
        Every rule needs a way out that the pilot can take by himself.
        """,
        wrong=_GUARD + "latch armed { set when guard is on }\nrule climb while armed { drive motor to 60 % }",
        mended=_GUARD
        + "latch armed { set when guard is on  reset when guard is off }\n"
        + "rule climb while armed { drive motor to 60 % }",
    ),
    Explanation(
        "never-again",
        "something that happens once in a flight",
        """
        After the first time, this can never happen again until power is switched off and on. That may be meant, for a
        parachute; of a guard it means that the second time it does not come. If it is meant, promise it, and the next
        reader knows.
        """,
        wrong=_GUARD
        + "latch used { set when climb.voice ends }\n"
        + 'rule climb while guard is on and not previous of used {\n  drive motor to 60 %\n  announce voice "up"\n}',
        mended=_GUARD
        + "latch used { set when climb.voice ends  reset when test is pressed }\n"
        + 'rule climb while guard is on and not previous of used {\n  drive motor to 60 %\n  announce voice "up"\n}',
    ),
    Explanation(
        "never-tested",
        "a promise that is kept because it is never asked for",
        """
        The promise is proved, and that means nothing: what it speaks of can never come true. "Whenever the guard
        climbs, the motor is on" holds of a guard that never climbs. Mostly the fault is in the rules (something that
        should happen cannot), sometimes in the promise (its `while` names a state that does not exist).
        """,
        wrong=_GUARD
        + "rule climb while guard is on and guard is off { drive motor to 60 % }\n"
        + "claim c: whenever motor is driven then motor is equal to 60 %",
        mended=_GUARD
        + "rule climb while guard is on { drive motor to 60 % }\n"
        + "claim c: whenever motor is driven then motor is equal to 60 %",
    ),
    Explanation(
        "no-first-cycle",
        "facts and assumptions that leave the world no way to begin",
        """
        No flight, not even its first instant, keeps to all of these. Of a flight that does not exist everything can be
        proved, so nothing is: look at the places that the message names, and take one of them back.
        """,
        wrong=_GUARD
        + "assume here: always guard is on assumed\nassume there: always guard is off assumed\n"
        + "rule climb while guard is on { drive motor to 60 % }",
        mended=_GUARD
        + "assume here: always guard is on assumed\n"
        + "rule climb while guard is on { drive motor to 60 % }",
    ),
    Explanation(
        "time-stops",
        "facts and assumptions that may leave the world no way to go on",
        """
        A flight may come to a point from which no next instant keeps to all of these. Flights that end there are
        thought never to happen, and with them whatever they would show. Mostly an assumption says more than is true:
        that something never happens which the other facts bring about. Nothing that rests on these facts is called
        proved until that is settled.
        """,
        wrong=_GUARD
        + "assume quick: whenever guard is on then guard is off within 0.5 s assumed\n"
        + "assume slow: length of (guard is on) at least 1 s assumed\n"
        + "rule climb while guard is on { drive motor to 60 % }",
        mended=_GUARD
        + "assume slow: length of (guard is on) at least 1 s assumed\n"
        + "rule climb while guard is on { drive motor to 60 % }",
    ),
)
