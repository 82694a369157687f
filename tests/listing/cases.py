"""Rule sets for the listing's tests: the examples, and short texts."""

from pathlib import Path

from latchproof.pipeline import check_text
from latchproof.rules import RuleSet
from latchproof.source import Source

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*/*.latch"))


def load(path: Path) -> RuleSet:
    checked = check_text(Source(path.name, path.read_text(encoding="utf-8")), path.parent)
    assert checked.rules is not None, checked.diagnostics
    return checked.rules


def rules(text: str) -> RuleSet:
    """A rule set from its statements; the header and the usual things are put before them."""
    checked = check_text(Source("case.latch", 'rules "Case" version "1"\n' + text), Path())
    assert checked.rules is not None, checked.diagnostics
    return checked.rules


USUAL = """
switch guard positions off, on
switch motor_stop positions run, stop
stick throttle from 0 % to 100 %
role arm is guard is on
role kill is motor_stop is stop
channel motor 1 { follows throttle from 0 % to 100 % }
"""

EVERYTHING = """
cycle from 5 ms to 20 ms measured 2025-01-02 "logic analyser"
switch guard positions off, mid, on
switch motor_stop positions run, stop
button clear
stick throttle from 0 % to 100 %
stick pitch from -100 % to 100 %
knob gain from 0 % to 50 %
sensor height { from -20 m to 500 m step 0.1 m frame every 250 ms stale after 2 s once stale reads 3 m error 1 m
  lag 100 ms
  changes from -18 m/s to 8 m/s assumed "a guess" }
sensor pack { from 0 V to 14 V }
channel motor 1 { follows throttle from 0 % to 100 % }
channel wing { follows 0.6 * pitch + 4 % from -100 % to 100 % up is negative trim at most 15 % }
channel mode 6 { follows guard as off -90 %, mid 10 %, on 70 % from -100 % to 100 % }
channel hatch 7 { rests at 3 % from 0 % to 100 % }
fact cells = 4
fact climb = 3 m/s to 5 m/s assumed "seen once"
tune floor = 46 m from 30 m to 90 m
tune wait = 1.2 s from 0.4 s to 3 s
tune share = 0.5 from 0.25 to 0.75 in steps of 0.25
require floor is at least 31 m
value cell = pack / cells
value high = height + share * 8 m
sample start = height - 2 m when guard is on begins first 5 m
signal here = guard is on and height is fresh
signal band = height is below 33 m until above 57 m
signal steep = size of (rate of height) is above 7 m/s
signal lone = exactly_one of (clear is pressed, guard is mid, pack is below 11 V)
latch armed { set when here for wait  set when lone extended 2.1 s
  reset when guard is not on  reset when cell is below 3.1 V
  timeout 8.5 s then blocked until guard is off }
latch engaged { set when armed and high is below floor  reset when not armed  reset when (engaged and steep) for 900 ms
  set wins timeout 6 s then blocked for 11 s }
counter tries { counts engaged begins  clears when clear is pressed  at most 7 }
rule recover while engaged and tries is below 5 and (not band or start is above 9 m) {
  drive motor to 35 % after 600 ms ramp up 45 %/s ramp down 55 %/s hand back 65 %/s
  move wing up by 6 % ramp up 21 %/s
  limit hatch to at most 64 %
  move pitch less by 2 %
  announce voice "floor" every 2.5 s
}
rule faint while (steep pulsed 350 ms) or (engaged for 3 cycles) { limit motor to at least 12 %  announce vibration }
rule cut while motor_stop is stop { drive motor to 0 % }
rule said while recover.announced and previous of lone { announce tone "said" }
rule seen while motor is driven and size of (throttle - gain) is at most 17 % { drive hatch to larger of (gain, 44 %) }
sequence gear while (guard is on ends) extended 4 s {
  phase one for 1.7 s { drive hatch to 1 % }
  phase two until clear is pressed { } }
rule late while gear.two and age of pack is above 4.4 s { announce tone }
priority cut over recover
priority seen over gear
accept H13 in recover because "I keep my stick still"
claim frees "off frees": always motor is free while guard is off
stage warn_only { warn only }
stage high { tune floor = 80 m }
"""
