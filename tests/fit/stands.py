"""What of a rule set a transmitter has not got, looked for without any of the rewritings."""

from collections.abc import Iterator
from typing import Any

from latchproof.fit.used import used
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Counter, Drive, Latch, Limit, Move, RuleSet, Sample, Sequence
from latchproof.transmitter.model import Transmitter


def entries(rules: RuleSet) -> Iterator[Any]:
    needed = used(rules)
    r = rules
    for x in (
        *r.values,
        *r.samples,
        *r.signals,
        *r.latches,
        *r.counters,
        *r.rules,
        *r.sequences,
        *r.channels,
        *r.roles,
    ):
        if needed.has(x):
            yield x


def nodes(x: object) -> Iterator[Any]:
    stack = [x]
    while stack:
        y = stack.pop()
        yield y
        if not isinstance(y, str) and y is not None:
            stack.extend(parts(y))


def missing(rules: RuleSet, t: Transmitter) -> set[str]:
    """Words for what it has not got."""
    found = set()
    for entry in entries(rules):
        for x in nodes(entry):
            found |= set(_missing(x, t))
    return found


def _missing(x: Any, t: Transmitter) -> Iterator[str]:
    has = {"voice": t.sounds.voice, "tone": t.sounds.tone, "vibration": t.sounds.vibration}
    match x:
        case e.AllOf(operands) | e.AnyOf(operands) | e.ExactlyOne(operands) if operands:
            kind = {e.AllOf: "all", e.AnyOf: "any", e.ExactlyOne: "one"}[type(x)]
            if kind not in t.gates.kinds:
                yield f"gate {kind}"
            if len(operands) > t.gates.inputs:
                yield "wide gate"
        case e.Not() if not t.gates.inverts:
            yield "inversion"
        case e.SensorState(state="fresh") if not t.gates.inverts:
            yield "inversion"
        case e.Comparison(_, order) | e.RateComparison(order=order):
            if order not in t.comparisons.orders:
                yield f"order {order}"
        case e.ChannelState():
            yield "channel state"
        case e.Band() if not t.comparisons.band:
            yield "band"
        case e.Edge() if "edge" in t.room.absent:
            yield "edge"
        case e.Timed(kind):
            if {"for": "on", "extended": "off", "pulsed": "pulse"}[kind] not in t.delays.kinds:
                yield f"delay {kind}"
        case Latch() if "latch" in t.room.absent:
            yield "latch"
        case Sequence():
            yield "sequence"
        case Counter() if "counter" in t.room.absent:
            yield "counter"
        case Sample() if "kept value" in t.room.absent:
            yield "kept value"
        case Drive() if "drive" not in t.actions.kinds:
            yield "drive"
        case Move() if "move" not in t.actions.kinds:
            yield "move"
        case Limit(bound=bound) if f"limit {bound}" not in t.actions.kinds:
            yield f"limit {bound}"
        case Announce(means=means) if not has[means]:
            yield means
        case _:
            pass


SAID_BY = {
    "gate all": {"no gate"}, "gate any": {"no gate"}, "gate one": {"no gate"}, "wide gate": {"no gate"},
    "inversion": {"no inversion"}, "band": set(), "edge": set(), "latch": {"no latch", "time-out"}, "sequence": set(),
    "channel state": {"no channel state"},
    "counter": {"no counter"}, "kept value": {"no kept value"}, "drive": {"no action"}, "move": {"no action"},
    "limit most": {"no action"}, "limit least": {"no action"}, "voice": {"no sound"}, "tone": {"no sound"},
    "vibration": {"no sound"}, "delay for": {"no delay", "delay in cycles", "varying time"},
    "delay extended": {"no delay", "delay in cycles", "varying time"},
    "delay pulsed": {"no delay", "delay in cycles", "varying time"},
}  # fmt: skip
"""Which misfits account for what is missing; for an empty set nothing may be missing."""


def unaccounted(rules: RuleSet, t: Transmitter, kinds: set[str]) -> set[str]:
    """What is missing although no misfit of `kinds` says so."""
    return {
        word
        for word in missing(rules, t)
        if not kinds & SAID_BY.get(word, {"no comparison", "fact with a span", "no rate"})
    }
