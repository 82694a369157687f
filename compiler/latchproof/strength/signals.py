"""A signal with one thing in it weakened: every way there is."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal, assert_never

from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet
from latchproof.source import Span
from latchproof.strength.amounts import finest, plus, unit_of, visible, worth
from latchproof.strength.logic import negated
from latchproof.strength.weakening import How, LeftOut, Replaced

Step = LeftOut | Replaced
TURNED: dict[e.Order, e.Order] = {"<": ">", "<=": ">=", ">": "<", ">=": "<="}


def weakened(x: e.Signal, rules: RuleSet) -> Iterator[tuple[Step, Span, e.Signal]]:
    """What is done, where, and the whole signal after it."""
    yield from _here(x, rules)
    match x:
        case e.AllOf(operands) | e.AnyOf(operands) | e.ExactlyOne(operands):
            for k, operand in enumerate(operands):
                for step, span, inner in weakened(operand, rules):
                    yield step, span, replace(x, operands=(*operands[:k], inner, *operands[k + 1 :]))
        case e.Not(operand) | e.Timed(_, operand) | e.Edge(_, operand) | e.PreviousSignal(operand):
            for step, span, inner in weakened(operand, rules):
                yield step, span, replace(x, operand=inner)
        case _:
            pass


def _here(x: e.Signal, rules: RuleSet) -> Iterator[tuple[Step, Span, e.Signal]]:
    def replaced(how: How, after: e.Signal) -> tuple[Step, Span, e.Signal]:
        return Replaced(how, x, after), x.span, after

    match x:
        case e.AllOf(operands) | e.AnyOf(operands) | e.ExactlyOne(operands):
            for k, operand in enumerate(operands):
                rest = (*operands[:k], *operands[k + 1 :])
                yield (
                    LeftOut(operand, _joined(x)),
                    operand.span,
                    rest[0] if len(rest) == 1 else replace(x, operands=rest),
                )
        case e.Comparison(order=order):
            turned = TURNED.get(order)
            yield replaced("turned", e.Not(x, span=x.span) if turned is None else replace(x, order=turned))
            yield from (replaced("moved", m) for m in _moved(x, rules))
        case e.RateComparison(order=order):
            turned = TURNED.get(order)
            if turned is not None:
                yield replaced("turned", replace(x, order=turned))
            amount = visible(x.bound, x.unit, x.bound * 0)
            yield from (replaced("moved", replace(x, bound=x.bound + way)) for way in (amount, -amount))
        case e.Band(subject, (order, bound), _):
            yield replaced("band", e.Comparison(subject, order, bound, span=x.span))
        case e.SensorState(state="stale") | e.SensorState(state="fresh"):
            yield replaced("turned", replace(x, state="fresh" if x.state == "stale" else "stale"))
        case e.AtPosition() | e.Pressed():
            yield replaced("turned", negated(x, rules))
        case e.Not(operand):
            yield replaced("not", operand)
        case e.Timed(_, operand):
            yield replaced("delay", operand)
        case e.Edge(_, operand):
            yield replaced("edge", operand)
        case e.PreviousSignal(operand):
            yield replaced("previous", operand)
        case e.NamedSignal() | e.SensorState() | e.ChannelState():
            return
        case _:
            assert_never(x)


def _joined(x: e.AllOf | e.AnyOf | e.ExactlyOne) -> Literal["and", "or", "exactly_one"]:
    match x:
        case e.AllOf():
            return "and"
        case e.AnyOf():
            return "or"
        case _:
            return "exactly_one"


def _moved(x: e.Comparison, rules: RuleSet) -> Iterator[e.Comparison]:
    """The threshold is the side that stands still; where both vary, the right one."""
    still = worth(x.right, rules)
    on_left = still is None and worth(x.left, rules) is not None
    threshold, subject = (x.left, x.right) if on_left else (x.right, x.left)
    unit = unit_of(threshold, rules) or unit_of(subject, rules)
    if unit is None:
        return
    amount = visible(worth(threshold, rules) or unit.factor * 0, unit, finest(subject, rules))
    for way in (amount, -amount):
        moved = plus(threshold, way, unit)
        yield replace(x, left=moved) if on_left else replace(x, right=moved)
