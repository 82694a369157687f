"""`latchproof cards --since OLD`: what a change of the rules or of the transmitter's description makes void."""

from argparse import Namespace
from typing import TYPE_CHECKING

from latchproof.cli import exits, output, transmitter_of
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.cards.since import Since, Version
    from latchproof.prove.workers import Workers
    from latchproof.readback.equal import Compared
    from latchproof.rules import RuleSet
    from latchproof.transmitter.model import Transmitter


def since_of(rules: "RuleSet", t: "Transmitter | None", args: Namespace, workers: "Workers") -> "Since | int":
    """An exit code if the earlier version cannot be read or does not fit."""
    from latchproof.cards.since import at_its_numbers, retuned, since, world_apart
    from latchproof.cli.rules_of import rules_of
    from latchproof.readback.equal import Differ

    before, was = rules, t
    if args.since is not None:
        found = rules_of(args.since, args)
        if found.rules is None:
            return found.code
        before = found.rules
    if args.since_transmitter is not None:
        chosen = transmitter_of.chosen(args.since_transmitter, args)
        if chosen.transmitter is None:
            return chosen.code
        was = chosen.transmitter
    old, new = _version(before, was), _version(rules, t)
    if old is None or new is None:
        return exits.FAULT
    same = tuned = None
    if not world_apart(old.rules, new.rules):
        same = _equal(at_its_numbers(old.entered), at_its_numbers(new.entered), workers, args)
        moved = retuned(before, rules)
        if isinstance(same, Differ) and moved is not None:
            tuned = _equal(at_its_numbers(moved), at_its_numbers(rules), workers, args)
    return since(old, new, same, tuned)


def _equal(one: "RuleSet", other: "RuleSet", workers: "Workers", args: Namespace) -> "Compared":
    from latchproof.readback.equal import equal

    return equal(one, other, workers, args.time_limit)


def _version(rules: "RuleSet", t: "Transmitter | None") -> "Version | None":
    from latchproof.cards.since import Version
    from latchproof.listing import build
    from latchproof.readback.pinned import pinned
    from latchproof.readback.sheet import as_shown, fitted_into
    from latchproof.transmitter.variants import on

    if t is None:
        fixed = pinned(rules)
        return Version(rules, fixed, build(fixed))
    fitted = fitted_into(rules, t)
    if fitted.misfits:
        output.say(f"latchproof: the rules {visible(rules.title)} do not fit into {visible(t.name)}; "
                   "latchproof listing says why")  # fmt: skip
        return None
    there = as_shown(fitted.rules, t)
    return Version(on(rules, t)[0], fitted.rounded, build(there, None, "", t, rules))
