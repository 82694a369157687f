"""One test: `X is P`."""

from typing import Literal, assert_never

from latchproof.diagnostics import Label
from latchproof.rules.about import single
from latchproof.rules.agreement import Mixed, call, in_dimension, sum_of
from latchproof.rules.expressions import (
    AllOf,
    AtPosition,
    Band,
    ChannelState,
    Comparison,
    Not,
    Order,
    Pressed,
    RateComparison,
    SensorState,
    Signal,
)
from latchproof.rules.kinds import NUMBER_KINDS, number, rate_needs_number
from latchproof.rules.numbers import Amount
from latchproof.rules.scope import Entity, Env, found, look_up
from latchproof.rules.suggest import did_you_mean, listed, one_of
from latchproof.rules.units import NO_UNIT, Unit
from latchproof.rules.walk import bare
from latchproof.rules.words import BUTTON_STATES, CHANNEL_STATES, KIND, SENSOR_STATES, per_second, shown
from latchproof.source import Span
from latchproof.syntax import tree

_ORDER: dict[tree.Relation, Order] = {"below": "<", "above": ">", "at least": ">=", "at most": "<="}
_OPPOSITE: dict[tree.Relation, tree.Relation] = {
    "below": "at least", "above": "at most", "at least": "below", "at most": "above",
}  # fmt: skip
_CHANNEL_STATE: dict[str, Literal["free", "driven", "moved", "limited"]] = {
    "free": "free",
    "driven": "driven",
    "moved": "moved",
    "limited": "limited",
}
_SENSOR_STATE: dict[str, Literal["stale", "fresh", "heard"]] = {"stale": "stale", "fresh": "fresh", "heard": "heard"}
_UPWARD = ("above", "at least")


def test(e: tree.Test, env: Env) -> Signal | None:
    if isinstance(e.predicate, tree.InState):
        state = _state(e, e.predicate, env)
        return Not(state, span=e.span) if state is not None and e.negated else state
    compared = _rate(e, e.predicate, env) if is_rate(e.subject) else _comparison(e, e.predicate, env)
    if e.negated and compared is not None:
        _negated(e, e.predicate, env)
        return None
    return compared


def _negated(e: tree.Test, p: tree.Compared | tree.EqualTo | tree.Inside, env: Env) -> None:
    subject, bound = env.text(e.subject.span), env.text(p.span)
    if isinstance(p, tree.Compared) and p.until is None:
        hint = f"write {subject} is {_OPPOSITE[p.relation]} {env.text(p.bound.span)}"
    else:
        hint = f"write not ({subject} is {bound.removeprefix('is ')})"
    env.error(
        "negated-comparison",
        "a comparison is not turned round with `not`",
        Label(e.span, "says it backwards"),
        hints=(hint,),
    )


# ---------- comparisons of numbers


def _comparison(e: tree.Test, p: tree.Compared | tree.EqualTo | tree.Inside, env: Env) -> Signal | None:
    subject = number(e.subject, env)
    match p:
        case tree.Compared(bound=bound, until=None):
            right = _against(e.subject, subject, bound, env)
            if subject is None or right is None:
                return None
            return Comparison(subject.number, _ORDER[p.relation], right.number, span=e.span)
        case tree.Compared(until=(_, _)):
            return _band(e, subject, p, env)
        case tree.EqualTo(bound=bound):
            right = _against(e.subject, subject, bound, env)
            if subject is None or right is None:
                return None
            if (subject.measured or right.measured) and not e.negated:
                equal_measured(e, env)
            elif (subject.held or right.held) and not e.negated and not env.promise:
                _equal_stick(e, *((e.subject, subject, right) if subject.held else (bound, right, subject)), env)
            return Comparison(subject.number, "==", right.number, span=e.span)
        case tree.Inside(low=low, high=high):
            least, most = _against(e.subject, subject, low, env), _against(e.subject, subject, high, env)
            if subject is None or least is None or most is None or not _ordered(low, least, high, most, env):
                return None
            return AllOf(
                (
                    Comparison(subject.number, ">=", least.number, span=e.span),
                    Comparison(subject.number, "<=", most.number, span=e.span),
                ),
                span=e.span,
            )
        case _:
            raise AssertionError(p)


def _against(subject_e: tree.Expr, subject: Amount | None, bound_e: tree.Expr, env: Env) -> Amount | None:
    """The other side, if it goes together with the subject."""
    bound = number(bound_e, env)
    if subject is None or bound is None:
        return None
    return None if isinstance(sum_of(subject_e, subject, bound_e, bound, "is", env), Mixed) else bound


def _ordered(low_e: tree.Expr, low: Amount, high_e: tree.Expr, high: Amount, env: Env) -> bool:
    if low.low is None or high.high is None or low.low <= high.high:
        return True
    env.error(
        "empty-range",
        "nothing lies in this range",
        Label(low_e.span, f"from {shown(low.low, low.unit or NO_UNIT)} ..."),
        Label(high_e.span, f"... to {shown(high.high, high.unit or NO_UNIT)}, which is less"),
        hints=("write the smaller number first",),
    )
    return False


