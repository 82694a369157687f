"""What was weakened, in words that go on behind "if": "`height is fresh` were left out"."""

from typing import assert_never

from latchproof.rules.expressions import Constant
from latchproof.rules.model import Action, Announce, Drive, Limit, Modifiers, Move, Timeout
from latchproof.rules.words import per_second
from latchproof.show.quantities import quantity
from latchproof.show.visible import visible
from latchproof.show.wording import Wording
from latchproof.strength.weakening import (
    Dominance,
    LeftOut,
    LineGone,
    NoAction,
    NoBlock,
    NoModifier,
    NoPriority,
    NoTimeout,
    OtherAction,
    Replaced,
    Swapped,
    Weakening,
)


def changed(x: Weakening, w: Wording) -> str:
    """Without the name of the element, which stands above it."""
    match x.change:
        case LeftOut(operand):
            return f"`{w.signal(operand)}` were left out"
        case Replaced("not", before, _):
            return f"the `not` of `{w.signal(before)}` were missing"
        case Replaced("delay" | "edge" | "previous" | "band", before, after):
            return f"`{w.signal(before)}` were only `{w.signal(after)}`"
        case Replaced(_, before, after):
            return f"`{w.signal(before)}` were `{w.signal(after)}`"
        case LineGone(line, signal):
            return f"`{line} {w.signal(signal)}` were missing"
        case Swapped():
            return "set and reset were swapped"
        case Dominance(set_wins):
            one, other = ("reset", "set") if set_wins else ("set", "reset")
            return f"{one} won when both are asked for, not {other}"
        case NoTimeout(timeout):
            return f"`{_timeout(timeout, w)}` were missing"
        case NoBlock(timeout):
            return f"it could be set again right after its time-out, without `{_block(timeout, w)}`"
        case NoAction(action):
            return f"`{doing(action, w)}` were missing"
        case OtherAction(action, instead):
            return f"`{doing(action, w)}` were `{doing(instead, w)}`"
        case NoModifier(action, which):
            return f"`{doing(action, w)}` had no `{_modifier(action, which, w)}`"
        case NoPriority(over, under):
            return f"`priority {over} over {under}` were missing"
        case _:
            assert_never(x.change)


def doing(a: Action, w: Wording) -> str:
    """The action without what modifies it."""
    match a:
        case Drive(channel=channel, target=target):
            return f"drive {channel} to {w.number(target)}"
        case Move(channel=channel, word=word, amount=amount):
            return f"move {channel} {word} by {w.number(amount)}"
        case Limit(channel=channel, bound=bound, amount=amount):
            return f"limit {channel} to at {bound} {w.number(amount)}"
        case Announce(means=means, text=text):
            return f"announce {means}" + ("" if text is None else f' "{visible(text)}"')
        case _:
            assert_never(a)


def _modifier(a: Action, which: str, w: Wording) -> str:
    if isinstance(a, Announce):
        return "every" if a.every is None else f"every {w.duration(a.every)}"
    m: Modifiers = a.modifiers
    rate = {"rising": m.rising, "falling": m.falling, "back": m.back}.get(which)
    if which == "after" or rate is None:
        return "after" if m.after is None else f"after {w.duration(m.after)}"
    unit = per_second(w.unit_of_name(a.channel))
    speed = quantity(rate.value, unit) if isinstance(rate, Constant) else w.number(rate)
    if which == "back":
        return f"hand back {speed}"
    # up and down may have the same rate: the very number that was written tells them apart
    word = next((word for word, written in m.words if written is rate), "")
    return f"ramp {word} {speed}".replace("  ", " ")


def _timeout(t: Timeout, w: Wording) -> str:
    block = _block(t, w)
    return f"timeout {w.duration(t.duration)}" + (f" then {block}" if block else "")


def _block(t: Timeout, w: Wording) -> str:
    if t.blocked_until is not None:
        return f"blocked until {w.signal(t.blocked_until)}"
    return "" if t.blocked_for is None else f"blocked for {w.duration(t.blocked_for)}"
