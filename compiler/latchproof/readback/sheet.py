"""What only a known transmitter adds to a listing: what serves as what, what was rounded, what is in the way."""

from collections import Counter
from dataclasses import replace

from latchproof.fit import words
from latchproof.fit.fit import fit
from latchproof.fit.model import Fitted
from latchproof.fit.room import crowded, savings, tally
from latchproof.listing.build import drafted
from latchproof.listing.entered import field_of
from latchproof.listing.model import Listing, OnDevice
from latchproof.listing.plain import word
from latchproof.rules.expressions import Reading
from latchproof.rules.model import RuleSet, Sensor
from latchproof.transmitter.conflicts import conflicts, replaces
from latchproof.transmitter.finding import Finding
from latchproof.transmitter.hands import Serving, serving
from latchproof.transmitter.model import Kind, Transmitter


def fitted_into(rules: RuleSet, t: Transmitter) -> Fitted:
    """Fitted, and the entries of its listing counted: what is too many is a misfit like any other."""
    fitted = fit(rules, t)
    if fitted.misfits or not crowded(_counted(fitted.rules, t), t):
        return fitted

    def count(fewer: RuleSet) -> Counter[Kind]:
        return _counted(fit(fewer, t).rules, t)

    return replace(fitted, misfits=crowded(_counted(fitted.rules, t), t, savings(rules, count)))


def _counted(rules: RuleSet, t: Transmitter) -> Counter[Kind]:
    """What the listing has, entry by entry."""
    return tally([(d.section, d.kind) for d in drafted(as_shown(rules, t), t).drafts.values()])


def as_shown(rules: RuleSet, t: Transmitter) -> RuleSet:
    """With sensors in the unit in which the transmitter takes thresholds for them; no number changes."""
    return replace(rules, sensors=tuple(_shown(s, t) for s in rules.sensors))


def _shown(s: Sensor, t: Transmitter) -> Sensor:
    field = field_of(t, Reading(s.name, span=s.span), s.unit.dimension)
    return s if field is None else replace(s, unit=field.shown)


def on_device(listing: Listing, t: Transmitter, rules: RuleSet, fitted: Fitted, proofs: str) -> Listing:
    """`rules`: those of the rule file; `proofs`: where the promises come from, in a sentence."""
    # Pulses may have been made so that they go with it; all else is a matter of the rules as they were written.
    found = tuple(f for f in conflicts(t, rules) if f.subject != "pulse")
    found += tuple(f for f in conflicts(t, fitted.rules) if f.subject == "pulse" and not _held_back(fitted))
    made = OnDevice(
        t.name,
        proofs,
        tuple(_hand(s) for s in serving(t, rules)),
        tuple(words.rounding(r) for r in fitted.roundings),
        tuple(words.change(c) for c in fitted.changes),
        tuple(_finding(f) for f in found if f.weight != "stops"),
        tuple(f"{r.has.name}: {r.do}" for r in replaces(t, rules)),
        tuple(_finding(f) for f in found if f.weight == "stops"),
    )
    return replace(listing, on=made)


def _held_back(fitted: Fitted) -> bool:
    """Whether the causes of pulses are held back while they run, so that it does not matter if one begins anew."""
    return any(c.kind == "pulse again" for c in fitted.changes)


def _hand(s: Serving) -> str:
    name = word(s.name)
    if s.hand is None:
        return f"{name}: the description does not say what serves as it"
    ways = [f"{word(p)} is {way}" if way else f"{word(p)} is ________" for p, way in s.ways]
    turned = ", shown the other way round" if s.hand.turned else ""
    return f"{name}: {s.hand.name}{turned}" + (f"; {', '.join(ways)}" if ways else "")


def _finding(f: Finding) -> str:
    return f"{f.text}: {f.do}" if f.do else f.text
