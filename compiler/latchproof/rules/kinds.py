"""Expressions that must be numbers: names, units, what may be multiplied with what."""

from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from latchproof.diagnostics import Label
from latchproof.rules import numbers
from latchproof.rules.about import of_sensor, pilot_value, single, truth
from latchproof.rules.agreement import Mixed, sum_of
from latchproof.rules.expressions import (
    Age,
    Constant,
    Controlled,
    Held,
    NamedNumber,
    Output,
    Parameter,
    Reading,
)
from latchproof.rules.limits import DIGITS, INLINED, LARGEST, WRITTEN_OUT
from latchproof.rules.numbers import Amount, TooLargeError, Varies
from latchproof.rules.scope import Entity, Env, found, look_up
from latchproof.rules.suggest import did_you_mean
from latchproof.rules.units import CYCLES as CYCLES_DIMENSION
from latchproof.rules.units import NO_UNIT, UNITS, Unit
from latchproof.rules.walk import bare, levels
from latchproof.rules.words import FUNCTIONS, KIND, shown
from latchproof.source import Span
from latchproof.syntax import tree

NUMBER_KINDS = frozenset({"fact", "tune", "value", "sample", "counter", "stick", "knob", "sensor", "channel"})
SIGNAL_KINDS = frozenset({"signal", "latch", "phase", "announcement", "role"})


def number(e: tree.Expr, env: Env) -> Amount | None:
    """The expression as a number; None after an error has been reported."""
    try:
        return _number(e, env)
    except TooLargeError:
        too_large(e.span, env)
        return None


def too_large(span: Span, env: Env) -> None:
    env.error(
        "number-too-large",
        "this number is beyond anything a model does",
        Label(span, "too large, or with too many digits"),
        hints=(f"numbers go up to {LARGEST} and {DIGITS} digits",),
    )


def _number(e: tree.Expr, env: Env) -> Amount | None:
    match e:
        case tree.Quantity():
            return _literal(e, env)
        case tree.Ref():
            return _named(e, env)
        case tree.Group(inner=inner):
            return _number(inner, env)
        case tree.Negative(operand=operand):
            amount = _number(operand, env)
            return None if amount is None else numbers.negative(amount, e.span)
        case tree.Binary():
            return _binary(e, env)
        case tree.Of():
            return _function(e, env)
        case tree.Test() | tree.Operand() | tree.Junction():
            env.error(
                "not-a-number",
                "a number is needed here",
                Label(e.span, "this is true or false, not a number"),
                hints=("take the test out, or compare the number outside of these brackets",),
            )
            return None
        case _:
            assert_never(e)


def _literal(e: tree.Quantity, env: Env) -> Amount | None:
    if abs(e.value) > LARGEST or len(e.digits) > DIGITS + 1:
        too_large(e.span, env)
        return None
    unit = UNITS.get(e.unit or "")
    if unit is None:
        env.error("unknown-unit", f"no unit is called {e.unit}", Label(e.span), hints=did_you_mean(e.unit or "", UNITS))
        return None
    if unit.dimension == CYCLES_DIMENSION:
        cycles_here(e, env)
        return None
    return numbers.fixed(e.value * unit.factor, unit, e.span)


def cycles_here(e: tree.Expr, env: Env) -> None:
    env.error(
        "cycles-here",
        "cycles only count as a duration of their own",
        Label(e.span, "a number of cycles"),
        hints=("write the whole duration in cycles, such as `within 2 cycles`, or in seconds",),
    )


# ---------- names


def _named(e: tree.Ref, env: Env) -> Amount | None:
    entity = found(e, env)
    if entity is None:
        return None
    if entity.kind not in NUMBER_KINDS:
        _not_a_number(e, entity, env)
        return None
    amount = env.book.amounts.get(entity.name)
    if amount is None:
        return None
    return amount_at(entity, amount, e.span, env)


