"""The eight kinds of device: four ways of reading, two of starting."""

from dataclasses import dataclass, replace

from latchproof.rules.model import Reads, RuleSet, Starts

READS: tuple[Reads, ...] = ("this cycle", "last cycle", "listed order", "unknown order")
STARTS: tuple[Starts, ...] = ("reset", "any")


@dataclass(frozen=True, slots=True)
class Variant:
    """The rules on one kind of device; `declared`: it is the one that the file describes."""

    reads: Reads
    starts: Starts
    rules: RuleSet
    declared: bool


def variants(rules: RuleSet) -> tuple[Variant, ...]:
    """What the device gives and when its first frame comes stays as the file says."""
    device = rules.device
    return tuple(
        Variant(
            reads,
            starts,
            replace(rules, device=replace(device, reads=reads, starts=starts)),
            (reads, starts) == (device.reads, device.starts),
        )
        for starts in STARTS
        for reads in READS
    )
