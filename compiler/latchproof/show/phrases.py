"""What was seen, in whole phrases: `motor is 60 %, not 0 %`, `guard is off`, `height has never been heard`."""

from collections.abc import Iterable

from latchproof.prove.reasons import Seen
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch
from latchproof.show.quantities import apart, quantity
from latchproof.show.wording import RELATION, Wording

SPEAKS = {
    "voice": ("speaks", "does not speak"),
    "tone": ("sounds its tone", "does not sound its tone"),
    "vibration": ("vibrates", "does not vibrate"),
    "announced": ("is being announced", "is not being announced"),
}
"""What an announcement of a rule does and does not do."""


def joined(phrases: Iterable[str]) -> str:
    """`a`, `a and b`, `a, b and c`; where a phrase has a comma itself, one before the `and`."""
    listed = list(dict.fromkeys(phrases))
    if len(listed) < 2:
        return "".join(listed)
    last = ", and " if any("," in phrase for phrase in listed) else " and "
    return f"{', '.join(listed[:-1])}{last}{listed[-1]}"


def phrase(seen: Seen, w: Wording) -> str:
    test, holds = seen.test, seen.holds
    match test:
        case e.AtPosition(switch):
            here = w.position(switch, int(seen.values[0]))
            other = "" if holds or _two(w, switch) else f", not {w.position(switch, test.position)}"
            return f"{switch} is {here}{other}"
        case e.Pressed(button):
            return f"{button} is {'pressed' if holds else 'released'}"
        case e.Comparison():
            return _comparison(seen, test, w)
        case e.Band(subject):
            text = w.signal(test).removeprefix(w.number(subject)).removeprefix(" is ")
            here = quantity(seen.values[0], w.unit(subject))
            return f"{w.number(subject)} is {here} and {'counts' if holds else 'does not count'} as {text}"
        case e.ChannelState(channel, state):
            return _channel(seen, channel, state, w)
        case e.SensorState(sensor, state):
            if state == "heard":
                return f"{sensor} has been heard" if holds else f"{sensor} has never been heard"
            return f"{sensor} is {state}" if holds else f"{sensor} is {'fresh' if state == 'stale' else 'stale'}"
        case e.NamedSignal(name):
            return named(name, holds, w)
        case e.Timed("for", operand, duration):
            been = f"{bare(operand, w)} has been so for {w.duration(duration)}"
            return been if holds else been.replace(" has been so ", " has not been so ", 1)
        case e.Edge(kind, operand):
            return f"{bare(operand, w)} {kind}" if holds else f"{bare(operand, w)} does not {kind[:-1]} in this cycle"
        case _:
            text = w.signal(test)
            return text if holds else f"it is not so that {text}"


def named(name: str, on: bool, w: Wording) -> str:
    """A latch, signal, phase, role or announcement that is on or off."""
    rule, _, kind = name.rpartition(".")
    if name in w.things:
        if isinstance(w.things[name], Latch):
            return f"{name} is {'set' if on else 'not set'}"
        return f"{name} {'holds' if on else 'does not hold'}"
    if kind.partition("@")[0] == "acting":
        place = f" on {kind.partition('@')[2]}" if "@" in kind else ""
        return f"{rule} {'acts' if on else 'does not act'}{place}"
    if kind in SPEAKS:
        return f"{rule} {SPEAKS[kind][0 if on else 1]}"
    return f"{rule} is {'' if on else 'not '}in its phase {kind}"


def _two(w: Wording, switch: str) -> bool:
    return len(next(s.positions for s in w.rules.switches if s.name == switch)) == 2


def bare(x: e.Signal, w: Wording) -> str:
    """A signal as part of a sentence: in brackets unless it is a single name."""
    text = w.signal(x)
    return f"({text})" if " " in text else text


def _comparison(seen: Seen, test: e.Comparison, w: Wording) -> str:
    left, right = w.number(test.left), w.number(test.right)
    unit = w.unit(test.right if isinstance(test.left, e.Constant) else test.left)
    here, there = apart(seen.values[0], seen.values[1], unit)
    bound = there if isinstance(test.right, e.Constant) else f"{right} ({there})"
    if test.order == "==":
        return f"{left} is {here}" if seen.holds else f"{left} is {here}, not {bound}"
    relation = RELATION[test.order]
    return f"{left} is {here}, {'' if seen.holds else 'not '}{relation} {bound}"


def _channel(seen: Seen, channel: str, state: str, w: Wording) -> str:
    if state == "free":
        if seen.holds:
            return f"{channel} is the pilot's own"
        if not seen.values:
            return f"{channel} is not the pilot's own"
        here, own = apart(seen.values[0], seen.values[1], w.unit_of_name(channel))
        return f"{channel} is {here} where the pilot's own would be {own}"
    return f"{channel} is {state} by a rule" if seen.holds else f"no rule has {channel} {state}"
