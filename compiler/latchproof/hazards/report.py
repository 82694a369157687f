"""All hazards asked of one rule set, in the order of their numbers, and what was found."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from latchproof.hazards.catalogue import CHECKS
from latchproof.hazards.model import Check, Finding, NotNamed, Outcome, Seen
from latchproof.hazards.site import Site
from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Accepted, RuleSet

Prover = Callable[[Sequence[Machine]], Iterator[tuple[int, Verdict]]]
"""Proves every property of some machines, in any order: verdicts, each with the place of its machine."""


def outcomes(site: Site, hazards: Iterable[str] = CHECKS) -> tuple[Outcome, ...]:
    """What there is to say about each of these hazards: at least one thing each, in the order of their numbers."""
    return tuple(outcome for hazard in sorted(hazards) for outcome in CHECKS[hazard](site))


def machines(checks: tuple[Check, ...]) -> tuple[Machine, ...]:
    """One machine for each variant of the rules, with only the properties that are asked for."""
    groups: defaultdict[str, list[Check]] = defaultdict(list)
    for check in checks:
        groups[check.variant].append(check)
    return tuple(_machine(several[0].rules, several) for several in groups.values())


def _machine(rules: RuleSet, checks: list[Check]) -> Machine:
    claims = tuple(check.claim for check in checks if check.claim is not None)
    machine, found = compile_rules(replace(rules, claims=claims))
    if machine is None:
        raise AssertionError(found)
    wanted = {check.name for check in checks}
    return replace(machine, properties=tuple(p for p in machine.properties if p.name in wanted))


def examine(site: Site, prover: Prover, asked: Sequence[Outcome]) -> Iterator[Finding]:
    """What came of the outcomes, in their order; a check's as soon as it and all before it are settled."""
    checks = tuple(check for outcome in asked if isinstance(outcome, Check) for check in _with_choice(outcome))
    answers: dict[tuple[str, str], tuple[Machine, Verdict]] = {}
    verdicts = _answers(checks, prover)
    for outcome in asked:
        if not isinstance(outcome, Check):
            yield Finding(outcome, accepted=acceptance(site.rules, outcome))
            continue
        found = []
        for check in _with_choice(outcome):
            key = (check.variant, check.name)
            while key not in answers:
                variant, machine, verdict = next(verdicts)
                answers[variant, verdict.claim] = machine, verdict
            found.append(answers[key])
        other = None if outcome.otherwise is None else Finding(outcome.otherwise, *found[1])
        yield Finding(outcome, *found[0], acceptance(site.rules, outcome), other)


def _with_choice(check: Check) -> tuple[Check, ...]:
    """The check, and that of the other way, if there is a choice."""
    return (check,) if check.otherwise is None else (check, check.otherwise)


def _answers(checks: tuple[Check, ...], prover: Prover) -> Iterator[tuple[str, Machine, Verdict]]:
    variants = tuple(dict.fromkeys(check.variant for check in checks))
    made = machines(checks)
    for place, verdict in prover(made):
        yield variants[place], made[place], verdict


def acceptance(rules: RuleSet, outcome: Outcome) -> Accepted | None:
    """The line of the file that lives with this hazard where it was looked for, or could not be."""
    match outcome:
        case Check(about=about) | Seen(about=about):
            places: tuple[str | None, ...] = (about, None)
        case NotNamed():
            places = (None,)
        case _:
            return None
    lines = {a.rule: a for a in reversed(rules.accepted) if a.hazard == outcome.hazard}
    return next((lines[place] for place in places if place in lines), None)


def unneeded(rules: RuleSet, found: Iterable[Finding], hazards: Iterable[str]) -> tuple[Accepted, ...]:
    """What the file accepts though it does not occur; `found` is all that came of these hazards."""
    used = [f.accepted for f in found if f.state in ("fails", "not decided", "not named")]
    return tuple(a for a in rules.accepted if a.hazard in set(hazards) and a not in used)
