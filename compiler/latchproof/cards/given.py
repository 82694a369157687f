"""Everything that the cards are made of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from latchproof.cards.told import Told
from latchproof.cards.warn_only import Left
from latchproof.hazards.model import Finding, Procedure
from latchproof.hazards.site import Site
from latchproof.listing.build import drafted
from latchproof.listing.desk import Desk
from latchproof.listing.model import Listing
from latchproof.rules.model import RuleSet, Stage
from latchproof.transmitter.model import Transmitter


@dataclass(frozen=True)
class Staged:
    """A stage of the file as it is flown. `left`: of a warn-only stage, which channels are proved to be left alone;
    None where that has not been asked."""

    stage: Stage
    site: Site
    listing: Listing
    left: Left | None = None


@dataclass(frozen=True)
class Given:
    """`listing` is that of the full rules, and has what is proved of them. `findings`: what the search for the usual
    dangers found, None if it was not made. `bounds`: for a rule, the seconds for which it is proved to act at most at
    a stretch; no entry where nothing is proved."""

    site: Site
    listing: Listing
    stages: tuple[Staged, ...] = ()
    procedures: tuple[Procedure, ...] = ()
    findings: tuple[Finding, ...] | None = None
    bounds: Mapping[str, Fraction] = field(default_factory=dict)
    transmitter: Transmitter | None = None

    @property
    def rules(self) -> RuleSet:
        return self.site.rules

    @cached_property
    def told(self) -> Told:
        return Told(self.site)

    @cached_property
    def desk(self) -> Desk:
        return drafted(self.rules, self.transmitter)

    def steps(self, *when: str) -> tuple[Procedure, ...]:
        return tuple(p for p in self.procedures if p.when in when)
