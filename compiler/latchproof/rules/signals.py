"""Expressions that must be true or false: tests, timings, and what `and`, `or`, `not` make of them."""

from dataclasses import replace
from typing import assert_never

from latchproof.diagnostics import Label
from latchproof.rules import brackets
from latchproof.rules.about import single
from latchproof.rules.comparisons import test
from latchproof.rules.durations import duration
from latchproof.rules.expressions import AllOf, AnyOf, Edge, ExactlyOne, NamedSignal, Not, PreviousSignal, Signal, Timed
from latchproof.rules.kinds import NUMBER_KINDS, SIGNAL_KINDS, number, unknown_function
from latchproof.rules.scope import Entity, Env, found, look_up
from latchproof.rules.suggest import one_of
from latchproof.rules.walk import bare
from latchproof.rules.words import BUTTON_STATES, FUNCTIONS, KIND
from latchproof.syntax import tree


def signal(e: tree.Expr, env: Env) -> Signal | None:
    """The expression as a signal; None after an error has been reported."""
    match e:
        case tree.Ref():
            return _named(e, env)
        case tree.Group(inner=inner):
            return signal(inner, env)
        case tree.Test():
            return test(e, env)
        case tree.Operand():
            return _operand(e, env)
        case tree.Junction():
            return _junction(e, env)
        case tree.Of():
            return _function(e, env)
        case tree.Quantity() | tree.Negative() | tree.Binary():
            if number(e, env) is not None:
                _not_a_signal(e, "this is a number", env)
            return None
        case _:
            assert_never(e)


def _not_a_signal(e: tree.Expr, why: str, env: Env) -> None:
    env.error(
        "not-a-signal",
        "something true or false is needed here",
        Label(e.span, why),
        hints=("compare it: write ... is above ..., is below ..., or is from ... to ...",),
    )


def _named(e: tree.Ref, env: Env) -> Signal | None:
    entity = found(e, env)
    if entity is None:
        return None
    if entity.kind in SIGNAL_KINDS:
        return NamedSignal(entity.name, span=e.span)
    env.error(
        "not-a-signal",
        f"{e.text} is {KIND[entity.kind]}, not true or false",
        Label(e.span, "something true or false is needed here"),
        Label(entity.place, f"{e.text} is {KIND[entity.kind]}"),
        hints=_repair(e, entity, env),
    )
    return None


def _repair(e: tree.Ref, entity: Entity, env: Env) -> tuple[str, ...]:
    match entity.kind:
        case "switch" if isinstance(entity.node, tree.Switch):
            return (one_of(f"{e.text} is {p.text}" for p in entity.node.positions[:5]),)
        case "button":
            return (one_of(f"{e.text} is {word}" for word in BUTTON_STATES),)
        case "channel":
            return (f"write {e.text} is driven, {e.text} is free, or compare it: {e.text} is above ...",)
        case "sensor":
            return (f"compare it: {e.text} is below ...; or write {e.text} is fresh",)
        case "rule":
            return (f"give what stands behind `while` in {e.text} a name with `signal`, and use that name here",)
        case "sequence" if isinstance(entity.node, tree.Sequence):
            return (one_of(f"{e.text}.{p.name.text}" for p in entity.node.phases[:5]),)
        case "use" if entity.inner is not None and entity.inner.part is not None:
            gives = entity.inner.part.gives[:5]
            return (one_of(f"{e.text}.{g.text}" for g in gives),) if gives else ()
        case _:
            return (f"compare it: write {e.text} is above ..., or {e.text} is below ...",)


def _operand(e: tree.Operand, env: Env) -> Signal | None:
    plain = brackets.operand_is_plain(e, env)
    inner = signal(e.test, env)
    timing = e.timing
    if timing is None:
        return None if inner is None else Not(inner, span=e.span)
    span = e.test.span.to(e.span)
    if timing.kind == "begins" or timing.kind == "ends":
        return Edge(timing.kind, inner, span=span) if inner is not None and plain else None
    lasts = None if timing.duration is None else duration(timing.duration, env)
    return None if inner is None or lasts is None or not plain else Timed(timing.kind, inner, lasts, span=span)


def _junction(e: tree.Junction, env: Env) -> Signal | None:
    plain = brackets.junction_is_plain(e, env)
    operands = _all(e.operands, env)
    if operands is None or not plain:
        return None
    return AllOf(operands, span=e.span) if e.connectives[0] == "and" else AnyOf(operands, span=e.span)


def _all(expressions: tuple[tree.Expr, ...], env: Env) -> tuple[Signal, ...] | None:
    resolved = [signal(x, env) for x in expressions]
    good = tuple(s for s in resolved if s is not None)
    return good if len(good) == len(resolved) else None


def _function(e: tree.Of, env: Env) -> Signal | None:
    match e.function.text:
        case "exactly_one":
            operands = _all(e.arguments, env)
            return None if operands is None else ExactlyOne(operands, span=e.span)
        case "previous":
            argument = single(e, env)
            if argument is None:
                return None
            if is_signal(argument, env):
                inner = signal(argument, env)
                return None if inner is None else PreviousSignal(inner, span=e.span)
            if number(argument, replace(env, follows=False)) is not None:
                _not_a_signal(e, "this is a number", env)
            return None
        case known if known in FUNCTIONS:
            if known == "rate" or number(e, env) is not None:
                _not_a_signal(e, "this is a number", env)
            return None
        case _:
            unknown_function(e, env)
            return None


def is_signal(e: tree.Expr, env: Env) -> bool:
    """Whether the expression is meant as a signal; unknown names count as one, they are reported anyway."""
    inner = bare(e)
    match inner:
        case tree.Ref():
            entity = look_up(inner, env)
            return entity is None or entity.kind not in NUMBER_KINDS
        case tree.Of():
            if inner.function.text == "previous" and len(inner.arguments) == 1:
                return is_signal(inner.arguments[0], env)
            return inner.function.text == "exactly_one"
        case tree.Test() | tree.Operand() | tree.Junction():
            return True
        case _:
            return False
