"""The kinds of device that a transmitter may be, and a rule set on each of them.

What is known makes one kind; "don't know" makes several, and everything has to hold on all of them. The first kind is
the most general one: what holds always and in every order there holds on the others too. What *can* happen there need
not be possible on the others, so it is looked at on each.
"""

from dataclasses import replace
from fractions import Fraction

from latchproof.machine.variants import READS, STARTS
from latchproof.rules.model import Basis, Can, Cycle, Device, Pulse, Reads, RuleSet, Sensor, Starts
from latchproof.transmitter.model import Transmitter

SOURCE = "description of the transmitter"

MOST_GENERAL: Reads = "unknown order"


def kinds(t: Transmitter, rules: RuleSet | None = None) -> tuple[Device, ...]:
    """The devices to prove for. A start signal gets the name that the rules give it; one that they do not know, and
    one that the transmitter has not got, is a matter of `conflicts`."""
    reads: tuple[Reads, ...] = (t.reads,)
    if "reads" in t.unknown or t.reads == MOST_GENERAL:
        reads = (MOST_GENERAL, *(r for r in READS if r != MOST_GENERAL))
    starts: tuple[Starts, ...] = ("any", *(s for s in STARTS if s != "any")) if "starts" in t.unknown else (t.starts,)
    return tuple(_device(t, r, s, rules) for s in starts for r in reads)


def to_ask(rules: RuleSet, t: Transmitter) -> tuple[RuleSet, ...]:
    """What has to be proved so that everything holds on all of `on`.

    Of each thing that a lost sensor may read the most general device with all claims: what is so always on it is so on
    the others. What can happen there need not be possible on the others, so of them `can` is asked.
    """
    found: list[RuleSet] = []
    devices = len(kinds(t, rules))
    for i, there in enumerate(on(rules, t)):
        if i % devices == 0:
            found.append(there)
            continue
        can = tuple(c for c in there.claims if isinstance(c.form, Can))
        if can:
            found.append(replace(there, claims=can))
    return tuple(found)


def on(rules: RuleSet, t: Transmitter) -> tuple[RuleSet, ...]:
    """The rules on each device: with its cycle, and with what a lost sensor reads there.

    First all devices for one such reading, then for the next; neither reading covers the other.
    """
    cycle = cycle_of(t, rules)
    return tuple(
        replace(rules, device=device, cycle=cycle, sensors=tuple(_stale(s, t, stale) for s in rules.sensors))
        for stale in _stale_kinds(rules, t)
        for device in kinds(t, rules)
    )


def cycle_of(t: Transmitter, rules: RuleSet) -> Cycle:
    """One pass over the entries takes this long, whatever the rule file says."""
    shortest, longest = t.periods.logic
    return Cycle(shortest, longest, basis(t, "periods.logic"), span=rules.cycle.span)


def basis(t: Transmitter, key: str) -> Basis:
    """Looked at by whoever described the transmitter, or not."""
    if key in t.unknown:
        return Basis("assumed", note=f"not known, says the {SOURCE}")
    return Basis("assumed" if key in t.assumed else "measured", note=SOURCE)


def _device(t: Transmitter, reads: Reads, starts: Starts, rules: RuleSet | None) -> Device:
    if rules is None:
        return Device(reads, starts, None, t.no_frame_before)
    pulse = rules.device.pulse
    if pulse is not None and t.pulse is not None:
        pulse = Pulse(pulse.name, t.pulse, span=pulse.span)
    bases = {}
    if "reads" not in t.unknown:
        bases["device_reads"] = basis(t, "reads")
    if "starts" not in t.unknown:
        bases["starts"] = basis(t, "starts")
    if t.pulse is not None:
        bases["gives"] = basis(t, "pulse")
    if t.no_frame_before is not None:
        bases["first_frame"] = basis(t, "no_frame_before")
    # The place is that of the rule file's own section, or of the file: without one no fact of the device is told.
    span = rules.device.span or rules.cycle.span
    return Device(reads, starts, pulse, t.no_frame_before, tuple(bases.items()), span=span)


def _stale_kinds(rules: RuleSet, t: Transmitter) -> tuple[str, ...]:
    """What a lost sensor may read; of no consequence where no sensor is said to be lost."""
    if t.telemetry.stale is not None:
        return (t.telemetry.stale,)
    return ("last", "zero") if any(s.stale_after is not None for s in rules.sensors) else ("last",)


def _stale(s: Sensor, t: Transmitter, stale: str) -> Sensor:
    """Without a time until stale the rules never look at a lost sensor, and it may keep its value as long as it likes;
    where it drops to zero, that is a reading like any other, so it is given the time of the transmitter."""
    after = s.stale_after
    if after is None and stale == "zero":
        after = t.telemetry.stale_after
    if after is None:
        return s
    reads = Fraction(0) if stale == "zero" else None
    bases = tuple(b for b in s.bases if b[0] not in ("keeps_value", "reads_value"))
    bases += (("keeps_value" if reads is None else "reads_value", basis(t, "telemetry.stale")),)
    if s.stale_after is None:
        bases += (("stale_after", basis(t, "telemetry.stale_after")),)
    return replace(s, stale_after=after, stale_reads=reads, bases=bases)