def equal_measured(e: tree.Test, env: Env) -> None:
    subject = call(e.subject, env)
    env.warn(
        "equal-measured",
        "a measured number is hardly ever equal to another one",
        Label(e.span, "true only when both are exactly the same"),
        hints=(f"write {subject} is at least ..., or {subject} is from ... to ...",),
    )


def _equal_stick(e: tree.Test, stick_e: tree.Expr, stick: Amount, other: Amount, env: Env) -> None:
    """A rule that waits for a stick at exactly 0 %: a stick trembles, and its stop may read 1 %."""
    fixed, unit = other.constant, other.unit
    near = "from ... to ..."
    if fixed is not None and unit is not None and unit.symbol == "%":
        more, less = (shown(fixed + sign * 2 * unit.factor, unit) for sign in (1, -1))
        near = f"at most {more}" if fixed == stick.low else f"at least {less}"
        near = near if fixed in (stick.low, stick.high) else f"from {less} to {more}"
    env.warn(
        "equal-stick",
        "a stick or knob may never read exactly this",
        Label(e.span, "true only when it is exactly the same"),
        hints=(f"write {call(stick_e, env)} is {near}",),
    )


def _band(e: tree.Test, subject: Amount | None, p: tree.Compared, env: Env) -> Signal | None:
    assert p.until is not None
    until, leave_e = p.until
    enter, leave = _against(e.subject, subject, p.bound, env), _against(e.subject, subject, leave_e, env)
    if subject is None or enter is None or leave is None:
        return None
    if (p.relation in _UPWARD) == (until in _UPWARD):
        other = "below" if p.relation in _UPWARD else "above"
        env.error(
            "crossed-thresholds",
            "two thresholds that look the same way",
            Label(p.bound.span, f"begins {p.relation} this ..."),
            Label(leave_e.span, f"... and would end {until} this"),
            hints=(f"write {p.relation} ... until {other} ...",),
        )
        return None
    crossed = _surely_below(enter, leave) if p.relation in _UPWARD else _surely_below(leave, enter)
    if crossed:
        env.error(
            "crossed-thresholds",
            "the two thresholds are the wrong way round",
            Label(p.bound.span, f"begins {p.relation} this ..."),
            Label(leave_e.span, f"... where it would already have ended: {until} this"),
            hints=("exchange the two numbers",),
        )
        return None
    return Band(subject.number, (_ORDER[p.relation], enter.number), (_ORDER[until], leave.number), span=e.span)


def _surely_below(a: Amount, b: Amount) -> bool:
    return a.high is not None and b.low is not None and a.high < b.low


# ---------- rates


def is_rate(e: tree.Expr) -> bool:
    """`rate of X` or `size of (rate of X)`."""
    inner = bare(e)
    if isinstance(inner, tree.Of) and inner.function.text == "size" and len(inner.arguments) == 1:
        inner = bare(inner.arguments[0])
    return isinstance(inner, tree.Of) and inner.function.text == "rate"


def _rate(e: tree.Test, p: tree.Compared | tree.EqualTo | tree.Inside, env: Env) -> Signal | None:
    outer = bare(e.subject)
    assert isinstance(outer, tree.Of)
    size = outer.function.text == "size"
    inner = bare(outer.arguments[0]) if size else outer
    assert isinstance(inner, tree.Of)
    argument = single(inner, env)
    subject = None if argument is None else number(argument, env)
    unit = None if subject is None or subject.unit is None else per_second(subject.unit)

    def compare(order: Order, bound_e: tree.Expr) -> RateComparison | None:
        bound = _rate_bound(bound_e, unit, call(inner, env), env)
        if subject is None or bound is None or bound.constant is None:
            return None
        return RateComparison(subject.number, order, bound.constant, bound.unit or NO_UNIT, size, span=e.span)

    match p:
        case tree.Compared(bound=bound, until=None):
            return compare(_ORDER[p.relation], bound)
        case tree.Compared():
            env.error(
                "rate-needs-number",
                "two thresholds do not go with a rate",
                Label(e.span, "a rate is compared with one number"),
                hints=("use a latch: set when the rate is above the one, reset when it is below the other",),
            )
            return None
        case tree.EqualTo(bound=bound):
            equal = compare("==", bound)
            if equal is not None and subject is not None and subject.measured and not e.negated:
                equal_measured(e, env)
            return equal
        case tree.Inside(low=low, high=high):
            least, most = compare(">=", low), compare("<=", high)
            if least is None or most is None:
                return None
            if least.bound > most.bound:
                env.error(
                    "empty-range",
                    "nothing lies in this range",
                    Label(low.span, f"from {shown(least.bound, least.unit)} ..."),
                    Label(high.span, f"... to {shown(most.bound, most.unit)}, which is less"),
                    hints=("write the smaller number first",),
                )
                return None
            return AllOf((least, most), span=e.span)
        case _:
            assert_never(p)


