"""Facts, tunes, controls, values and samples: what number each of them is."""

from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import Mixed, in_dimension, sum_of
from latchproof.rules.durations import constant
from latchproof.rules.expressions import Held, NamedNumber, Output, Parameter, Reading
from latchproof.rules.kinds import number
from latchproof.rules.limits import NESTING, STEPS
from latchproof.rules.numbers import Amount, Varies, fixed
from latchproof.rules.scope import Entity, Env
from latchproof.rules.units import NO_UNIT, Unit
from latchproof.rules.walk import deeper_than
from latchproof.rules.words import shown
from latchproof.syntax import tree


def expressions_of(entity: Entity) -> tuple[tree.Expr, ...]:
    """What the unit and bounds of a named number hang on."""
    match entity.node:
        case tree.Fact(value=value, to=to):
            return (value,) if to is None else (value, to)
        case tree.Tune(value=value, range=bounds, steps=steps):
            return (value, bounds.low, bounds.high) if steps is None else (value, bounds.low, bounds.high, steps)
        case tree.Value(value=value) | tree.Binding(value=value):
            return (value,)
        case tree.Sample(value=value, first=first):
            return (value, first)
        case tree.Control(range=bounds):
            return (bounds.low, bounds.high)
        case tree.Sensor(clauses=clauses):
            return tuple(e for c in clauses if c.kind in ("reads", "reads_value") for e in c.expressions)
        case tree.Channel(clauses=clauses):
            return tuple(e for c in clauses if isinstance(c, tree.Clause) and c.kind == "ends" for e in c.expressions)
        case _:
            return ()


def amount_of(entity: Entity, env: Env) -> Amount | None:
    """The number that a name stands for; None after an error."""
    inside = env.named(entity)
    if any(too_deep(e, inside) for e in expressions_of(entity)):
        return None
    match entity.node:
        case tree.Fact():
            f = fact(entity.node, entity.name, inside)
            if f is None:
                return None
            if f.low == f.high:
                return fixed(f.low, f.unit, f.span)
            return Amount(Parameter(f.name, span=f.span), f.unit, Varies.TUNED, f.low, f.high)
        case tree.Tune():
            t = tune(entity.node, entity.name, inside)
            if t is None:
                return None
            varies = Varies.STEPPED if t.steps else Varies.TUNED
            return Amount(Parameter(t.name, span=t.span), t.unit, varies, t.low, t.high, degree=1 if t.steps else 0)
        case tree.Value(value=value) | tree.Binding(value=value):
            return number(value, inside)
        case tree.Sample():
            return _sample(entity, entity.node, inside)
        case tree.Control():
            bounds = declared_range(entity.node.range, entity.name, inside)
            if bounds is None:
                return None
            low, high, unit = bounds
            return Amount(Held(entity.name, span=entity.place), unit, Varies.FLYING, low, high, held=True)
        case tree.Sensor():
            return _sensor(entity, entity.node, inside)
        case tree.Channel():
            ends = next((c for c in entity.node.clauses if isinstance(c, tree.Clause) and c.kind == "ends"), None)
            bounds = None if ends is None else declared_range(_as_range(ends), entity.name, inside)
            if bounds is None:
                return None
            low, high, unit = bounds
            return Amount(Output(entity.name, span=entity.place), unit, Varies.FLYING, low, high)
        case tree.Counter():
            limit = next((c for c in entity.node.clauses if c.kind == "limit"), None)
            most = None
            if limit is not None and isinstance(limit.expressions[0], tree.Quantity):
                most = limit.expressions[0].value
            return Amount(NamedNumber(entity.name, span=entity.place), NO_UNIT, Varies.FLYING, Fraction(0), most)
        case _:
            return None


def too_deep(e: tree.Expr, env: Env) -> bool:
    """Whether the expression is nested beyond reason; reported if so."""
    if not deeper_than(NESTING, e):
        return False
    env.error(
        "too-deep",
        f"more than {NESTING} levels in one expression",
        Label(e.span, "nested too deep"),
        hints=("give the pieces names with `signal` or `value`",),
    )
    return True


def _sample(entity: Entity, s: tree.Sample, env: Env) -> Amount | None:
    value, first = number(s.value, env), number(s.first, env)
    if value is None or first is None:
        return None
    unit = sum_of(s.value, value, s.first, first, "is", env)
    if isinstance(unit, Mixed):
        return None
    low = None if value.low is None or first.low is None else min(value.low, first.low)
    high = None if value.high is None or first.high is None else max(value.high, first.high)
    return Amount(NamedNumber(entity.name, span=entity.place), unit, Varies.FLYING, low, high, value.measured)


def _sensor(entity: Entity, s: tree.Sensor, env: Env) -> Amount | None:
    reads = next((c for c in s.clauses if c.kind == "reads"), None)
    bounds = None if reads is None else declared_range(_as_range(reads), entity.name, env)
    if bounds is None:
        return None
    low, high, unit = bounds
    for clause in s.clauses:
        if clause.kind == "reads_value":
            stale = constant(clause.expressions[0], env, "what a stale sensor reads")
            if stale is not None and stale.constant is not None:
                low, high = min(low, stale.constant), max(high, stale.constant)
    return Amount(Reading(entity.name, span=entity.place), unit, Varies.FLYING, low, high, measured=True)


