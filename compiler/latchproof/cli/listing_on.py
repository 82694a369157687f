"""`latchproof listing --transmitter`: fitted to a transmitter, read back, proved of what then stands in it."""

from argparse import Namespace
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from latchproof.cli import exits, output
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.fit.model import Misfit
    from latchproof.listing.model import Listing
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules import RuleSet
    from latchproof.transmitter.model import Transmitter

READ_BACK = "Read back from what is printed here, it does exactly what the rules do at these numbers: that is proved."
INHERITED = "Only numbers that may be tuned were changed, within their range, so the proofs of the rule file hold here."
AGAIN = {
    "another device": "this transmitter is not the one of the rule file",
    "another pass": "one pass takes another time than in the rule file",
    "other numbers": "more numbers than those that may be tuned were rounded",
}


def listing_on(
    rules: "RuleSet", t: "Transmitter", args: Namespace, workers: "Workers", asked: "list[RuleSet] | None" = None
) -> "tuple[Listing, tuple[Verdict, ...] | None] | int":
    """The listing, and the verdicts on its promises if they were looked at; else the exit code of what went wrong.

    What they were all asked of is added to `asked`.
    """
    from latchproof.cli.listing import broken, not_equal, patience, proved
    from latchproof.listing import build
    from latchproof.readback.equal import Equal, equal
    from latchproof.readback.inherit import REFUSED, inherits
    from latchproof.readback.raised import raised
    from latchproof.readback.sheet import as_shown, fitted_into, on_device
    from latchproof.transmitter.variants import on, to_ask

    fitted = fitted_into(rules, t)
    if fitted.misfits:
        return _misfits(fitted.misfits, t)
    there = as_shown(fitted.rules, t)
    first = build(there, None, args.stage or "", t, rules)
    back = raised(first.entries, there, t)
    if isinstance(back, tuple):
        return broken(back)
    compared = equal(fitted.rounded, back, workers, patience(args))
    if not isinstance(compared, Equal):
        return not_equal(compared, args)
    why = inherits(rules, fitted.rounded, on(rules, t))
    if why in REFUSED:
        output.say(f"latchproof: internal error: at the numbers that were chosen there is {why} that was not kept to")
        return not_equal(None)
    verdicts: tuple[Verdict, ...] | None = None
    if not args.unproved:
        kinds = (rules,) if why == "inherited" else to_ask(back, t)
        if asked is not None:
            asked += [x for x in kinds if len(x.claims) == len(rules.claims)]
        verdicts = _all([proved(x, args, workers) for x in kinds])
    again = f"The promises were asked of what is printed here, since {AGAIN[why]}." if why in AGAIN else INHERITED
    proofs = again if verdicts is not None else "The promises have not been looked at."
    kind = on(back, t)[0]
    there = replace(there, device=kind.device, cycle=kind.cycle)
    listing = build(there, verdicts, args.stage or "", t, replace(rules, tunes=fitted.rounded.tunes))
    return on_device(replace(listing, read_back=READ_BACK), t, rules, fitted, proofs), verdicts


def _all(several: "list[tuple[Verdict, ...]]") -> "tuple[Verdict, ...]":
    """Of each promise the worst answer. The first of them has all; the others may have fewer."""
    worst = {"proved": 0, "unknown": 1, "refuted": 2}
    first, *others = several
    asked = {v.claim for v in first}
    found = {v.claim: v for v in first}
    for v in (v for more in others for v in more if v.claim in asked):
        if worst[v.answer] > worst[found[v.claim].answer]:
            found[v.claim] = v
    return tuple(found.values())


def _misfits(misfits: "Sequence[Misfit]", t: "Transmitter") -> int:
    from latchproof.fit.words import misfit

    output.say(f"latchproof: the rules do not fit into {visible(t.name)}:")
    for x in misfits:
        output.say(f"  - {visible(misfit(x))}")
    output.say("Nothing is listed.")
    return exits.FAULT
