"""The same promises on every kind of device."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import System, cone
from latchproof.machine.model import Machine
from latchproof.machine.variants import READS, Variant, variants
from latchproof.prove.least import decided_by
from latchproof.prove.memory import Keepsake
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import RuleSet

ProveAll = Callable[[Machine, Variant, Mapping[str, Keepsake]], Iterable[Verdict]]
"""The verdicts on all properties of the machine of a kind of device; what may help with some of them, by name."""


Check = Callable[[System, str], bool]
"""Whether an invariant passes the three checks of a certificate, in a fresh process."""


@dataclass(frozen=True, slots=True)
class Proved:
    """What is so on one kind of device; verdicts in the order of the machine's properties."""

    variant: Variant
    machine: Machine
    verdicts: tuple[Verdict, ...]


def on_every_device(rules: RuleSet, prove_all: ProveAll, check: Check) -> Iterator[Proved]:
    """One kind of device after the other. Where nothing at all is read late it is proved once for all readings.

    Memory that may hold anything comes first: what is proved of it is true of memory that is reset, by the same proof.
    """
    in_time: dict[str, tuple[Verdict, ...]] = {}
    wider: dict[str, dict[str, Verdict]] = {}
    for variant in sorted(variants(rules), key=lambda v: (READS.index(v.reads), v.starts)):
        machine, _ = compile_rules(variant.rules)
        assert machine is not None
        if machine.chain == 0 and variant.starts in in_time:
            kept = {v.claim: replace(v, seconds=0) for v in in_time[variant.starts]}
        else:
            known = wider.get(variant.reads, {})
            hints = {name: v.keepsake for name, v in known.items() if v.keepsake is not None}
            found = prove_all(machine, variant, hints)
            kept = {v.claim: _carried_over(machine, v, known.get(v.claim), check) for v in found}
        verdicts = tuple(kept[p.name] for p in machine.properties)
        if variant.reads == "this cycle":
            in_time[variant.starts] = verdicts
        wider[variant.reads] = kept
        yield Proved(variant, machine, verdicts)


def _carried_over(machine: Machine, verdict: Verdict, wide: Verdict | None, check: Check) -> Verdict:
    """The verdict, or a better one that was found where memory may hold anything, once its proof is checked here."""
    if wide is None or wide.answer != "proved" or wide.certificate is None or verdict.answer == "refuted":
        return verdict
    if verdict.answer == "proved" and verdict.allowance <= wide.allowance:
        return verdict
    mine = decided_by(machine, wide)
    property_ = next(p for p in mine.properties if p.name == wide.claim)
    if not check(cone(mine, property_, facts=wide.certificate.facts), wide.certificate.invariant):
        return verdict
    # whether less would do was not decided here
    tried = (replace(verdict, answer="unknown"),) if wide.allowance else ()
    return replace(wide, seconds=verdict.seconds, tried=tried)


def differing(proved: Iterable[Proved]) -> tuple[str, ...]:
    """The properties that hold on one kind of device and not on another."""
    answers: dict[str, set[str]] = {}
    for p in proved:
        for v in p.verdicts:
            answers.setdefault(v.claim, set()).add(v.answer)
    return tuple(name for name, found in answers.items() if "proved" in found and "refuted" in found)
