"""Latches, counters, signals, values and samples."""

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.clauses import at_most_once, missing
from latchproof.rules.durations import duration
from latchproof.rules.expressions import Signal
from latchproof.rules.limits import COUNT
from latchproof.rules.quantities import too_deep
from latchproof.rules.scope import Env
from latchproof.rules.signals import signal
from latchproof.syntax import tree


def checked_signal(e: tree.Expr, env: Env) -> Signal | None:
    """A signal that stands by itself in a statement."""
    return None if too_deep(e, env) else signal(e, env)


def latch(s: tree.Latch, name: str, env: Env) -> model.Latch | None:
    sets: list[Signal | None] = []
    resets: list[Signal | None] = []
    wins: list[tree.Clause] = []
    timeouts: list[tree.Timeout] = []
    for clause in s.clauses:
        match clause:
            case tree.Timeout():
                timeouts.append(clause)
            case tree.Clause(kind="set_when"):
                sets.append(checked_signal(clause.expressions[0], env))
            case tree.Clause(kind="reset_when"):
                resets.append(checked_signal(clause.expressions[0], env))
            case _:
                wins.append(clause)
    at_most_once((c.span for c in wins), "`set wins`", env)
    at_most_once((t.span for t in timeouts), f"the time-out of {name}", env)
    if not sets:
        missing(s.name.span, name, "can never be set", "no `set when` here", "set when ...", env)
    if sets and not resets and not timeouts and not env.comment_in(s.span):
        _never_off(s, name, env)
    timeout = _timeout(timeouts[0], env) if timeouts else None
    if not sets or None in sets or None in resets or (timeouts and timeout is None):
        return None
    return model.Latch(
        name, tuple(x for x in sets if x), tuple(x for x in resets if x), bool(wins), timeout, span=s.span
    )


def _never_off(s: tree.Latch, name: str, env: Env) -> None:
    """A forgotten line far more often than a wish; a comment inside says that it is one."""
    env.warn(
        "no-reset",
        f"{name} stays on until power-off",
        Label(s.name.span, "no `reset when` and no `timeout`"),
        hints=(f"add `reset when ...`; if {name} is to stay on, say so in a comment inside its braces",),
    )


def _timeout(t: tree.Timeout, env: Env) -> model.Timeout | None:
    if any(e is not None and too_deep(e, env) for e in (t.duration, t.blocked_for, t.blocked_until)):
        return None
    lasts = duration(t.duration, env)
    until = None if t.blocked_until is None else signal(t.blocked_until, env)
    blocked = None if t.blocked_for is None else duration(t.blocked_for, env)
    if (
        lasts is None
        or (t.blocked_until is not None and until is None)
        or (t.blocked_for is not None and blocked is None)
    ):
        return None
    return model.Timeout(lasts, until, blocked, span=t.span)


def counter(s: tree.Counter, name: str, env: Env) -> model.Counter | None:
    counts = [c for c in s.clauses if c.kind == "counts"]
    limits = [c for c in s.clauses if c.kind == "limit"]
    at_most_once((c.span for c in counts), f"what {name} counts", env)
    at_most_once((c.span for c in limits), f"the limit of {name}", env)
    clears = [checked_signal(c.expressions[0], env) for c in s.clauses if c.kind == "clears"]
    if not counts:
        missing(s.name.span, name, "counts nothing", "no `counts` here", "counts SIGNAL", env)
    if not limits:
        missing(
            s.name.span,
            name,
            "has no limit",
            "no `at most` here",
            "at most 5, where it stops",
            env,
            "counter-needs-limit",
        )
    counted = checked_signal(counts[0].expressions[0], env) if counts else None
    limit = whole(limits[0].expressions[0], 1, COUNT, f"the limit of {name}", env) if limits else None
    if counted is None or limit is None or None in clears:
        return None
    return model.Counter(name, counted, tuple(x for x in clears if x), limit, span=s.span)


def whole(e: tree.Expr, least: int, most: int, what: str, env: Env) -> int | None:
    """A whole number without a unit, written out."""
    if isinstance(e, tree.Quantity) and e.unit is None and e.value.denominator == 1 and least <= e.value <= most:
        return int(e.value)
    env.error(
        "whole-number",
        f"{what} is a whole number from {least} to {most}",
        Label(e.span, "not such a number"),
        hints=(f"write a whole number, such as {max(least, 5)}",),
    )
    return None
