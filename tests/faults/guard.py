"""A rule set in which every part of the program has something to do, small enough to be proved many times over, and
what is true of it."""

HEAD = """rules "Little guard" version "1"
cycle from 10 ms to 50 ms
switch lever positions off, on
button test
stick s from 0 % to 100 %
sensor height { from 0 m to 100 m  stale after 0.5 s  once stale reads 0 m  changes from -5 m/s to 5 m/s  error 1 m }
tune longest = 3 s from 2 s to 4 s
channel motor { follows 0.5 * s + 10 %  from 0 % to 100 % }
latch saving {
  set when lever is on for 0.3 s
  reset when lever is off
  timeout longest then blocked until lever is off
}
counter saves { counts saving  clears when test is pressed  at most 2 }
signal midway = (test is pressed for 1 s) and not (test is pressed for 2 s)
counter passed { counts midway  clears when test is released  at most 2 }
latch late { set when previous of (test is pressed)  reset when test is released }
rule climb while saving { drive motor to 80 %  ramp up 100 %/s  hand back 50 %/s }
assume calm: whenever lever is on then s is at most 90 %
"""

TRUE = {
    "by one cycle": "never saving while lever is off",
    "at any cycle time": "for 0.25 s after (lever is on begins) never (saving begins)",
    "by a bound": "never saves is above 2",
    "over a long time": "length of saving at most 4.05 s",
    "in a window": "starts of saving at most 1 in 0.3 s",
    "passing by": "never passed is equal to 0 and (test is pressed for 3 s)",
    "a cycle late": "never (test is pressed for 2 s) and not (late for 1.5 s)",
    "not so fast": "never (lever is on for 3 cycles) and not (lever is on for 30 ms)",
    "an example": "can saving then not saving then saving",
}
FALSE = {
    "at once": "never saving",
    "after a wait": "length of saving at most 3.9 s",
    "too soon": "whenever lever is on then saving within 0.25 s",
    "too often": "starts of saving at most 1 in 1 s",
    "on the way back": "never motor is driven while lever is off",
    "at the longest": "never ((lever is on for 1 cycle) begins) and (lever is on for 50 ms)",
    "no example": "can saving while lever is off",
}

FORMS = {
    **TRUE,
    **FALSE,
    "always": "always motor is below 70 % or lever is on",
    "whenever": "whenever lever is on then motor is at least 50 % while test is released",
    "answered": "whenever test is pressed then lever is on within 60 ms while height is fresh",
    "before": "before lever is on comes test is pressed since height is heard",
    "quiet": "for 0.1 s after test is pressed never lever is on",
    "counted": "for 2 cycles after (test is pressed begins) never lever is on",
    "starts": "starts of test is pressed at most 1 in 0.3 s while lever is off",
    "length": "length of test is pressed at most 0.1 s since lever is on",
    "anew": "before (s is above 20 %) comes test is pressed since lever is on",
    "since": "length of (s is above 20 %) at most 60 ms since lever is on",
    "least": "length of test is pressed at least 0.1 s",
    "step": "step of s at most 60 % in 0.1 s while lever is on",
    "can": "can test is pressed then lever is on then test is released while height is fresh",
}


def text(claims: dict[str, str]) -> str:
    return HEAD + "\n".join(f"claim {named(name)}: {claim}" for name, claim in claims.items()) + "\n"


def named(name: str) -> str:
    return "claim_" + name.replace(" ", "_")