def amount_at(entity: Entity, amount: Amount, span: Span, env: Env) -> Amount | None:
    """The number of a named thing where it is referred to."""
    if env.follows and entity.kind in ("stick", "knob"):
        return replace(amount, number=Controlled(entity.name, span=span))
    if env.follows and amount.held and entity.kind == "value":
        return _written_out(entity, span, env)
    if isinstance(amount.number, Constant | Parameter):
        return replace(amount, number=replace(amount.number, span=span))
    if amount.varies == Varies.STEPPED:
        return amount
    match entity.kind:
        case "stick" | "knob":
            return replace(amount, number=Held(entity.name, span=span))
        case "sensor":
            return replace(amount, number=Reading(entity.name, span=span))
        case "channel":
            return replace(amount, number=Output(entity.name, span=span))
        case _:
            return replace(amount, number=NamedNumber(entity.name, span=span))


def _written_out(entity: Entity, span: Span, env: Env) -> Amount | None:
    """What a channel follows takes sticks after the actions on them, so a value made of sticks is written out there."""
    node = entity.node
    written = env.written
    if isinstance(node, tree.Value | tree.Binding):
        written += levels(node.value, WRITTEN_OUT)
    env.book.inlined += 1
    if env.book.inlined > INLINED or written > WRITTEN_OUT:
        if env.book.too_long:
            return None
        env.book.too_long = True
        env.error(
            "too-large",
            "too many values stand behind what this channel follows",
            Label(span, "written out, this is too long"),
            hints=("let the channel follow the sticks more directly",),
        )
        return None
    if entity.name in env.inside or not isinstance(node, tree.Value | tree.Binding):
        amount = env.book.amounts.get(entity.name)
        return None if amount is None else replace(amount, number=NamedNumber(entity.name, span=span))
    return _number(node.value, replace(env.named(entity), inside=(*env.inside, entity.name), written=written))


def _not_a_number(e: tree.Ref, entity: Entity, env: Env) -> None:
    hints: tuple[str, ...] = ()
    match entity.kind:
        case "switch":
            hints = (f"for a number by position: a channel that follows {e.text} as ...",)
        case "rule" | "sequence":
            hints = ("a rule acts; to use a number here, give it a name with `value`",)
        case "signal" | "latch" | "phase" | "announcement" | "role" | "button":
            hints = ("it is true or false: use it without a comparison",)
        case _:
            pass
    env.error(
        "not-a-number",
        f"{e.text} is {KIND[entity.kind]}, not a number",
        Label(e.span, "a number is needed here"),
        Label(entity.place, f"{e.text} is {KIND[entity.kind]}"),
        hints=hints,
    )


# ---------- sums and products


def _binary(e: tree.Binary, env: Env) -> Amount | None:
    left, right = _number(e.left, env), _number(e.right, env)
    if left is None or right is None:
        return None
    match e.operator:
        case "+" | "-":
            unit = sum_of(e.left, left, e.right, right, e.operator, env)
            if isinstance(unit, Mixed):
                return None
            build = numbers.plus if e.operator == "+" else numbers.minus
            return build(left, right, unit, e.span)
        case "*":
            if min(left.varies, right.varies) > Varies.STEPPED:
                _varying_product(e, left, right, env)
                return None
            return numbers.product(left, right, e.span)
        case "/":
            return _quotient(e, left, right, env)
        case _:
            assert_never(e.operator)


def _varying_product(e: tree.Binary, left: Amount, right: Amount, env: Env) -> None:
    tunes = _tunes(e.left, env) + _tunes(e.right, env)
    hints = (
        (f"let {tunes[0]} be tuned in a few values: tune {tunes[0]} = ... from ... to ... in steps of ...",)
        if tunes
        else ("make one of the two a fixed number or a fact with one value",)
    )
    env.error(
        "varying-product",
        "product of two things that both vary",
        Label(e.left.span, how(left)),
        Label(e.right.span, how(right)),
        hints=hints,
    )


def how(a: Amount) -> str:
    """In what way a number is not fixed."""
    match a.varies:
        case Varies.FIXED:
            return "this is fixed"
        case Varies.STEPPED:
            return "this is tuned in steps"
        case Varies.TUNED:
            return "this can be any value in its range"
        case Varies.FLYING:
            return "this changes in flight"


def _tunes(e: tree.Expr, env: Env) -> list[str]:
    """The name, if the expression is a tune by itself."""
    inner = bare(e)
    if isinstance(inner, tree.Ref):
        entity = look_up(inner, env)
        if entity is not None and entity.kind == "tune":
            return [inner.text]
    return []


