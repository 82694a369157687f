"""Requirements between tunes, and stages for a first flight. Decided exactly where fixed numbers decide them."""

from collections.abc import Mapping
from fractions import Fraction
from typing import assert_never

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.durations import constant
from latchproof.rules.expressions import (
    AllOf,
    AnyOf,
    Comparison,
    Constant,
    ExactlyOne,
    Largest,
    Minus,
    NamedNumber,
    Not,
    Number,
    Parameter,
    Plus,
    Product,
    Quotient,
    Signal,
    Size,
    Smallest,
)
from latchproof.rules.logic import checked_signal
from latchproof.rules.numbers import Amount
from latchproof.rules.quantities import too_deep
from latchproof.rules.scope import Env, look_up, unknown
from latchproof.rules.suggest import listed
from latchproof.rules.words import KIND, shown
from latchproof.syntax import tree

Spans = Mapping[str, tuple[Fraction, Fraction]]
"""For each tune and fact the least and the greatest value it has."""


def require(s: tree.Require, env: Env) -> model.Require | None:
    condition = checked_signal(s.condition, env)
    if condition is None:
        return None
    if not _stands_still(condition, env):
        env.error(
            "require-varies",
            "a requirement speaks of tunes and facts only",
            Label(s.condition.span, "something in here changes in flight"),
            hints=("to promise something about the flight write claim NAME: always ...",),
        )
        return None
    return model.Require(condition, env.text(s.condition.span), span=s.span)


def _stands_still(s: Signal, env: Env) -> bool:
    match s:
        case Comparison(left=left, right=right):
            return _still(left, env) and _still(right, env)
        case Not(operand=operand):
            return _stands_still(operand, env)
        case AllOf(operands=operands) | AnyOf(operands=operands) | ExactlyOne(operands=operands):
            return all(_stands_still(o, env) for o in operands)
        case _:
            return False


def _still(n: Number, env: Env) -> bool:
    match n:
        case Constant() | Parameter():
            return True
        case Plus() | Minus() | Product() | Quotient():
            return _still(n.left, env) and _still(n.right, env)
        case Size(operand=operand):
            return _still(operand, env)
        case Smallest(operands=operands) | Largest(operands=operands):
            return all(_still(o, env) for o in operands)
        case NamedNumber(name=name):
            amount = env.book.amounts.get(name)
            return amount is not None and not isinstance(amount.number, NamedNumber) and _still(amount.number, env)
        case _:
            return False


# ---------- does it hold


def surely_broken(s: Signal, spans: Spans, amounts: Mapping[str, Amount | None]) -> bool:
    """Whether no choice of values from the spans meets the requirement, as far as bounds can tell."""
    return _holds(s, spans, amounts) is False


def _holds(s: Signal, spans: Spans, amounts: Mapping[str, Amount | None]) -> bool | None:
    """None: it depends."""
    match s:
        case Comparison(left=left, order=order, right=right):
            a, b = _bounds(left, spans, amounts), _bounds(right, spans, amounts)
            return None if a is None or b is None else _compared(a, order, b)
        case Not(operand=operand):
            inner = _holds(operand, spans, amounts)
            return None if inner is None else not inner
        case AllOf(operands=operands):
            known = [_holds(o, spans, amounts) for o in operands]
            return False if False in known else None if None in known else True
        case AnyOf(operands=operands):
            known = [_holds(o, spans, amounts) for o in operands]
            return True if True in known else None if None in known else False
        case _:
            return None


def _compared(a: tuple[Fraction, Fraction], order: str, b: tuple[Fraction, Fraction]) -> bool | None:
    match order:
        case "<":
            return True if a[1] < b[0] else False if a[0] >= b[1] else None
        case "<=":
            return True if a[1] <= b[0] else False if a[0] > b[1] else None
        case ">":
            return _compared(b, "<", a)
        case ">=":
            return _compared(b, "<=", a)
        case _:
            if a[1] < b[0] or b[1] < a[0]:
                return False
            return True if a[0] == a[1] == b[0] == b[1] else None


def _bounds(n: Number, spans: Spans, amounts: Mapping[str, Amount | None]) -> tuple[Fraction, Fraction] | None:
    match n:
        case Constant(value=value):
            return value, value
        case Parameter(name=name):
            return spans.get(name)
        case NamedNumber(name=name):
            amount = amounts.get(name)
            return None if amount is None else _bounds(amount.number, spans, amounts)
        case Plus() | Minus() | Product() | Quotient():
            a, b = _bounds(n.left, spans, amounts), _bounds(n.right, spans, amounts)
            return None if a is None or b is None else _combined(n, a, b)
        case Size(operand=operand):
            inner = _bounds(operand, spans, amounts)
            if inner is None:
                return None
            sizes = abs(inner[0]), abs(inner[1])
            return (Fraction(0) if inner[0] <= 0 <= inner[1] else min(sizes)), max(sizes)
        case Smallest(operands=operands) | Largest(operands=operands):
            found = [_bounds(o, spans, amounts) for o in operands]
            known = [f for f in found if f is not None]
            pick = min if isinstance(n, Smallest) else max
            return (pick(k[0] for k in known), pick(k[1] for k in known)) if len(known) == len(found) else None
        case _:
            return None