def _as_range(clause: tree.Clause) -> tree.Range:
    low, high = clause.expressions
    return tree.Range(low, high, span=low.span.to(high.span))


def declared_range(r: tree.Range, name: str, env: Env) -> tuple[Fraction, Fraction, Unit] | None:
    """A range that something is declared to have: two fixed numbers, the smaller one first."""
    low, high = constant(r.low, env, f"the range of {name}"), constant(r.high, env, f"the range of {name}")
    if low is None or high is None or low.constant is None or high.constant is None:
        return None
    unit = sum_of(r.low, low, r.high, high, "is", env)
    if isinstance(unit, Mixed) or unit is None:
        return None
    if low.constant >= high.constant:
        env.error(
            "empty-range",
            f"the range of {name} is empty",
            Label(r.low.span, f"from {shown(low.constant, low.unit or unit)} ..."),
            Label(r.high.span, f"... to {shown(high.constant, high.unit or unit)}, which is not more"),
            hints=("write the smaller number first",),
        )
        return None
    return low.constant, high.constant, unit


def basis(b: tree.Basis | None) -> model.Basis | None:
    if b is None:
        return None
    return model.Basis(b.kind, b.date, None if b.note is None else b.note.value)


def fact(s: tree.Fact, name: str, env: Env) -> model.Fact | None:
    low = constant(s.value, env, f"the fact {name}")
    if low is None or low.constant is None or low.unit is None:
        return None
    if s.to is None:
        return model.Fact(name, low.constant, low.constant, low.unit, basis(s.basis), span=s.span)
    high = constant(s.to, env, f"the fact {name}")
    if high is None or high.constant is None or isinstance(sum_of(s.value, low, s.to, high, "is", env), Mixed):
        return None
    if low.constant > high.constant:
        env.error(
            "empty-range",
            f"the span of {name} is empty",
            Label(s.value.span, f"{shown(low.constant, low.unit)} ..."),
            Label(s.to.span, f"... to {shown(high.constant, low.unit)}, which is less"),
            hints=("write the smaller number first",),
        )
        return None
    return model.Fact(name, low.constant, high.constant, low.unit, basis(s.basis), span=s.span)


def tune(s: tree.Tune, name: str, env: Env) -> model.Tune | None:
    value = constant(s.value, env, f"the tune {name}")
    bounds = declared_range(s.range, name, env)
    if value is None or value.constant is None or value.unit is None or bounds is None:
        return None
    low, high, unit = bounds
    if not in_dimension(s.value, value, unit, name, env):
        return None
    if not low <= value.constant <= high:
        env.error(
            "outside-range",
            f"{name} is outside its own range",
            Label(s.value.span, f"{shown(value.constant, value.unit)} ..."),
            Label(s.range.span, "... is not in this range"),
            hints=("widen the range, or choose a value inside it",),
        )
        return None
    steps = () if s.steps is None else _steps(s, s.steps, name, value.constant, (low, high), unit, env)
    return None if steps is None else model.Tune(name, value.constant, low, high, value.unit, steps, span=s.span)


def _steps(
    s: tree.Tune, e: tree.Expr, name: str, value: Fraction, bounds: tuple[Fraction, Fraction], unit: Unit, env: Env
) -> tuple[Fraction, ...] | None:
    step = constant(e, env, "the step")
    if step is None or step.constant is None or not in_dimension(e, step, unit, "the step", env):
        return None
    low, high = bounds
    if step.constant <= 0:
        env.error(
            "steps-do-not-fit",
            "a step must be above 0",
            Label(e.span, f"this is {shown(step.constant, unit)}"),
            hints=("write a step above 0",),
        )
        return None
    count, rest = divmod(high - low, step.constant)
    if rest:
        last = low + count * step.constant
        env.error(
            "steps-do-not-fit",
            f"these steps do not end where the range of {name} ends",
            Label(e.span, f"the last step comes to {shown(last, unit)}"),
            Label(s.range.high.span, "the range goes on to here"),
            hints=(f"end the range at {shown(last, unit)}, or choose a step that divides it",),
        )
        return None
    if count + 1 > STEPS:
        env.error(
            "too-many-steps",
            f"{name} would take {count + 1} values",
            Label(e.span, f"each value is one proof; {STEPS} are the most"),
            hints=(_fewer_steps(value - low, high - low, unit),),
        )
        return None
    if (value - low) % step.constant:
        env.error(
            "steps-do-not-fit",
            f"{name} is not on one of its own steps",
            Label(s.value.span, "between two steps"),
            Label(e.span, f"counted from {shown(low, unit)}"),
            hints=(f"write {shown(low + (value - low) // step.constant * step.constant, unit)}, or another step",),
        )
        return None
    return tuple(low + i * step.constant for i in range(int(count) + 1))


def _fewer_steps(value: Fraction, width: Fraction, unit: Unit) -> str:
    """The smallest step that a person would say and that fits."""
    for count in range(STEPS - 1, 0, -1):
        step = width / count
        if not value % step and (step / unit.factor * 100).denominator == 1:
            return f"write in steps of {shown(step, unit)}"
    return f"choose range and step so that it takes at most {STEPS} values"
