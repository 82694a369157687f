"""Wrong listings and wrong fittings, planted one at a time: what is replaced, by what, and rules that show it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from importlib import import_module
from typing import Any

from latchproof.fit import gates, rounding, timing
from latchproof.fit import memories as fit_memories
from latchproof.listing import acting, amounts, desk, memories, numbers, settings, signals
from latchproof.listing.draft import DraftField
from latchproof.rules import expressions as e

Make = Callable[[Any], Any]

build = import_module("latchproof.listing.build")
"""The module; the package has the function of that name."""

HANDS = """
switch guard positions off, mid, on
switch motor_stop positions run, stop
stick throttle from 0 % to 100 %
stick pitch from -100 % to 100 %
role arm is guard is on
role kill is motor_stop is stop
sensor height { from 0 m to 500 m step 1 m frame every 250 ms stale after 2 s once stale keeps value }
channel motor 1 { follows throttle from 0 % to 100 % }
channel elevator 2 { follows pitch from -100 % to 100 % up is positive }
channel hook 3 { rests at 10 % from 0 % to 100 % }
"""
GATES = "rule a while guard is on and height is above 40 m { drive hook to 60 % }"
OR = "rule a while guard is on or height is above 40 m { drive hook to 60 % }"
NOT = "rule a while guard is not on { drive hook to 60 % }"
OFTEN = "rule a while guard is on and not (height is above 40 m) { drive hook to 60 % }"
FLIPPED = "value high = height + 5 m\nrule a while 40 m is below high { drive hook to 60 % }"
DELAY = "rule a while guard is on for 2 s { drive hook to 60 % }"
EXTENDED = "rule a while guard is on extended 2 s { drive hook to 60 % }"
PULSED = "rule a while guard is on pulsed 2 s { drive hook to 60 % }"
EDGE = "rule a while (guard is on begins) extended 2 s { drive hook to 60 % }"
EARLIER = "rule a while previous of (throttle is above 50 %) { drive hook to 60 % }"
LATCH = """
latch held { set when guard is on  reset when guard is off  reset when throttle is below 5 %  set wins }
rule a while held { drive hook to 60 % }
"""
TIMED = """
latch held { set when throttle is above 50 %  reset when guard is off  timeout 3 s then blocked until guard is mid }
rule a while held { drive hook to 60 % }
"""
COUNTER = """
counter tries { counts guard is on  clears when throttle is below 5 %  at most 3 }
rule a while tries is at least 2 { drive hook to 60 % }
"""
MANY = """
counter tries { counts guard is on  clears when throttle is below 5 %  at most 3 }
rule a while tries is at most 3 and tries is above 2 { drive hook to 60 % }
"""
SAMPLE = """
sample start = throttle when guard is on begins first 20 %
rule a while start is above 15 % { drive hook to 60 % }
"""
SEQUENCE = """
sequence go while guard is on { phase one for 2 s { drive hook to 60 % }  phase two for 1 s { drive hook to 90 % }
  phase three { } }
"""
AFTER = "rule a while guard is on { drive motor to 35 % after 600 ms ramp up 45 %/s ramp down 90 %/s hand back 65 %/s }"
VALUE = "rule a while guard is on { drive hook to 62.5 % }"
MOVED = "rule a while guard is on { move elevator up by 6 % }"
LIMITED = "rule a while guard is on { limit motor to at most 40 % }"
TWO = """
rule a while guard is on { drive hook to 60 % }
rule b while guard is not off { drive hook to 30 % }
priority b over a
"""
SAID = 'rule a while guard is on { announce voice "on" every 5 s }'
STALE = "rule a while height is stale { drive hook to 60 % }"
SHARED = "rule a while (guard is on for 2 s) and (guard is on for 3 s) { drive hook to 60 % }"
STEEP = "rule a while rate of height is below -7 m/s { drive hook to 60 % }"
BAND = "rule a while height is below 30 m until above 60 m { drive hook to 60 % }"
WIDE = """
rule a while guard is on and motor_stop is run and height is fresh and throttle is above 5 % and pitch is below 50 %
  and height is above 20 m { drive hook to 60 % }
