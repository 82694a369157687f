"""The listing of a stage that only warns: proved to leave every channel to the pilot, and told as what it is."""

from argparse import Namespace
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from latchproof.cli.rules_of import Found
    from latchproof.listing.model import Listing
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules import RuleSet


def to_prove(rules: "RuleSet", found: "Found", args: Namespace) -> "RuleSet":
    """The rules, with the promises that a warn-only stage makes if this is one."""
    from latchproof.cards.warn_only import with_claims

    return with_claims(rules, found.whole) if _warns(found, args) else rules


def told(
    made: "tuple[Listing, tuple[Verdict, ...] | None]", found: "Found", args: Namespace, workers: "Workers"
) -> "tuple[Listing, tuple[Verdict, ...] | None]":
    """The same, where what the file promises of actions is not called a failure of a stage without any."""
    from latchproof.cards.warn_only import missing_here, spoken
    from latchproof.cli.listing import proved

    listing, verdicts = made
    if not _warns(found, args) or verdicts is None:
        return made
    assert found.whole is not None
    missing = missing_here(verdicts)
    asked = replace(found.whole, claims=tuple(c for c in found.whole.claims if c.name in missing))
    full = proved(asked, args, workers) if missing else ()
    elsewhere = {v.claim for v in full if v.answer == "proved"} & missing
    return spoken(listing, elsewhere), tuple(v for v in verdicts if v.claim not in elsewhere)


def _warns(found: "Found", args: Namespace) -> bool:
    from latchproof.cards.warn_only import is_warn_only

    return found.whole is not None and is_warn_only(found.whole, args.stage)