def _combined(
    n: Plus | Minus | Product | Quotient, a: tuple[Fraction, Fraction], b: tuple[Fraction, Fraction]
) -> tuple[Fraction, Fraction] | None:
    match n:
        case Plus():
            return a[0] + b[0], a[1] + b[1]
        case Minus():
            return a[0] - b[1], a[1] - b[0]
        case Product():
            corners = [x * y for x in a for y in b]
        case Quotient():
            if b[0] <= 0 <= b[1]:
                return None
            corners = [x / y for x in a for y in b]
        case _:
            assert_never(n)
    return min(corners), max(corners)


def spans_of(facts: tuple[model.Fact, ...], tunes: tuple[model.Tune, ...]) -> dict[str, tuple[Fraction, Fraction]]:
    """Facts over their span, tunes at the value they are set to."""
    return {f.name: (f.low, f.high) for f in facts} | {t.name: (t.value, t.value) for t in tunes}


def check_requires(requires: tuple[model.Require, ...], spans: Spans, env: Env) -> None:
    """The file's own values must meet its own requirements."""
    for r in requires:
        if surely_broken(r.condition, spans, env.book.amounts):
            env.error(
                "require-broken",
                "the values in this file do not meet this requirement",
                Label(r.span, "not so with the tunes as they are set"),
                hints=("change the tunes or the requirement",),
            )


# ---------- stages


def stage(
    s: tree.Stage, tunes: Mapping[str, model.Tune], requires: tuple[model.Require, ...], spans: Spans, env: Env
) -> model.Stage | None:
    chosen: dict[str, tuple[tree.StageTune, Fraction]] = {}
    fine = True
    for t in s.tunes:
        value = _stage_tune(t, tunes, env)
        if value is None:
            fine = False
            continue
        name, amount = value
        if name in chosen:
            env.error(
                "repeated-clause",
                f"{t.name.text} is tuned twice in one stage",
                Label(t.name.span, "once more"),
                Label(chosen[name][0].name.span, "first here"),
                hints=("keep one of the two",),
            )
            fine = False
            continue
        chosen[name] = t, amount
    if not fine:
        return None
    if chosen:
        here = {**spans, **{name: (v, v) for name, (_, v) in chosen.items()}}
        for r in requires:
            if surely_broken(r.condition, here, env.book.amounts) and not surely_broken(
                r.condition, spans, env.book.amounts
            ):
                env.error(
                    "require-broken",
                    f"the stage {s.name.text} does not meet a requirement of this file",
                    Label(s.span, "with these values ..."),
                    Label(r.span, "... this is not so"),
                    hints=("tune the others along in this stage",),
                )
                return None
    return model.Stage(s.name.text, s.warn_only, tuple((n, v) for n, (_, v) in chosen.items()), span=s.span)


def _stage_tune(t: tree.StageTune, tunes: Mapping[str, model.Tune], env: Env) -> tuple[str, Fraction] | None:
    entity = look_up(tree.Ref((t.name,), span=t.name.span), env)
    if entity is None:
        if t.name.text not in env.scope.names:
            unknown(t.name, env, None, frozenset({"tune"}))
        return None
    if entity.kind != "tune":
        env.error(
            "wrong-kind",
            f"{t.name.text} is {KIND[entity.kind]}: only tunes can be tuned",
            Label(t.name.span, "not a tune"),
            Label(entity.place, f"{t.name.text} is {KIND[entity.kind]}"),
            hints=(f"declare it: tune {t.name.text} = ... from ... to ...",),
        )
        return None
    tune = tunes.get(entity.name)
    value = None if too_deep(t.value, env) else constant(t.value, env, "the value in a stage")
    if tune is None or value is None or value.constant is None:
        return None
    if not in_dimension(t.value, value, tune.unit, t.name.text, env):
        return None
    if not tune.low <= value.constant <= tune.high or (tune.steps and value.constant not in tune.steps):
        inside = tune.low <= value.constant <= tune.high
        why = "not one of its steps" if inside else "out of its range"
        hint = (
            f"it can be {listed((shown(v, tune.unit) for v in tune.steps), 'or')}"
            if inside
            else "widen the range of the tune: then the claims are proved for this value as well"
        )
        env.error(
            "outside-range",
            f"{t.name.text} cannot be {shown(value.constant, value.unit or tune.unit)}",
            Label(t.value.span, why),
            Label(tune.span, f"from {shown(tune.low, tune.unit)} to {shown(tune.high, tune.unit)}"),
            hints=(hint,),
        )
        return None
    return entity.name, value.constant
