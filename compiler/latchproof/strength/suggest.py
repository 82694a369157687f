"""A claim that would notice a weakening: proved of the rules as they are, and broken by the weakened ones."""

from collections.abc import Sequence
from dataclasses import replace

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.prover import prove
from latchproof.prove.workers import Workers
from latchproof.rules.model import (
    Always,
    Before,
    Can,
    Claim,
    Form,
    LengthOf,
    Never,
    QuietAfter,
    RuleSet,
    StartsAtMost,
    StepOf,
    Whenever,
)
from latchproof.strength.candidates import promises
from latchproof.strength.flights import Flight, reached
from latchproof.strength.weakening import Weakening

MOST = 10
"""Candidates that are tried for one weakening."""


def suggestion(
    rules: RuleSet, w: Weakening, flights: Sequence[Flight], workers: Workers, time_limit: float
) -> Claim | None:
    """The first candidate that does. A flight that breaks it with the rules as they are rules it out at once."""
    claims = _claims(rules, w)
    before, after = _machine(rules, claims), _machine(w.rules, claims)
    if before is None or after is None:
        return None
    wrong = frozenset[str]().union(*(reached(before, f) for f in flights))
    broken = frozenset[str]().union(*(reached(after, f) for f in flights))
    for claim in claims:
        possible = isinstance(claim.form, Can)
        if claim.name in wrong and not possible:
            continue
        notices = claim.name in broken and not possible
        if not notices and _answer(after, claim, workers, time_limit) != "refuted":
            continue
        if _answer(before, claim, workers, time_limit) == "proved":
            return claim
    return None


def _answer(machine: Machine, claim: Claim, workers: Workers, time_limit: float) -> str:
    property_ = next(p for p in machine.properties if p.name == claim.name)
    return prove(machine, property_, claim, workers, time_limit).answer


def _machine(rules: RuleSet, claims: tuple[Claim, ...]) -> Machine | None:
    machine, _ = compile_rules(replace(rules, claims=claims))
    return machine


def _claims(rules: RuleSet, w: Weakening) -> tuple[Claim, ...]:
    taken = {c.name for c in rules.claims}
    made: list[Claim] = []
    for form, scope in dict.fromkeys(promises(w, rules)):
        if len(made) == MOST:
            break
        base = f"{w.place.name.replace('.', '_')}_{_word(form)}"
        name = next(n for k in range(1, 100) if (n := base if k == 1 else f"{base}_{k}") not in taken)
        taken.add(name)
        made.append(Claim(name, None, "", form, scope, span=w.span))
    return tuple(made)


def _word(form: Form) -> str:
    match form:
        case Never():
            return "never"
        case Always():
            return "always"
        case Whenever():
            return "follows"
        case Before():
            return "comes_after"
        case LengthOf():
            return "lasts"
        case QuietAfter():
            return "rests"
        case Can():
            return "can"
        case StartsAtMost() | StepOf():
            return "holds"
