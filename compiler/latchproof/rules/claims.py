"""Claims, assumptions, requirements, roles and accepted hazards."""

import re
from dataclasses import replace
from typing import assert_never

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import Mixed, sum_of
from latchproof.rules.durations import duration
from latchproof.rules.expressions import Duration
from latchproof.rules.hazards import TITLES
from latchproof.rules.kinds import number
from latchproof.rules.limits import STARTS
from latchproof.rules.logic import checked_signal, whole
from latchproof.rules.numbers import Amount, Varies
from latchproof.rules.quantities import basis, too_deep
from latchproof.rules.scope import Env, look_up, unknown
from latchproof.rules.suggest import listed
from latchproof.rules.units import NO_UNIT
from latchproof.rules.words import KIND, Kind, shown
from latchproof.syntax import tree

_ROLE: dict[str, model.RoleName] = {
    "arm": "arm",
    "kill": "kill",
    "landing": "landing",
    "launch": "launch",
    "instructor": "instructor",
}


def claim(s: tree.Claim, name: str, env: Env) -> model.Claim | None:
    inside = replace(env, promise=True)
    form = _form(s.form, inside)
    scope = None if s.scope is None else _scope(s.scope, inside)
    arriving = _arriving(s.arriving, inside)
    if form is None or arriving is None or (s.scope is not None and scope is None):
        return None
    sentence = None if s.sentence is None else s.sentence.value
    strict = _strict(s.strictness, env)
    return model.Claim(name, sentence, _text(s.form, s.scope, env), form, scope, arriving, strict, span=s.span)


def _strict(word: tree.Name | None, env: Env) -> bool:
    if word is not None and word.text != "strict":
        env.error(
            "unknown-claim-word",
            f"a claim cannot be `{word.text}`",
            Label(word.span, "only `strict` may stand here"),
            hints=("a name is one word, with `_` in it: join the two", "put a sentence in quotation marks"),
        )
    return word is not None


def assumption(s: tree.Assume, name: str, env: Env) -> model.Assumption | None:
    inside = replace(env, promise=True)
    form = _form(s.form, inside)
    scope = None if s.scope is None else _scope(s.scope, inside)
    if form is None or (s.scope is not None and scope is None):
        return None
    sentence = None if s.sentence is None else s.sentence.value
    return model.Assumption(name, sentence, _text(s.form, s.scope, env), form, scope, basis(s.basis), span=s.span)


def _text(form: tree.Form, scope: tree.Scope | None, env: Env) -> str:
    return env.text(form.span if scope is None else form.span.to(scope.span))


def _scope(s: tree.Scope, env: Env) -> model.Scope | None:
    signal = checked_signal(s.signal, env)
    return None if signal is None else model.Scope(s.kind, signal, span=s.span)


def _arriving(names: tuple[tree.Name, ...], env: Env) -> tuple[str, ...] | None:
    sensors: list[str] = []
    fine = True
    for name in names:
        entity = look_up(tree.Ref((name,), span=name.span), env)
        if entity is None:
            if name.text not in env.scope.names:
                unknown(name, env, None, frozenset({"sensor"}))
            fine = False
            continue
        env.book.used.add(entity.name)
        if not isinstance(entity.node, tree.Sensor):
            env.error(
                "wrong-kind",
                f"{name.text} is {KIND[entity.kind]}: only a sensor keeps arriving",
                Label(name.span, "not a sensor"),
                Label(entity.place, f"{name.text} is {KIND[entity.kind]}"),
                hints=("name the sensors whose frames must not stop",),
            )
            fine = False
        elif not any(c.kind == "frame_every" for c in entity.node.clauses):
            env.error(
                "needs-frame-every",
                f"how often does {name.text} arrive?",
                Label(name.span, "is said to keep arriving"),
                Label(entity.place, "has no `frame every ...`"),
                hints=(f'add to sensor {name.text}: frame every 250 ms  measured "how"',),
            )
            fine = False
        elif entity.name in sensors:
            env.error(
                "repeated-clause",
                f"{name.text} is named twice",
                Label(name.span, "once more"),
                hints=("once is enough: take one out",),
            )
            fine = False
        else:
            sensors.append(entity.name)
    return tuple(sensors) if fine else None


# ---------- forms


