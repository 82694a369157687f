"""Two drives that no priority decides between and that were shown to meet: an error in the rules, with its places."""

from latchproof.diagnostics import Diagnostic, Label
from latchproof.machine.model import Fight, Machine, Property
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Drive, RuleSet
from latchproof.source import Span


def fault(verdict: Verdict, machine: Machine) -> Diagnostic | None:
    """The error that a failing unwritten promise stands for; None for every other verdict."""
    fight = _property(verdict, machine).unwritten
    if not isinstance(fight, Fight) or verdict.answer != "refuted":
        return None
    channel, one, other = fight.channel, fight.one, fight.other
    places = _drives(machine.rules, channel, one)
    if one != other:
        places = (places[0], _drives(machine.rules, channel, other)[0])
        title = f"{one} and {other} drive {channel} to different values at once"
        hints: tuple[str, ...] = (
            f"say which goes first: priority {other} over {one}",
            f"priority {one} over {other}",
        )
    else:
        title = f"two actions of {one} drive {channel} to different values at once"
        hints = ("make them two rules and say which goes first with `priority`",)
    labels = tuple(Label(place, text) for place, text in zip(places, (f"{one} ...", f"... and {other}"), strict=False))
    return Diagnostic("drives-meet", title, labels, hints)


def _property(verdict: Verdict, machine: Machine) -> Property:
    return next(p for p in machine.properties if p.name == verdict.claim)


def _drives(rules: RuleSet, channel: str, name: str) -> tuple[Span, ...]:
    """Where a rule or sequence drives the channel."""
    actions = [a for r in rules.rules if r.name == name for a in r.actions]
    actions += [a for s in rules.sequences if s.name == name for p in s.phases for a in p.actions]
    return tuple(a.span for a in actions if isinstance(a, Drive) and a.channel == channel)
