"""A guard small enough to see through, with a claim of every form that holds and one that does not."""

HEAD = """rules "Small guard" version "1"
cycle from 10 ms to 50 ms
switch guard positions off, on
button test
stick throttle from 0 % to 100 %
sensor height {
  from 0 m to 100 m  step 0.5 m  frame every 200 ms  stale after 1 s  error 1 m  changes from -10 m/s to 5 m/s
}
tune floor = 30 m from 20 m to 40 m
tune release = 45 m from 35 m to 60 m
require release is at least floor + 8 m
channel motor { follows throttle  from 0 % to 100 % }
channel lamp { rests at 0 %  from 0 % to 100 % }
signal low = (guard is on and height is below floor and height is fresh) for 0.3 s
latch saving {
  set when low
  reset when guard is off
  reset when height is above release or height is stale
  timeout 3 s then blocked until guard is off
}
counter saves { counts saving  clears when guard is off  at most 5 }
rule climb while saving { drive motor to 80 %  hand back 50 %/s  announce voice "low" }
rule shine while test is pressed { drive lamp to 100 %  ramp more 200 %/s  hand back 200 %/s }
"""

PROVED = {
    "never": "never saving while guard is off",
    "always": "always lamp is equal to 0 % or lamp is driven",
    "whenever": "whenever saving then climb.voice",
    "within": "whenever guard is off then not saving within 1 cycle",
    "before": "before saving comes low since guard is on",
    "starts": "starts of saving at most 1 in 100 ms",
    "quiet": "for 0.25 s after (guard is on begins) never (saving begins)",
    "length": "length of saving at most 3.05 s",
    "least": "length of (test is pressed pulsed 0.2 s) at least 0.2 s",
    "step": "step of lamp at most 21 % in 0.1 s",
    "can": "can saving then not saving then saving",
    "arriving": "never height is stale and height is heard provided height keeps arriving",
    "truth": "always height - truth of height is at most 3.25 m while height is heard provided height keeps arriving",
    "tunes": "always release is above floor",
}
REFUTED = {
    "never": "never saving",
    "always": "always motor is free",
    "whenever": "whenever guard is off then motor is free",
    "within": "whenever guard is on then saving within 2 s",
    "before": "before saving comes test is pressed",
    "starts": "starts of saving at most 1 in 10 s",
    "quiet": "for 5 s after (saving ends) never (saving begins)",
    "length": "length of saving at most 2.9 s",
    "least": "length of saving at least 0.2 s",
    "step": "step of lamp at most 19 % in 0.1 s",
    "can": "can saving while guard is off",
    "arriving": "never saving provided height keeps arriving",
    "truth": "always truth of height is above 20 m while saving",
    "tunes": "always release is above floor + 9 m",
}


def text(*claims: str) -> str:
    return HEAD + "\n".join(f"claim claim_{k}: {claim}" for k, claim in enumerate(claims)) + "\n"
