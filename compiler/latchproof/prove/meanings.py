"""What the names in an exported claim stand for, in a pilot's words: the comments of exports."""

from latchproof.machine.cone import System
from latchproof.machine.model import DT
from latchproof.rules.model import RuleSet

UNITS = "Numbers are in seconds, metres, percent, volts, amperes, degrees, and in what these make (metres per second)."

_OF_SENSOR = {
    "frame": "a reading of {} arrives in this cycle",
    "reading": "the reading of {} that arrives, if one does",
    "truth": "what {} truly is, which no sensor shows exactly",
    "last": "the last reading of {}",
    "was": "what {} truly was in the cycle before",
    "since": "seconds since the last reading of {} (since power-up, if there was none)",
    "heard_before": "a reading of {} has arrived before",
}
_OF_MEMORY = {
    "elapsed": "for how long, in seconds",
    "on_for": "for how many seconds it has been on",
    "blocked": "it must not come on again yet",
    "count": "how many so far",
    "was": "as it was in the cycle before",
}


def meanings(rules: RuleSet, system: System) -> dict[str, str]:
    """Of every tune, input and memory cell of the system, and of the cycle time."""
    said = {DT: "the seconds that this cycle takes"}
    for p in system.parameters:
        tune = any(t.name == p.name for t in rules.tunes)
        said[p.name] = f"the {'tune' if tune else 'fact'} {p.name}: any value of its range, the same in every cycle"
    for i in system.inputs:
        said[i.name] = _input(rules, i.name)
    for s in system.states:
        said[s.name] = _memory(rules, s.name)
    return said


def _input(rules: RuleSet, name: str) -> str:
    base, _, part = name.partition("@")
    for switch in rules.switches:
        if switch.name == base and part.isdecimal() and 0 < int(part) < len(switch.positions):
            last = int(part) == len(switch.positions) - 1
            return f"the switch {base} stands at {switch.positions[int(part)]}{'' if last else ' or a later position'}"
    if any(s.name == base for s in rules.sensors) and part in _OF_SENSOR:
        return _OF_SENSOR[part].format(base)
    if any(b.name == base for b in rules.buttons):
        return f"the button {base} is pressed"
    if any(c.name == base for c in rules.controls):
        return f"where {base} stands"
    if part.endswith("pick"):
        return "the world's choice: in this cycle the watched stretch of time begins"
    return f"what the world gives for {base or 'a part of the claim'}"


def _memory(rules: RuleSet, name: str) -> str:
    base, _, part = name.partition("@")
    if any(s.name == base for s in rules.sensors) and part in _OF_SENSOR:
        return _OF_SENSOR[part].format(base)
    owner = base if base else "a delay or edge that has no name"
    what = _OF_MEMORY.get(name.rpartition("@")[2] if part else "")
    return f"memory of {owner}" + (f": {what}" if what else "")
