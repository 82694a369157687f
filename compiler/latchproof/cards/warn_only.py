"""A stage that only warns: what has to be proved of it, that it leaves every channel to the pilot."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from latchproof.listing.model import Listing, Promise
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


def about_actions(name: str) -> bool:
    """Whether a promise is one of the rule file, not one that every warn-only stage makes."""
    return not name.startswith(_NAME)


def spoken(listing: Listing) -> Listing:
    """The listing of a warn-only stage. What the file promises of actions cannot hold where nothing acts, and is no
    fault of the stage: it is told as what this stage does not do yet."""
    mine = [p for p in listing.promises if not about_actions(p.name)]
    promises = tuple(_not_here(p) if about_actions(p.name) else p for p in listing.promises)
    missing = sum(p.state == "not in this stage" for p in promises)
    others = [p for p in promises if about_actions(p.name)]
    open_ = [p for p in promises if p.state == "not decided"]
    if not mine or any(p.state != "proved" for p in mine) or open_:
        return replace(listing, promises=promises) if mine and listing.checked else listing
    kept = sum(p.state == "proved" for p in others)
    said = "PROVED for this stage: nothing in it ever acts on a channel, it only warns."
    if others:
        said += f" Of the {len(others)} promises of the full rules it keeps {kept}"
        said += f"; {missing} cannot hold while nothing acts." if missing else "."
    return replace(listing, state=said, promises=promises)


def _not_here(p: Promise) -> Promise:
    return replace(p, state="not in this stage") if p.state == "FAILS" else p
