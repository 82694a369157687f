"""Requirements between tunes, and stages for a first flight. Decided exactly where fixed numbers decide them."""

from collections.abc import Mapping
from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.bounds import Decision, Spans
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
from latchproof.rules.numbers import Varies
from latchproof.rules.quantities import too_deep
from latchproof.rules.scope import Env, look_up, unknown
from latchproof.rules.suggest import listed
from latchproof.rules.words import KIND, shown
from latchproof.syntax import tree


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
            return amount is not None and amount.varies <= Varies.TUNED
        case _:
            return False


def spans_of(facts: tuple[model.Fact, ...], tunes: tuple[model.Tune, ...]) -> dict[str, tuple[Fraction, Fraction]]:
    """Facts over their span, tunes at the value they are set to."""
    return {f.name: (f.low, f.high) for f in facts} | {t.name: (t.value, t.value) for t in tunes}


def met(requires: tuple[model.Require, ...], spans: Spans, env: Env) -> tuple[model.Require, ...]:
    """The requirements that the file's own values meet; the others are reported."""
    now = Decision(spans, env.book.amounts)
    broken = [r for r in requires if now.broken(r.condition)]
    for r in broken:
        env.error(
            "require-broken",
            "the values in this file do not meet this requirement",
            Label(r.span, "not so with the tunes as they are set"),
            hints=("change the tunes or the requirement",),
        )
    return tuple(r for r in requires if r not in broken) if broken else requires


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
        staged = {**spans, **{name: (v, v) for name, (_, v) in chosen.items()}}
        here = Decision(staged, env.book.amounts)
        for r in requires:
            if here.broken(r.condition):
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
