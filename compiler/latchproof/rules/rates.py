"""Modifiers of an action: `after`, `ramp`, `hand back`. Ramps are rates, fixed and positive."""

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.durations import duration
from latchproof.rules.expressions import Duration, Number
from latchproof.rules.kinds import how, number
from latchproof.rules.numbers import Varies
from latchproof.rules.quantities import too_deep
from latchproof.rules.scope import Env
from latchproof.rules.suggest import did_you_mean, listed
from latchproof.rules.targets import Target, directions_of
from latchproof.rules.words import per_second, shown
from latchproof.syntax import tree


def modifiers(written: tuple[tree.Modifier, ...], ref: tree.Ref, on: Target, env: Env) -> model.Modifiers | None:
    """None if any of them has an error."""
    first: dict[str, tree.Modifier] = {}
    after: Duration | None = None
    rates: dict[str, Number] = {}
    words: list[tuple[str, Number]] = []
    fine = True
    for m in written:
        key = _key(m, ref, on, env)
        known = None if key is None else first.setdefault(key, m)
        if known is not None and known is not m:
            env.error(
                "repeated-clause",
                f"`{_name(m)}` is said twice",
                Label(m.span, "once more"),
                Label(known.span, "first here" if _name(m) == _name(known) else "this is the same way"),
                hints=("keep one of the two",),
            )
            fine = False
            continue
        if m.kind == "after":
            after = None if too_deep(m.amount, env) else duration(m.amount, env)
            fine = fine and after is not None
            continue
        rate = _rate(m, ref, on, env)
        if rate is None or key is None:
            fine = False
            continue
        rates[key] = rate
        if m.direction is not None:
            words.append((m.direction.text, rate))
    if not fine:
        return None
    return model.Modifiers(after, rates.get("rising"), rates.get("falling"), rates.get("hand back"), tuple(words))


def _name(m: tree.Modifier) -> str:
    return m.kind if m.direction is None else f"{m.kind} {m.direction.text}"


def _key(m: tree.Modifier, ref: tree.Ref, on: Target, env: Env) -> str | None:
    """What may stand once: `after`, `hand back`, and a ramp each way."""
    if m.kind != "ramp" or m.direction is None:
        return m.kind
    known = dict(directions_of(on, env))
    sign = known.get(m.direction.text)
    if sign is None:
        env.error(
            "unknown-direction",
            f"{ref.text} has no direction {m.direction.text}",
            Label(m.direction.span, "not a direction it knows"),
            Label(on.entity.place, f"{ref.text} has {listed(known)}"),
            hints=did_you_mean(m.direction.text, known),
        )
        return None
    return "rising" if sign > 0 else "falling"


def _rate(m: tree.Modifier, ref: tree.Ref, on: Target, env: Env) -> Number | None:
    e = m.amount
    if too_deep(e, env):
        return None
    rate = number(e, env)
    wanted = per_second(on.unit)
    if rate is None:
        return None
    if rate.unit is not None and rate.unit.dimension != wanted.dimension and rate.unit.symbol in ("s", "ms", "min"):
        env.error(
            "ramp-is-a-rate",
            f"`{m.kind}` takes a speed, not a time",
            Label(e.span, "a time could mean the whole travel or only the rest of it"),
            hints=(f"write how fast {ref.text} goes, such as 45 {wanted.symbol}",),
        )
        return None
    if not in_dimension(e, rate, wanted, f"how fast {ref.text} goes", env):
        return None
    if rate.varies > Varies.STEPPED:
        tuned = rate.varies == Varies.TUNED
        env.error(
            "needs-steps" if tuned else "not-fixed",
            "a speed must be a fixed number, or tuned in steps",
            Label(e.span, how(rate)),
            hints=("write a number, a fact with one value, or a tune ... from ... to ... in steps of ...",),
        )
        return None
    if rate.low is None or rate.low <= 0:
        low = "not above 0" if rate.low is None else shown(rate.low, rate.unit or wanted)
        env.error(
            "negative-amount",
            "a speed must be above 0",
            Label(e.span, f"this is {low}" if rate.varies == Varies.FIXED else f"this can be {low}"),
            hints=("write a positive speed; the direction is the word before it",),
        )
        return None
    return rate.number