def _form(f: tree.Form, env: Env) -> model.Form | None:
    match f:
        case tree.Never(signal=signal):
            s = checked_signal(signal, env)
            return None if s is None else model.Never(s, span=f.span)
        case tree.Always(signal=signal):
            s = checked_signal(signal, env)
            return None if s is None else model.Always(s, span=f.span)
        case tree.Whenever():
            cause, effect = checked_signal(f.cause, env), checked_signal(f.effect, env)
            within = None if f.within is None else _time(f.within, env, positive=False)
            if cause is None or effect is None or (f.within is not None and within is None):
                return None
            return model.Whenever(cause, effect, within, span=f.span)
        case tree.StartsAtMost():
            s, window = checked_signal(f.signal, env), _time(f.window, env)
            count = whole(f.count, 0, STARTS, "how often", env)
            if s is None or window is None or count is None:
                return None
            return model.StartsAtMost(s, count, window, span=f.span)
        case tree.QuietAfter():
            lasts, cause, never = _time(f.duration, env), checked_signal(f.cause, env), checked_signal(f.never, env)
            if lasts is None or cause is None or never is None:
                return None
            return model.QuietAfter(lasts, cause, never, span=f.span)
        case tree.LengthOf():
            s, lasts = checked_signal(f.signal, env), _time(f.duration, env)
            return None if s is None or lasts is None else model.LengthOf(s, f.bound, lasts, span=f.span)
        case tree.StepOf():
            return _step(f, env)
        case tree.Can(stages=stages):
            resolved = [checked_signal(x, env) for x in stages]
            good = tuple(x for x in resolved if x is not None)
            return model.Can(good, span=f.span) if len(good) == len(resolved) else None
        case tree.Before():
            s, first = checked_signal(f.signal, env), checked_signal(f.first, env)
            return None if s is None or first is None else model.Before(s, first, span=f.span)
        case _:
            assert_never(f)


def _time(e: tree.Expr, env: Env, positive: bool = True) -> Duration | None:
    return None if too_deep(e, env) else duration(e, env, positive=positive, still=True)


def _step(f: tree.StepOf, env: Env) -> model.StepOf | None:
    if too_deep(f.number, env) or too_deep(f.most, env):
        return None
    subject, most, window = number(f.number, env), number(f.most, env), _time(f.window, env)
    if subject is None or most is None or isinstance(sum_of(f.number, subject, f.most, most, "is", env), Mixed):
        return None
    if not _still(f.most, most, env) or window is None:
        return None
    return model.StepOf(subject.number, most.number, window, span=f.span)


def _still(e: tree.Expr, most: Amount, env: Env) -> bool:
    if most.varies == Varies.FLYING:
        env.error(
            "not-fixed", "the most that something may step must stand still", Label(e.span, "this changes in flight"),
            hints=("write a number, a fact or a tune",),
        )  # fmt: skip
        return False
    if most.low is not None and most.low < 0:
        can_be = "is" if most.varies == Varies.FIXED else "can be"
        env.error(
            "negative-amount",
            "a step has no sign",
            Label(e.span, f"this {can_be} {shown(most.low, most.unit or NO_UNIT)}"),
            hints=("write how far it may go, either way, as a positive number",),
        )
        return False
    return True


# ---------- roles and accepted hazards


def role(s: tree.Role, env: Env) -> model.Role | None:
    signal = checked_signal(s.signal, env)
    word = s.role.text
    return None if signal is None or word not in _ROLE else model.Role(_ROLE[word], signal, span=s.span)


def accepted(s: tree.Accept, env: Env) -> model.Accepted | None:
    code = s.hazard.text
    fine = True
    if code not in TITLES:
        number = re.fullmatch(r"[hH]0*([0-9]{1,2})", code)
        meant = f"H{int(number[1]):02}" if number else ""
        env.error(
            "unknown-hazard",
            f"there is no hazard {code}",
            Label(s.hazard.span, f"hazards are {min(TITLES)} to {max(TITLES)}"),
            hints=(f"did you mean `{meant}` ({TITLES[meant]})?",) if meant in TITLES else (),
        )
        fine = False
    place = None
    if s.rule is not None:
        entity = look_up(tree.Ref((s.rule,), span=s.rule.span), env)
        if entity is None and s.rule.text not in env.scope.names:
            unknown(s.rule, env, None, _FOUND_IN)
        elif entity is not None and entity.kind not in _FOUND_IN:
            env.error(
                "wrong-kind",
                f"{s.rule.text} is {KIND[entity.kind]}: nothing is found in it",
                Label(s.rule.span, "not a rule, latch, sensor, channel or tune"),
                Label(entity.place, f"{s.rule.text} is {KIND[entity.kind]}"),
                hints=(f"name what `latchproof hazards` finds it in, such as {listed(_rules(env)) or 'the rule'}",),
            )
        place = None if entity is None or entity.kind not in _FOUND_IN else entity.name
        fine = fine and place is not None
    return model.Accepted(code, place, s.reason.value, span=s.span) if fine else None


_FOUND_IN: frozenset[Kind] = frozenset({"rule", "sequence", "latch", "sensor", "channel", "tune", "stick", "knob"})
"""What a finding about a hazard may be about."""


def _rules(env: Env) -> list[str]:
    return [n for n, e in env.scope.names.items() if e is not None and e.kind in ("rule", "sequence")][:3]
