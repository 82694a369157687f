"""Numbers that must be fixed, and numbers that must be a time."""

from latchproof.diagnostics import Label
from latchproof.rules.agreement import in_dimension
from latchproof.rules.expressions import Constant, Duration
from latchproof.rules.kinds import cycles_here, how, number
from latchproof.rules.limits import CYCLES
from latchproof.rules.numbers import Amount, Varies
from latchproof.rules.scope import Env
from latchproof.rules.units import UNITS
from latchproof.rules.walk import bare, quantities
from latchproof.rules.words import shown
from latchproof.syntax import tree

_CYCLES = ("cycle", "cycles")


def constant(e: tree.Expr, env: Env, what: str) -> Amount | None:
    """A number that is fixed: written out, or a fact with one value."""
    amount = number(e, env)
    if amount is None:
        return None
    if amount.constant is None:
        env.error(
            "not-fixed",
            f"{what} must be a fixed number",
            Label(e.span, how(amount)),
            hints=("write a number, or a fact with one value",),
        )
        return None
    return amount


def duration(e: tree.Expr, env: Env, *, positive: bool = False, still: bool = False) -> Duration | None:
    """A time, or a whole number of cycles. `positive`: zero makes no sense here. `still`: must not vary in flight."""
    inner = bare(e)
    if isinstance(inner, tree.Quantity) and inner.unit in _CYCLES:
        return _cycles(inner, positive, env)
    if any(q.unit in _CYCLES for q in quantities(inner)):
        cycles_here(inner, env)
        return None
    amount = number(e, env)
    if amount is None or not in_dimension(e, amount, UNITS["s"], "a duration", env):
        return None
    if amount.low is not None and (amount.low < 0 or (positive and amount.low == 0)):
        what = "this can be as little as " if amount.varies else "this is "
        env.error(
            "negative-duration" if amount.low < 0 else "zero-duration",
            "a duration cannot be negative" if amount.low < 0 else "a duration of 0 makes no sense here",
            Label(e.span, what + shown(amount.low, amount.unit or UNITS["s"])),
            hints=("write a time above 0",),
        )
        return None
    if still and amount.varies == Varies.FLYING:
        env.error(
            "varying-duration",
            "the duration in a promise must stand still",
            Label(e.span, how(amount)),
            hints=("write a number, a fact or a tune",),
        )
        return None
    return Duration(amount.number, span=e.span)


def _cycles(e: tree.Quantity, positive: bool, env: Env) -> Duration | None:
    if e.value.denominator != 1 or e.value > CYCLES:
        env.error(
            "cycles-here",
            "cycles are counted in whole numbers",
            Label(e.span, f"not a whole number up to {CYCLES}"),
            hints=("write a whole number of cycles, or a time in seconds",),
        )
        return None
    if positive and e.value == 0:
        env.error(
            "zero-duration",
            "a duration of 0 makes no sense here",
            Label(e.span, "no time at all"),
            hints=("write at least 1 cycle",),
        )
        return None
    return Duration(Constant(e.value, UNITS["cycles"], span=e.span), in_cycles=True, span=e.span)
