"""Promises that nobody writes because they seem to go without saying: a latch can be set and can let go, what a rule
does can happen, and it can happen again. What cannot is warned of, at its place."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from latchproof.diagnostics import Diagnostic, Label
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Can, Claim, Drive, Latch, Limit, Move, Rule, RuleSet, Sequence
from latchproof.source import Span
from latchproof.strength.questions import Answer


@dataclass(frozen=True, slots=True)
class Wish:
    """A question with the warning that stands for the answer "no".

    `needs` is the question that must be answered "yes" first: what can never be set is not said to stay set, too.
    """

    question: Claim
    warning: Diagnostic
    needs: str | None = None


def wishes(rules: RuleSet) -> tuple[Wish, ...]:
    """In the order of the text within each kind."""
    made: list[Wish] = []
    for latch in rules.latches:
        made += _latch(latch)
    for rule in rules.rules:
        made += _rule(rule)
    for sequence in rules.sequences:
        made += _sequence(sequence)
    return tuple(made)


def warnings(asked: tuple[Wish, ...], answers: Mapping[str, Answer]) -> tuple[Diagnostic, ...]:
    """Only what is proved to be impossible is warned of."""

    def no(w: Wish) -> bool:
        first = w.needs is None or answers.get(w.needs) == "yes"
        return first and answers.get(w.question.name) == "no"

    return tuple(w.warning for w in asked if no(w))


def _latch(x: Latch) -> Iterator[Wish]:
    on = e.NamedSignal(x.name, span=x.span)
    off = e.Not(on, span=x.span)
    can_set = _can(f"latch {x.name} is set", (on,), x.span)
    yield Wish(
        can_set,
        warn(
            "never-set",
            f"{x.name} can never be set",
            x.span,
            "whatever the pilot and the air do, it stays as it is at power-up",
            "see whether what sets it can ever be true while nothing resets it",
        ),
    )
    if x.resets or x.timeout is not None:
        yield Wish(
            _can(f"latch {x.name} lets go", (on, off), x.span),
            warn(
                "never-resets",
                f"once {x.name} is set, it can never be reset",
                x.span,
                "nothing that resets it can happen while it is set",
                "see whether what resets it can ever be true after what sets it",
            ),
            can_set.name,
        )
        yield Wish(
            _can(f"latch {x.name} is set again", (on, off, on), x.span),
            warn(
                "never-again",
                f"{x.name} can be set once, and never again",
                x.span,
                "after the first time nothing sets it anymore, until power is switched off and on",
                "if that is meant, write it down as a promise: starts of it at most 1 in the longest flight",
            ),
            f"latch {x.name} lets go",
        )


def _rule(x: Rule) -> Iterator[Wish]:
    yield from _acts(x.name, f"rule {x.name}", e.NamedSignal(x.name, span=x.span), x.condition.span, "`while`")
    yield from _actions(x.name, x.actions, f"rule {x.name}")


def _sequence(x: Sequence) -> Iterator[Wish]:
    condition = e.NamedSignal(x.name, span=x.span)
    yield from _acts(x.name, f"sequence {x.name}", condition, x.condition.span, "`while`")
    for p in x.phases:
        phase = e.NamedSignal(f"{x.name}.{p.name}", span=p.span)
        yield Wish(
            _can(f"phase {x.name}.{p.name}", (phase,), p.span),
            warn(
                "never-acts",
                f"{x.name} never comes to its phase {p.name}",
                p.span,
                "the phase before it never ends, or all is over before",
                f"see whether the phase before can end while {x.name} goes on",
            ),
            f"sequence {x.name}",
        )
    yield from _actions(x.name, tuple(a for p in x.phases for a in p.actions), f"sequence {x.name}")


def _acts(name: str, key: str, on: e.Signal, span: Span, what: str) -> Iterator[Wish]:
    off = e.Not(on, span=span)
    yield Wish(
        _can(key, (on,), span),
        warn(
            "never-acts",
            f"{name} can never act",
            span,
            f"what stands behind its {what} can never be true",
            "see which part of it can never be true together with the others",
        ),
    )
    yield Wish(
        _can(f"{key} ends", (on, off), span),
        warn(
            "never-ends",
            f"once {name} acts, it can never stop",
            span,
            f"what stands behind its {what} stays true for ever",
            "give it a way out: a switch, a release height, a time-out",
        ),
        key,
    )
    yield Wish(
        _can(f"{key} acts again", (on, off, on), span),
        warn(
            "never-again",
            f"{name} can act once, and never again",
            span,
            "after the first time it does nothing anymore, until power is switched off and on",
            "if that is meant, write it down as a promise: starts of it at most 1 in the longest flight",
        ),
        f"{key} ends",
    )


def _actions(name: str, actions: tuple[Drive | Move | Limit | Announce, ...], key: str) -> Iterator[Wish]:
    places: dict[str, Span] = {}
    for a in actions:
        if isinstance(a, Drive | Move | Limit):
            places.setdefault(a.channel, a.span)
    for channel, span in places.items():
        yield Wish(
            _can(f"{key} on {channel}", (e.NamedSignal(f"{name}.acting@{channel}", span=span),), span),
            warn(
                "never-acts",
                f"{name} never comes to act on {channel}",
                span,
                "it is over before this action begins, or its amount is nothing",
                f"compare how long {name} lasts with the `after` of this action",
            ),
            key,
        )


def _can(name: str, stages: tuple[e.Signal, ...], span: Span) -> Claim:
    return Claim(name, None, "", Can(stages, span=span), span=span)


def warn(code: str, title: str, span: Span, label: str, hint: str) -> Diagnostic:
    return Diagnostic(code, title, (Label(span, label),), (hint,), "warning")
