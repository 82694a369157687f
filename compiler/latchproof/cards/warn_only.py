"""A stage that only warns: what has to be proved of it, that it leaves every channel to the pilot."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from latchproof.listing.model import Listing
from latchproof.listing.plain import word
from latchproof.machine.actions import all_acting
from latchproof.prove.verdicts import Verdict
from latchproof.rules import expressions as e
from latchproof.rules.model import Always, Claim, RuleSet

_NAME = "left to the pilot"
"""Begins the name of a claim; none in a file has a blank in it."""


def is_warn_only(rules: RuleSet, stage: str) -> bool:
    return any(s.name == stage and s.warn_only for s in rules.stages)


def claims(rules: RuleSet, whole: RuleSet | None = None) -> tuple[Claim, ...]:
    """One for each channel: nothing of these rules ever acts on it. And one for each stick that the `whole` rules,
    of which these are a stage, act on before it is mixed."""
    acted = all_acting(whole or rules)
    names = [(c.name, c.span) for c in rules.channels]
    names += [(c.name, c.span) for c in rules.controls if c.name in acted]
    return tuple(
        Claim(
            f"{_NAME} {name}",
            f"{word(name)} is left to the pilot, whatever happens",
            f"always {name} is free",
            Always(e.ChannelState(name, "free", span=span), span=span),
            span=span,
        )
        for name, span in names
    )


def with_claims(rules: RuleSet, whole: RuleSet | None = None) -> RuleSet:
    """The stage's rules with these claims before its own."""
    return replace(rules, claims=(*claims(rules, whole), *rules.claims))


def only_claims(rules: RuleSet, whole: RuleSet | None = None) -> RuleSet:
    """The stage's rules with these claims and no others."""
    return replace(rules, claims=claims(rules, whole))


@dataclass(frozen=True, slots=True)
class Left:
    """`proved` and `open`: names of channels (and sticks) that are proved to be left to the pilot, and that are not."""

    proved: tuple[str, ...]
    open: tuple[str, ...]


def left(verdicts: Sequence[Verdict]) -> Left:
    mine = [v for v in verdicts if v.claim.startswith(_NAME)]
    named = [(v.claim.removeprefix(_NAME).strip(), v.answer == "proved") for v in mine]
    return Left(tuple(n for n, fine in named if fine), tuple(n for n, fine in named if not fine))


def is_ours(name: str) -> bool:
    """Whether a claim or a promise is one that every warn-only stage makes, not one of the rule file."""
    return name.startswith(_NAME)


def missing_here(verdicts: Sequence[Verdict]) -> frozenset[str]:
    """Claims of the file that do not hold in the stage."""
    return frozenset(v.claim for v in verdicts if v.answer == "refuted" and not is_ours(v.claim))


def spoken(listing: Listing, elsewhere: Collection[str]) -> Listing:
    """The listing of a warn-only stage. What is proved of the full rules and does not hold here (`elsewhere`, names of
    claims) is no fault of the stage: it is told as what this stage does not do yet."""
    needs = {word(name) for name in elsewhere}
    promises = tuple(
        replace(p, state="not in this stage") if p.state == "FAILS" and p.name in needs else p for p in listing.promises
    )
    made = replace(listing, promises=promises)
    ours = [p for p in promises if is_ours(p.name)]
    others = [p for p in promises if not is_ours(p.name)]
    absent = sum(p.state == "not in this stage" for p in others)
    kept = sum(p.state == "proved" for p in others)
    if not ours or any(p.state != "proved" for p in ours) or kept + absent < len(others):
        return made
    said = "PROVED for this stage: nothing in it ever acts on a channel, it only warns."
    if others:
        said += f" Of the {len(others)} promises of the full rules it keeps {kept}"
        one = "needs what acts, and is" if absent == 1 else "need what acts, and are"
        said += f"; {absent} {one} proved of the full rules only." if absent else "."
    return replace(made, state=said)
