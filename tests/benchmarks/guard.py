"""A floor guard whose delays can be made longer without changing anything else; invented for measuring."""

from fractions import Fraction

TEXT = """
rules "guard for measuring" version "1"
cycle from 5 ms to 20 ms assumed "for measuring"
switch guard       positions off, on
switch motor_stop  positions run, stop
stick  throttle    from 0 % to 100 %
sensor height {{ from -20 m to 500 m  stale after 2 s  once stale keeps value }}
channel motor {{ follows throttle  from 0 % to 100 % }}
tune floor   = 46 m from 30 m to 90 m
tune release = 58 m from 40 m to 110 m
require release is at least floor + 8 m
signal ready = guard is on and height is fresh and height is above release
latch armed {{
  set when   ready for {d} s
  reset when guard is off
  reset when height is stale
  reset when motor_stop is stop
}}
latch engaged {{
  set when   armed and height is below floor
  reset when not armed
  reset when height is above release
  timeout {d} s then blocked until guard is off
}}
rule recover while engaged {{
  drive motor to 35 %  after {d} s  ramp up 45 %/s
}}
rule cut while motor_stop is stop {{ drive motor to 0 % }}
priority cut over recover
claim frees:      always motor is free  while guard is off and motor_stop is run
claim stop_wins:  always motor is equal to 0 %  while motor_stop is stop
claim waits:      before (motor is driven) comes (engaged for {d} s)  since engaged begins
claim blind:      whenever height is stale then not engaged within 1 cycle
claim bounded:    length of engaged at most {more} s
claim arms_late:  before (armed begins) comes (ready for {d} s)  since guard is on
claim too_short:  length of engaged at most {less} s
claim too_soon:   never engaged
claim works:      can armed then engaged then engaged ends
"""


def guard(delay: Fraction) -> str:
    """The rule text with every delay of so many seconds."""

    def shown(x: Fraction) -> str:
        return f"{x.numerator / x.denominator:.4f}".rstrip("0").rstrip(".")

    return TEXT.format(d=shown(delay), more=shown(delay + Fraction(1, 20)), less=shown(delay - Fraction(1, 20)))
