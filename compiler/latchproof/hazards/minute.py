"""How long a rule flies the model in any minute, all its engagements together (H16).

No promise adds up times. But an engagement lasts for so long at the most (H28), and how often one begins can be
promised: those of which some part lies in a minute have begun within that minute and the longest engagement before it.
"""

from collections.abc import Iterable, Iterator
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.model import Check, Remedy
from latchproof.hazards.promise import amount, and_also, claim, kind, off, on, one, own, words
from latchproof.hazards.remedies import unused_name
from latchproof.hazards.site import Site, acts
from latchproof.hazards.switched import obeying
from latchproof.hazards.takers import Actor, seconds, timed_out
from latchproof.hazards.vocabulary import fact
from latchproof.rules import expressions as e
from latchproof.rules.model import LengthOf, Scope, StartsAtMost

LONGEST = Fraction(8)
"""Seconds that a rule may fly the model at a stretch: common practice, no source."""
MINUTE = Fraction(60)


def in_a_minute(site: Site, several: Iterable[Actor]) -> Iterator[Check]:
    """Checked only where the file says how long is too long: no figure for it is common practice."""
    stated, stretch = fact(site, "longest_in_a_minute"), fact(site, "longest_engagement")
    if stated is None:
        return
    usual = LONGEST if stretch is None else stretch.low
    longest = min(usual, stated.low)
    if longest <= 0:
        return
    for x in several:
        if longest < usual:
            yield _stretch(site, x, longest)
        yield _often(site, x, int(stated.low // longest), longest)


def _stretch(site: Site, x: Actor, longest: Fraction) -> Check:
    """Where not even the longest engagement fits into what a minute may have."""
    said, most = seconds(longest), e.Duration(amount(longest, "s", x.span), span=x.span)
    form = LengthOf(acts(x), "most", most, span=x.span)
    made = claim(f"H16 {x.name} stretch", f"{x.name} acts for at most {said} in any minute, and so at a stretch",
                 f"length of {x.name}.acting at most {said}", form)  # fmt: skip
    return Check("H16", x.name, made, site.rules, timed_out(site, x, longest))


def _often(site: Site, x: Actor, count: int, longest: Fraction) -> Check:
    window = seconds(MINUTE + longest)
    times = "once" if count == 1 else f"{count} times"
    gated = site.arm if site.arm is not None and x in obeying(site, site.arm) else None
    form = StartsAtMost(acts(x), count, e.Duration(amount(MINUTE + longest, "s", x.span), span=x.span), span=x.span)
    made = claim(
        f"H16 {x.name} minute",
        f"{x.name} begins at most {times} in {window}{'' if gated is None else f' while {on(site, gated)}'}: with "
        f"{seconds(longest)} at a stretch that is at most {seconds(count * longest)} in any minute",
        f"starts of {x.name}.acting at most {count} in {window}"
        + ("" if gated is None else f"  while {on(site, gated)}"),
        form,
        scope=None if gated is None else Scope("while", gated.signal, span=gated.span),
    )
    return Check("H16", x.name, made, site.rules, _counted(site, x, count, longest))


def _counted(site: Site, x: Actor, count: int, longest: Fraction) -> tuple[Remedy, ...]:
    """After so many engagements none, before the guard was switched off; or before a time in which none was wanted."""
    if not own(x.name):
        return ()
    name, wanted = unused_name(site, f"{x.name}_turns"), one(words(site, x.condition), x.condition)
    gated = site.arm if site.arm is not None and x in obeying(site, site.arm) else None
    clears = off(site, gated) if gated is not None else f"(not {wanted}) for {seconds(MINUTE + longest)}"
    text = f"counter {name} {{\n  counts {wanted}\n  clears when {clears}\n  at most {count + 1}\n}}"
    narrowed = and_also(site, x.condition, f"{name} is at most {count}")
    change = edits.instead(site, x.condition, narrowed, where=f"{kind(x)} {x.name}")
    until = "the guard was switched off" if gated is not None else "nothing called for it for more than a minute"
    times = "one turn" if count == 1 else f"{count} turns"
    return (Remedy(f"after {times} of {x.name} none before {until}", (change, edits.statement(site, text))),)
