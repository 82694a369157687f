"""What only a known transmitter adds to a listing: what serves as what, what was rounded, what is in the way."""

from collections import Counter
from collections.abc import Iterator
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
from latchproof.rules.suggest import listed
from latchproof.transmitter.conflicts import Replaces, conflicts, replaces
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
        tuple(_taken_out(r) for r in replaces(t, rules)),
        tuple(_finding(f) for f in found if f.weight == "stops"),
        tuple(_to_do(t, rules)) if any(p.state in ("FAILS", "not decided") for p in listing.promises) else (),
    )
    return replace(listing, on=made)


def _taken_out(r: Replaces) -> str:
    """What stops a motor stays until what is to take its place has been seen to do so."""
    if r.has.what != "throttle cut":
        return f"{r.has.name}: {r.do}"
    by = listed([word(name) for name in r.by])
    return (
        f"{r.has.name}: keep it until every promise of this list is proved and the list is entered and tried, "
        f"propeller off; then take it out, and test, with the propeller still off, that {by} does the same"
    )


_WHAT = {
    "reads": "which value an entry sees of another one",
    "starts": "what memories hold at power-up",
    "periods.logic": "how long one pass over the entries takes",
    "no_frame_before": "how long no telemetry arrives after power-up",
    "telemetry.stale": "what is left of a reading that is lost",
}
"""Answers of a description on which proofs hang, by their keys."""


def _to_do(t: Transmitter, rules: RuleSet) -> Iterator[str]:
    """What of the description may make the difference, and how to see it."""
    for key, what in _WHAT.items():
        if key in t.unknown and (rules.sensors or key not in ("no_frame_before", "telemetry.stale")):
            yield f"`{key}`, {what}: the description does not say, so the promises have to hold for all; try it out"
    cycle = (rules.cycle.shortest, rules.cycle.longest)
    differs = {
        "reads": t.reads != rules.device.reads, "starts": t.starts != rules.device.starts,
        "periods.logic": t.periods.logic != cycle,
    }  # fmt: skip
    for key, other in differs.items():
        if other and key not in t.unknown:
            yield f"`{key}`, {_WHAT[key]}: it is not so here as in the rule file, which may make the difference"
    yield (
        "`latchproof prove FILE --every-device` shows with which answers for `reads` and `starts` each promise of the "
        "rule file holds, before anything is made of other entries"
    )
    yield "what still fails when the description is complete needs other rules, or another transmitter"


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
