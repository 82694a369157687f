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
from latchproof.strength.flights import Flight, is_can, reached
from latchproof.strength.looking import looked
from latchproof.strength.weakening import Weakening

MOST = 10
"""Candidates that are tried for one weakening."""
FEW = 3
"""Those of them that the prover is asked about where no flight and no short search breaks any."""


def suggestion(
    rules: RuleSet, w: Weakening, flights: Sequence[Flight], workers: Workers, time_limit: float
) -> Claim | None:
    """The first candidate that does. A flight that breaks it with the rules as they are rules it out at once."""
    claims = _claims(rules, w)
    before, after = _machine(rules, claims), _machine(w.rules, claims)
    if before is None or after is None or not claims:
        return None
    wrong = _broken(before, flights)
    left = [c for c in claims if c.name not in wrong]
    known: tuple[Flight, ...] = tuple(flights)
    while left:
        broken = _broken(after, known)
        for claim in [c for c in left if c.name in broken]:
            if _answer(before, claim, workers, time_limit) == "proved":
                return claim
            left.remove(claim)
        wanted = [p for p in after.properties if p.kind == "safe" and any(c.name == p.name for c in left)]
        known = tuple(looked(after, wanted, workers, time_limit / 2))
        if not known:
            break
    for claim in left[:FEW]:
        answers = (_answer(after, claim, workers, time_limit), _answer(before, claim, workers, time_limit))
        if answers == ("refuted", "proved"):
            return claim
    return None


def _broken(machine: Machine, flights: Sequence[Flight]) -> frozenset[str]:
    """Claims that one of the flights breaks."""
    seen = frozenset[str]().union(*(reached(machine, f) for f in flights))
    return frozenset(name for name in seen if not is_can(machine, name))


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
