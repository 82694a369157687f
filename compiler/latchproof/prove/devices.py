"""The same promises on every kind of device."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.machine.variants import READS, Variant, variants
from latchproof.prove.memory import Keepsake
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import RuleSet

ProveAll = Callable[[Machine, Variant, Mapping[str, Keepsake]], Iterable[Verdict]]
"""The verdicts on all properties of the machine of a kind of device; what may help with some of them, by name."""


@dataclass(frozen=True, slots=True)
class Proved:
    """What is so on one kind of device; verdicts in the order of the machine's properties."""

    variant: Variant
    machine: Machine
    verdicts: tuple[Verdict, ...]


def on_every_device(rules: RuleSet, prove_all: ProveAll) -> Iterator[Proved]:
    """One kind of device after the other. Where nothing at all is read late it is proved once for all readings.

    Memory that may hold anything comes first: what is proved of it is true of memory that is reset, by the same proof.
    """
    in_time: dict[str, tuple[Verdict, ...]] = {}
    hints: dict[str, dict[str, Keepsake]] = {}
    for variant in sorted(variants(rules), key=lambda v: (READS.index(v.reads), v.starts)):
        machine, _ = compile_rules(variant.rules)
        assert machine is not None
        if machine.chain == 0 and variant.starts in in_time:
            kept = {v.claim: replace(v, seconds=0) for v in in_time[variant.starts]}
        else:
            known = hints.get(variant.reads, {})
            kept = {v.claim: v for v in prove_all(machine, variant, known)}
        verdicts = tuple(kept[p.name] for p in machine.properties)
        if variant.reads == "this cycle":
            in_time[variant.starts] = verdicts
        hints[variant.reads] = {v.claim: v.keepsake for v in verdicts if v.keepsake is not None}
        yield Proved(variant, machine, verdicts)


def differing(proved: Iterable[Proved]) -> tuple[str, ...]:
    """The properties that hold on one kind of device and not on another."""
    answers: dict[str, set[str]] = {}
    for p in proved:
        for v in p.verdicts:
            answers.setdefault(v.claim, set()).add(v.answer)
    return tuple(name for name, found in answers.items() if "proved" in found and "refuted" in found)