def _rate_bound(e: tree.Expr, unit: Unit | None, what: str, env: Env) -> Amount | None:
    bound = number(e, env)
    if bound is None:
        return None
    if bound.constant is None:
        rate_needs_number(e, env)
        return None
    return bound if unit is None or in_dimension(e, bound, unit, what, env) else None


# ---------- states and positions


def _state(e: tree.Test, p: tree.InState, env: Env) -> Signal | None:
    subject = bare(e.subject)
    if not isinstance(subject, tree.Ref):
        env.error(
            "unknown-state",
            f"only a thing with a name can be {p.state.text}",
            Label(subject.span, "this is put together"),
            hints=("name a switch, button, sensor or channel here",),
        )
        return None
    entity = found(subject, env)
    if entity is None:
        return None
    if entity.kind == "sensor" and e.negated and p.state.text in ("stale", "fresh"):
        other = "fresh" if p.state.text == "stale" else "stale"
        env.error(
            "stale-is-not",
            f"not {p.state.text} has a word of its own",
            Label(e.span, "says it backwards"),
            hints=(f"write {subject.text} is {other}",),
        )
        return None
    return _in_state(e.span, subject, entity, p.state, env)


def _in_state(span: Span, subject: tree.Ref, entity: Entity, state: tree.Name, env: Env) -> Signal | None:
    word = state.text
    if not entity.guarded:
        match entity.kind, entity.node:
            case "switch", tree.Switch(positions=positions):
                names = [p.text for p in positions]
                if word in names:
                    return AtPosition(entity.name, names.index(word), span=span)
                _no_such(subject, entity, state, names, "unknown-position", env)
                return None
            case "button", _:
                if word in BUTTON_STATES:
                    pressed = Pressed(entity.name, span=span)
                    return pressed if word == "pressed" else Not(pressed, span=span)
                _no_such(subject, entity, state, BUTTON_STATES, "unknown-state", env)
                return None
            case "sensor", tree.Sensor():
                if word in _SENSOR_STATE:
                    return _sensor_state(span, subject, entity, entity.node, state, env)
                _no_such(subject, entity, state, SENSOR_STATES, "unknown-state", env)
                return None
            case (("channel" | "stick" | "knob"), _):
                if word in _CHANNEL_STATE:
                    return ChannelState(entity.name, _CHANNEL_STATE[word], span=span)
                _no_such(subject, entity, state, CHANNEL_STATES, "unknown-state", env)
                return None
            case _:
                pass
    _stateless(subject, entity, state, env)
    return None


def _no_such(
    subject: tree.Ref, entity: Entity, state: tree.Name, known: list[str] | tuple[str, ...], code: str, env: Env
) -> None:
    what = "position" if code == "unknown-position" else "state"
    env.error(
        code,
        f"{subject.text} has no {what} {state.text}",
        Label(state.span, f"it can be {listed(known, 'or')}"),
        Label(entity.place, f"{subject.text} is {KIND[entity.kind]}"),
        hints=_meant(subject, state, known, env),
    )


def _meant(subject: tree.Ref, state: tree.Name, known: list[str] | tuple[str, ...], env: Env) -> tuple[str, ...]:
    """What was probably meant; where nothing is alike all choices, since picking one would be a guess."""
    near = did_you_mean(state.text, known)
    named = look_up(tree.Ref((state,), span=state.span), env)
    if not near and named is not None and named.kind in NUMBER_KINDS:
        return (f"{state.text} is a number: write {subject.text} is below, at least or equal to {state.text}",)
    return near or (one_of(f"{subject.text} is {k}" for k in known[:5]),)


def _stateless(subject: tree.Ref, entity: Entity, state: tree.Name, env: Env) -> None:
    name = subject.text
    match entity.kind:
        case "signal" | "latch" | "phase" | "announcement" | "role":
            hints: tuple[str, ...] = (f"write {name}, or not {name}",)
        case "fact" | "tune" | "value" | "sample" | "counter":
            hints = (f"compare it: {name} is above ..., or {name} is below ...",)
        case _:
            hints = ()
    env.error(
        "unknown-state",
        f"{name} is {KIND[entity.kind]}: it cannot be {state.text}",
        Label(state.span, "only switches, buttons, sensors, channels, sticks and knobs have states"),
        Label(entity.place, f"{name} is {KIND[entity.kind]}"),
        hints=hints,
    )


def _sensor_state(
    span: Span, subject: tree.Ref, entity: Entity, node: tree.Sensor, state: tree.Name, env: Env
) -> Signal | None:
    word = _SENSOR_STATE[state.text]
    if word != "heard" and not any(c.kind == "stale_after" for c in node.clauses):
        env.error(
            "needs-stale-after",
            f"when does {subject.text} count as stale?",
            Label(state.span, f"{subject.text} says nothing of it"),
            Label(entity.place, "has no `stale after ...`"),
            hints=(f"add to sensor {subject.text}: stale after 2 s",),
        )
        return None
    return SensorState(entity.name, word, span=span)