def _quotient(e: tree.Binary, left: Amount, right: Amount, env: Env) -> Amount | None:
    if right.varies > Varies.STEPPED:
        tunes = _tunes(e.right, env)
        if (
            right.varies == Varies.TUNED
            and right.low is not None
            and right.high is not None
            and right.low <= 0 <= right.high
        ):
            _zero(e, right, env)
            return None
        hint = (
            f"let {tunes[0]} be tuned in a few values: tune {tunes[0]} = ... from ... to ... in steps of ..."
            if tunes
            else "divide by a fixed number, or multiply the other side of the comparison instead"
        )
        env.error(
            "varying-divisor",
            "division by something that varies",
            Label(e.right.span, how(right)),
            hints=(hint,),
        )
        return None
    if numbers.may_be_zero(right):
        _zero(e, right, env)
        return None
    return numbers.quotient(left, right, e.span)


def _zero(e: tree.Binary, right: Amount, env: Env) -> None:
    unit = right.unit or NO_UNIT
    sure = right.low == right.high == 0
    span = (
        f"this can be anything from {shown(right.low, unit)} to {shown(right.high, unit)}"
        if right.low is not None and right.high is not None
        else "this can be 0"
    )
    env.error(
        "division-by-zero",
        "division by zero",
        Label(e.right.span, "this is 0" if sure else span),
        hints=("divide by a number that is never 0",),
    )


# ---------- functions


def _function(e: tree.Of, env: Env) -> Amount | None:
    match e.function.text:
        case "rate":
            rate_needs_number(e, env)
            return None
        case "age":
            return of_sensor(
                e,
                env,
                lambda name, a: Amount(Age(name, span=e.span), UNITS["s"], Varies.FLYING, Fraction(0), None, True),
            )
        case "truth":
            return truth(e, env)
        case "pilot_value":
            return pilot_value(e, env)
        case "previous":
            amount = _one(e, replace(env, follows=False))
            return None if amount is None else numbers.previous(amount, e.span)
        case "size":
            amount = _one(e, env)
            return None if amount is None else numbers.size(amount, e.span)
        case "smaller" | "larger":
            return _extreme(e, env)
        case "exactly_one":
            env.error(
                "not-a-number", "exactly_one is true or false, not a number", Label(e.span, "a number is needed here"),
                hints=("use it without a comparison",),
            )  # fmt: skip
            return None
        case _:
            unknown_function(e, env)
            return None


def unknown_function(e: tree.Of, env: Env) -> None:
    if env.book.first_time("of ", e.function.text):
        env.error(
            "unknown-function",
            f"there is no {e.function.text} of something",
            Label(e.function.span, "not known"),
            hints=did_you_mean(e.function.text, FUNCTIONS) or (f"there are {', '.join(FUNCTIONS)}",),
        )


def _one(e: tree.Of, env: Env) -> Amount | None:
    argument = single(e, env)
    return None if argument is None else _number(argument, env)


def _extreme(e: tree.Of, env: Env) -> Amount | None:
    if len(e.arguments) < 2:
        env.error(
            "several-needed",
            f"{e.function.text} of what and what?",
            Label(e.span, "only one thing to choose from"),
            hints=(f"write {e.function.text} of (a, b)",),
        )
        return None
    found_all = [_number(a, env) for a in e.arguments]
    amounts = tuple(a for a in found_all if a is not None)
    if len(amounts) < len(found_all):
        return None
    unit: Unit | None = None
    for (left_e, left), (right_e, right) in zip(
        zip(e.arguments, amounts, strict=True), zip(e.arguments[1:], amounts[1:], strict=False), strict=False
    ):
        joint = sum_of(left_e, left, right_e, right, "is", env)
        if isinstance(joint, Mixed):
            return None
        unit = unit or joint
    return numbers.extreme(amounts, unit, e.function.text == "larger", e.span)


def rate_needs_number(e: tree.Expr, env: Env) -> None:
    env.error(
        "rate-needs-number",
        "a rate can only be compared with a fixed number",
        Label(e.span, "how fast this changes is not a number to reckon with"),
        hints=("write rate of X is below -3 m/s, with the rate on the left and a number or a fact on the right",),
    )
