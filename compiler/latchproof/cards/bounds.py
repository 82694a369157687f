"""For how long a rule may act at a stretch: the shortest of some times that can be proved."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from math import ceil

from latchproof.cards.told import Actor, Told
from latchproof.hazards.promise import amount
from latchproof.hazards.site import Site, acts
from latchproof.machine.allowance import longest_time
from latchproof.machine.spans import known_spans, span_of
from latchproof.prove.verdicts import Verdict
from latchproof.rules import expressions as e
from latchproof.rules.model import Claim, LengthOf, RuleSet

MOST = 4
"""Times that are tried for each rule."""

FINEST = Fraction(1, 10)


def questions(site: Site) -> RuleSet:
    """The rules with a claim for each time in question and no others: that the rule never acts longer."""
    return replace(site.rules, claims=tuple(_claims(site)))


def bounds(site: Site, verdicts: Sequence[Verdict]) -> Mapping[str, Fraction]:
    """For each rule the shortest time that was proved, in seconds."""
    proved = {v.claim: v.allowance for v in verdicts if v.answer == "proved"}
    found: dict[str, Fraction] = {}
    for x in site.guards:
        for name, seconds in _times(site, x):
            if name in proved:
                most = seconds + (longest_time(proved[name], site.rules) if proved[name] else 0)
                found[x.name] = min(most, found.get(x.name, most))
    return found


def _claims(site: Site) -> Iterator[Claim]:
    for x in site.guards:
        for name, seconds in _times(site, x):
            most = e.Duration(amount(seconds, "s", x.span), span=x.span)
            form = LengthOf(acts(x), "most", most, span=x.span)
            yield Claim(name, None, f"length of {x.name}.acting at most {seconds} s", form, span=x.span)


def _times(site: Site, x: Actor) -> Iterator[tuple[str, Fraction]]:
    """Time-outs of the latches behind it, a little more than those, and the times that promises speak of."""
    cycles = site.rules.cycle.longest * 2
    exact = [t for latch in Told(site).latches(x) if latch.timeout and (t := _longest(site, latch.timeout.duration))]
    tried = [ceil((t + cycles) / FINEST) * FINEST for t in exact]
    forms = [c.form for c in site.rules.claims]
    promised = [f.duration for f in forms if isinstance(f, LengthOf) and f.bound == "most"]
    tried += [t for d in promised if (t := _longest(site, d))]
    for k, seconds in enumerate(sorted(set(tried))[:MOST]):
        yield f"at a stretch {x.name} {k}", seconds


def _longest(site: Site, d: e.Duration) -> Fraction | None:
    if d.in_cycles:
        return None
    return span_of(d.amount, site.rules, known_spans(site.rules))[1]
