"""Whether what is proved of a rule file is proved of a listing too, or has to be proved again."""

from dataclasses import replace
from typing import Literal

from latchproof.fit.required import broken
from latchproof.readback.pinned import pinned
from latchproof.rules.model import RuleSet

Why = Literal["inherited", "another device", "another pass", "other numbers", "a tune out of range", "a requirement"]


def inherits(rules: RuleSet, rounded: RuleSet, devices: tuple[RuleSet, ...]) -> Why:
    """`rules`: the rule file's, proved for all values of its tunes. `rounded`: what the listing is proved equal to.
    `devices`: that on each kind of transmitter that it may be.

    Only where the same transmitter is meant, every pass is one that was thought of, and nothing but tunes is at another
    value, one that is allowed.
    """
    values = {t.name: t.value for t in rounded.tunes}
    chosen = tuple(replace(t, value=values.get(t.name, t.value)) for t in rules.tunes)
    if any(not t.low <= t.value <= t.high or (t.steps and t.value not in t.steps) for t in chosen):
        return "a tune out of range"
    if broken(rules, values) is not None:
        return "a requirement"
    for on in devices:
        if (on.device.reads, on.device.starts) != ("this cycle", "reset") or not _same_device(rules, on):
            return "another device"
        if on.cycle.shortest < rules.cycle.shortest or on.cycle.longest > rules.cycle.longest:
            return "another pass"
    alone = replace(pinned(replace(rules, tunes=chosen)), device=rounded.device, cycle=rounded.cycle)
    return "inherited" if alone == pinned(rounded) else "other numbers"


REFUSED: tuple[Why, ...] = ("a tune out of range", "a requirement")
"""What no proof mends: under a requirement that does not hold anything could be proved."""


def _same_device(rules: RuleSet, on: RuleSet) -> bool:
    a, b = rules.device, on.device
    signals = [None if d.pulse is None else (d.pulse.name, d.pulse.seconds) for d in (a, b)]
    stale = [[(s.stale_after, s.stale_reads) for s in r.sensors] for r in (rules, on)]
    first = (a.reads, a.starts, a.no_frame_before) == (b.reads, b.starts, b.no_frame_before)
    return first and signals[0] == signals[1] and stale[0] == stale[1]