"""
REQUIRED = """
tune low = 33.42 m from 30 m to 60 m
tune far = 33.64 m from 30 m to 60 m
require far is at least low + 0.2 m
rule a while height is below low { drive hook to 60 % }
rule b while height is above far { drive motor to 0 % }
"""
TURNED = "value cell = height / 4\nrule a while cell is below 9 m { drive hook to 60 % }"


@dataclass(frozen=True)
class Planted:
    """`place.what` becomes `make` of what it was. `device`: the rules are fitted to this transmitter first."""

    name: str
    place: Any
    what: str
    make: Make
    rules: str
    device: str = ""
    item: str = ""
    """Of a table: the entry that is replaced."""


def _instead(value: Any) -> Make:
    return lambda right: value


def _with(change: Callable[[Any], Any]) -> Make:
    """The right function, what it is given first changed: `change` gets and gives the argument that is no desk."""
    return lambda right: lambda d, x, *more, **named: right(d, change(x), *more, **named)


def _first_reset(right: Make) -> Make:
    return _with(lambda x: replace(x, resets=x.resets[:1]))(right)


def _modifiers(**new: Callable[[Any], Any]) -> Make:
    def change(action: Any) -> Any:
        m = action.modifiers
        return replace(action, modifiers=replace(m, **{k: f(m) for k, f in new.items()}))

    return _with(change)


def _of_kind(kind: Any, change: Callable[[Any], Any]) -> Make:
    """An entry for another expression than the one wanted."""

    def make(right: Make) -> Make:
        def entry(d: Any, key: str, x: Any, use: str, name: str | None) -> Any:
            return right(d, key, change(x) if isinstance(x, kind) else x, use, name)

        return entry

    return make


def _as(kind: str, wrong: str) -> Make:
    """A delay of one kind drafted as another."""

    def make(right: Make) -> Make:
        return lambda d, draft, k, *more: right(d, draft, wrong if k == kind else k, *more)

    return make


def _argument(at: int, change: Callable[[Any], Any]) -> Make:
    """The right function, one of what it is given changed."""

    def make(right: Make) -> Make:
        return lambda *a, **named: right(*a[:at], change(a[at]), *a[at + 1 :], **named)

    return make


def _late(x: Any) -> Any:
    return replace(x, stale_after=x.stale_after * 10)


def _until(change: Callable[[Any], Any]) -> Make:
    return _with(lambda x: replace(x, timeout=replace(x.timeout, blocked_until=change(x.timeout.blocked_until))))


def _whole(right: Make) -> Make:
    return lambda x: right(Fraction(round(x)))


def _longer(right: Make) -> Make:
    return lambda d, x, use: right(d, replace(x, amount=_tenfold(x.amount)), use)


def _tenfold(x: Any) -> Any:
    return replace(x, value=x.value * 10) if isinstance(x, e.Constant) else x


def _other_target(right: Make) -> Make:
    def target(d: Any, thing: Any) -> Any:
        others = [c for c in d.rules.channels if c.unit == thing.unit and c is not thing]
        return right(d, others[0])

    return target


def _turned_round(right: Make) -> Make:
    """The strongest drive as the weakest one."""

    def layers(rules: Any, name: str) -> Any:
        found = right(rules, name)
        return replace(found, drives=found.drives[::-1], loose=found.loose[::-1])

    return layers


def _one_for_all(right: Make) -> Make:
    """Entries of one kind share one entry, whatever they say."""
    return lambda self, x, make: right(self, replace(x, duration=x.operand) if isinstance(x, e.Timed) else x, make)


def _no_pass(right: Make) -> Make:
    return lambda key, positive, passes: right(key, positive, 0)


def _at_once(right: Make) -> Make:
    return lambda *a: DraftField("begins", ("at once",), kind="delay")


def _next_end(right: Make) -> Make:
    return lambda d, s, p, called: right(d, s, s.phases[(s.phases.index(p) + 1) % len(s.phases)], called)


def _one_step_off(right: Make) -> Make:
    """The number that is typed is the one beside it."""

    def typed(*a: Any, **named: Any) -> Any:
        found = right(*a, **named)
        return None if found is None else replace(found, typed=found.typed + 1)

    return typed


def _two_ago(right: Make) -> Make:
    return lambda x, passes=1: right(x, passes + 1)


def _phase_early(right: Make) -> Make:
    def phase(s: Any, q: Any, p: Any, enters: Any) -> Any:
        shorter = p if p.lasts is None else replace(p, lasts=replace(p.lasts, amount=_tenfold(p.lasts.amount)))
        return right(s, q, shorter, enters)

    return phase


def _less_at_first(x: Any) -> Any:
    return replace(x, first=replace(x.first, value=x.first.value / 10))


BELOW = "rule a while height is below 40 m { drive hook to 60 % }"


LISTINGS = (
    Planted("below as at most", signals, "RELATION", _instead("AT MOST"), BELOW, item="<"),
    Planted("and as or", signals, "_make", _of_kind(e.AllOf, lambda x: e.AnyOf(x.operands, span=x.span)), GATES),
    Planted("an input lost", signals, "_make", _of_kind(e.AnyOf, lambda x: replace(x, operands=x.operands[:-1])), OR),
    Planted("an opposite lost, of a switch", signals, "_at", _argument(3, lambda positive: True), NOT),
    Planted("an opposite lost, of an entry", signals, "_linked", _argument(1, lambda positive: True), OFTEN),
    Planted("sides changed without turning the sign", signals, "_FLIPPED", _instead("<"), FLIPPED, item="<"),
    Planted("delay lost", signals, "_make", _of_kind(e.Timed, lambda x: x.operand), DELAY),
    Planted("delay before true as before false", signals, "_timed", _as("for", "extended"), DELAY),
    Planted("delay before false as before true", signals, "_timed", _as("extended", "for"), EXTENDED),
    Planted("pulse as delay before false", signals, "_timed", _as("pulsed", "extended"), PULSED),
    Planted("a zero too many", signals, "duration", _longer, EXTENDED),
    Planted("this pass instead of the last", signals, "_linked", _no_pass, EARLIER),
    Planted("the wrong dominance", memories, "SET", _instead("reset wins"), LATCH),
    Planted("a reset lost", memories, "_latch", _first_reset, LATCH),
    Planted("the time-out lost", memories, "_latch", _with(lambda x: replace(x, timeout=None)), TIMED),
    Planted("the lock-out lost", memories, "_latch", _until(lambda x: None), TIMED),
    Planted("the lock-out ends the other way", memories, "_latch", _until(lambda x: e.Not(x, span=x.span)), TIMED),
    Planted("a counter that stops early", memories, "_counter", _with(lambda x: replace(x, limit=x.limit - 1)), MANY),
    Planted("a counter never cleared", memories, "_counter", _with(lambda x: replace(x, clears=())), COUNTER),
    Planted("another value at first", memories, "_sample", _with(_less_at_first), SAMPLE),
    Planted("the time of the next phase", memories, "_end", _next_end, SEQUENCE),
    Planted("the delay of an action lost", acting, "_after", _at_once, AFTER),
    Planted("a ramp left at its default", acting, "_ramps", _modifiers(falling=lambda m: None), AFTER),
    Planted("up and down changed over", acting, "_ramps", _modifiers(rising=lambda m: m.falling), AFTER),
    Planted("hand back left at its default", acting, "_ramps", _modifiers(back=lambda m: None), AFTER),
    Planted("a value without its decimals", amounts, "digits", _whole, VALUE),
    Planted("minus for plus", acting, "_offset", _argument(2, lambda sign: -sign), MOVED),
    Planted("another channel", acting, "_target", _other_target, VALUE),
    Planted("at least for at most", acting, "_action",
            _with(lambda a: replace(a, action=replace(a.action, bound="least"))), LIMITED),
    Planted("the weaker one on top", desk, "layers_of", _turned_round, TWO),
    Planted("a repeat lost", build, "announce", _argument(3, lambda x: replace(x, every=None)), SAID),
    Planted("stale too late", settings, "_stale", _argument(0, _late), STALE),
    Planted("two delays as one entry", desk.Desk, "once", _one_for_all, SHARED),
    Planted("a rate without its sign", signals, "_rate", _with(lambda x: replace(x, bound=-x.bound)), STEEP),
    Planted("thresholds changed over", signals, "_band", _with(lambda x: replace(x, enter=x.leave)), BAND),
    Planted("another place at rest", build, "channel", _with(lambda x: replace(x, source=_tenfold(x.source))), VALUE),
    Planted("a divisor lost", numbers, "formula",
            _with(lambda x: x.left if isinstance(x, e.Quotient) else x), TURNED),
)  # fmt: skip

FITS = (
    Planted("the number beside it is typed", signals, "typed", _one_step_off, GATES, "typical"),
    Planted("an input of a wide gate lost", gates._Gates, "_all", _argument(1, lambda several: several[:-1]), WIDE,
            "typical"),
    Planted("rounded past a requirement", rounding, "broken", lambda right: lambda rules, values: None, REQUIRED,
            "typical"),
    Planted("an edge that compares with too long ago", timing, "before", _two_ago, EDGE, "no edges"),
    Planted("a phase made too long", fit_memories, "_phase", _phase_early, SEQUENCE, "rich"),
)  # fmt: skip

PLANTED = (*LISTINGS, *FITS)
