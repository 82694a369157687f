"""All cards of a rule set, or some of them."""

from collections.abc import Collection

from latchproof.cards.before_flight import before_flight
from latchproof.cards.cautions import in_short
from latchproof.cards.failsafe import failsafe
from latchproof.cards.first_flight import first_flight
from latchproof.cards.given import Given
from latchproof.cards.kinds import KINDS, Kind
from latchproof.cards.model import Card, Cards
from latchproof.cards.officer import officer
from latchproof.cards.since import Since
from latchproof.cards.voids import voids


def build(g: Given, since: Since | None = None, only: Collection[Kind] = KINDS) -> Cards:
    x = g.listing
    cards = tuple(_card(kind, g, since) for kind in KINDS if kind in only)
    words = " ".join(filter(None, x.fingerprint))
    return Cards(x.title, x.version, words, x.way_out, x.state, x.proved_if, in_short(x.way_out), cards, x.checked)


def _card(kind: Kind, g: Given, since: Since | None) -> Card:
    match kind:
        case "before-flight":
            return before_flight(g)
        case "failsafe":
            return failsafe(g)
        case "first-flight":
            return first_flight(g)
        case "officer":
            return officer(g)
        case "voids":
            return voids(since)
