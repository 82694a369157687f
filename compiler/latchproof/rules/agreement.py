"""Do two numbers go together? Units are exact; a forgotten one is asked for by name."""

from latchproof.diagnostics import Label
from latchproof.rules import numbers
from latchproof.rules.numbers import Amount
from latchproof.rules.scope import Env
from latchproof.rules.units import PLAIN, Unit
from latchproof.rules.walk import bare
from latchproof.rules.words import in_unit, unit_word
from latchproof.source import Span
from latchproof.syntax import tree


class Mixed:
    """Units that do not go together; it was reported."""


def sum_of(
    left_e: tree.Expr, left: Amount, right_e: tree.Expr, right: Amount, operator: str, env: Env
) -> Unit | Mixed | None:
    """The unit of a sum, difference or comparison of the two; None if neither is known yet."""
    if left.unit is None or right.unit is None:
        return left.unit or right.unit
    unit = numbers.sum_unit(left.unit, right.unit, operator)
    if unit is None or (operator not in "+-" and left.unit.dimension != right.unit.dimension):
        report_mix(left_e, left.unit, right_e, right.unit, env)
        return Mixed()
    return unit


def report_mix(left_e: tree.Expr, left: Unit, right_e: tree.Expr, right: Unit, env: Env) -> None:
    for plain_e, plain, other_e, other in ((right_e, right, left_e, left), (left_e, left, right_e, right)):
        if plain.dimension == PLAIN and is_literal(plain_e):
            missing_unit(plain_e, call(other_e, env), other, other_e.span, env)
            return
    what = f"{unit_word(left)} and {unit_word(right)} do not go together"
    env.error(
        "unit-mix",
        what,
        Label(right_e.span, f"this is {in_unit(right)}"),
        Label(left_e.span, f"this is {in_unit(left)}"),
        hints=("compare and add only quantities of the same kind",),
    )


def missing_unit(literal: tree.Expr, other: str, unit: Unit, place: Span | None, env: Env) -> None:
    """`46 what? height is in metres`."""
    text = env.text(literal.span) or "a number"
    labels: tuple[Label, ...] = (Label(literal.span, "a plain number, without a unit"),)
    if place is not None:
        labels += (Label(place, f"this is {in_unit(unit)}"),)
    env.error(
        "missing-unit", f"{text} what? {other} is {in_unit(unit)}", *labels, hints=(f"write {text} {unit.symbol}",)
    )


def call(e: tree.Expr, env: Env) -> str:
    """A short way to speak of an expression."""
    if is_literal(e):
        return "the other number"
    text = env.text(e.span)
    return text if text and len(text) <= 30 else "the other side"


def is_literal(e: tree.Expr) -> bool:
    inner = bare(e)
    return isinstance(inner, tree.Quantity) or (
        isinstance(inner, tree.Negative) and isinstance(bare(inner.operand), tree.Quantity)
    )


def in_dimension(e: tree.Expr, amount: Amount, wanted: Unit, what: str, env: Env) -> bool:
    """Whether the number has the dimension that `what` needs; reported if not."""
    if amount.unit is None or amount.unit.dimension == wanted.dimension:
        return True
    if amount.unit.dimension == PLAIN and is_literal(e):
        missing_unit(e, what, wanted, None, env)
    else:
        env.error(
            "unit-mix",
            f"{what} is {in_unit(wanted)}",
            Label(e.span, f"this is {in_unit(amount.unit)}"),
            hints=(_only(wanted, is_literal(e)),),
        )
    return False


def _only(wanted: Unit, literal: bool) -> str:
    if wanted.dimension == PLAIN:
        return "write a plain number" if literal else "only a plain number fits here"
    return f"write it in {wanted.symbol}" if literal else f"only something {in_unit(wanted)} fits here"
