"""The tree as words: one line of text for each piece, with marks where a long line may be broken.

A mark is a private character that no rule file can hold; the lower its level, the sooner the line is broken there.
"""

from typing import assert_never

from latchproof.syntax import tree

_FIRST_MARK = 0xE000
_LEVELS = 200


def mark(level: int) -> str:
    """A space at which a line may be broken."""
    return chr(_FIRST_MARK + min(level, _LEVELS - 1))


MARKS = {chr(_FIRST_MARK + level): level for level in range(_LEVELS)}
FORM = 1
"""Level of the words that join the parts of a claim; `and` and `or` come behind, the deeper in brackets the later."""

SIGNAL = 2


def quantity(q: tree.Quantity) -> str:
    return f"{q.digits} {q.unit}" if q.unit else q.digits


def text(t: tree.Text) -> str:
    return f'"{t.value}"'


def names(items: tuple[tree.Name, ...] | tuple[tree.Ref, ...]) -> str:
    return ", ".join(i.text for i in items)


def expression(e: tree.Expr, level: int = SIGNAL) -> str:
    match e:
        case tree.Quantity():
            return quantity(e)
        case tree.Ref():
            return e.text
        case tree.Negative(operand=operand):
            return f"-{expression(operand, level)}"
        case tree.Binary(operator=operator, left=left, right=right):
            return f"{expression(left, level)} {operator} {expression(right, level)}"
        case tree.Group(inner=inner):
            return f"({expression(inner, level + 1)})"
        case tree.Of(function=function, arguments=arguments, bracketed=bracketed):
            listed = f",{mark(level + 1)}".join(expression(a, level + 2) for a in arguments)
            return f"{function.text} of ({listed})" if bracketed else f"{function.text} of {listed}"
        case tree.Test(subject=subject, negated=negated, predicate=predicate):
            return f"{expression(subject, level)} is {'not ' * negated}{_predicate(predicate, level)}"
        case tree.Operand(negated=negated, test=test, timing=timing):
            behind = "" if timing is None else f" {_timing(timing, level)}"
            return f"{'not ' * negated}{expression(test, level)}{behind}"
        case tree.Junction(operands=operands, connectives=connectives):
            rest = (f"{mark(level)}{c} {expression(o, level)}" for c, o in zip(connectives, operands[1:], strict=True))
            return expression(operands[0], level) + "".join(rest)
        case _:
            assert_never(e)


def _predicate(p: tree.Predicate, level: int) -> str:
    match p:
        case tree.Compared(relation=relation, bound=bound, until=until):
            first = f"{relation} {expression(bound, level)}"
            return first if until is None else f"{first} until {until[0]} {expression(until[1], level)}"
        case tree.EqualTo(bound=bound):
            return f"equal to {expression(bound, level)}"
        case tree.Inside(low=low, high=high):
            return f"from {expression(low, level)} to {expression(high, level)}"
        case tree.InState(state=state):
            return state.text
        case _:
            assert_never(p)


def _timing(t: tree.Timing, level: int) -> str:
    return t.kind if t.duration is None else f"{t.kind} {expression(t.duration, level)}"


def span_of(r: tree.Range) -> str:
    return f"from {expression(r.low)} to {expression(r.high)}"


def basis(b: tree.Basis) -> str:
    return " ".join((b.kind, *((b.date,) if b.date else ()), *((text(b.note),) if b.note else ())))


# ---------- clauses


_CLAUSE_WORDS = {
    "step": "step",
    "frame_every": "frame every",
    "stale_after": "stale after",
    "keeps_value": "once stale keeps value",
    "reads_value": "once stale reads",
    "error": "error",
    "lag": "lag",
    "follows": "follows",
    "rests_at": "rests at",
    "trim": "trim at most",
    "set_when": "set when",
    "reset_when": "reset when",
    "set_wins": "set wins",
    "counts": "counts",
    "clears": "clears when",
    "limit": "at most",
    "first_frame": "first frame after",
}
_RANGES = {"reads": "", "ends": "", "changes": "changes "}


def clause_words(c: tree.Clause) -> str:
    """The words a clause begins with."""
    return _CLAUSE_WORDS[c.kind]


def clause(c: tree.Clause) -> str:
    """A clause without its basis."""
    if c.kind in _RANGES:
        low, high = c.expressions
        return f"{_RANGES[c.kind]}from {expression(low)} to {expression(high)}"
    if c.kind == "direction" and c.name is not None:
        return f"{c.name.text} is {c.word}"
    match c.kind, c.name:
        case "device_reads", tree.Name(text=first):
            return f"reads {first} {c.word}"
        case "starts", name:
            return f"starts {name.text if name else c.word}"
        case "gives", tree.Name(text=signal):
            return f"gives {signal} for {expression(c.expressions[0])}"
    return " ".join((clause_words(c), *(expression(e) for e in c.expressions)))


def table(t: tree.FollowsTable) -> str:
    rows = f",{mark(SIGNAL)}".join(f"{r.position.text} {expression(r.value)}" for r in t.rows)
    return f"follows {t.switch.text} as {rows}"


def timeout(t: tree.Timeout) -> tuple[str, ...]:
    first = f"timeout {expression(t.duration)}"
    if t.blocked_until is not None:
        return first, f"then blocked until {expression(t.blocked_until)}"
    if t.blocked_for is not None:
        return first, f"then blocked for {expression(t.blocked_for)}"
    return (first,)


def modifier(m: tree.Modifier) -> str:
    return " ".join((m.kind, *((m.direction.text,) if m.direction else ()), expression(m.amount)))


def action(a: tree.Action) -> tuple[str, ...]:
    """What is done, then each modifier."""
    match a:
        case tree.Drive():
            first = f"drive {names(a.channels)} to {expression(a.target)}"
        case tree.Move():
            first = f"move {names(a.channels)} {a.direction.text} by {expression(a.amount)}"
        case tree.Limit():
            first = f"limit {names(a.channels)} to at {a.bound} {expression(a.amount)}"
        case tree.Announce():
            said = f"announce {a.means.text}" + (f" {text(a.text)}" if a.text else "")
            return (said, f"every {expression(a.every)}") if a.every else (said,)
        case _:
            assert_never(a)
    return (first, *(modifier(m) for m in a.modifiers))


# ---------- claims


def form(f: tree.Form) -> str:
    m = mark(FORM)
    match f:
        case tree.Never(signal=signal):
            return f"never {expression(signal)}"
        case tree.Always(signal=signal):
            return f"always {expression(signal)}"
        case tree.Whenever(cause=cause, effect=effect, within=within):
            first = f"whenever {expression(cause)}{m}then {expression(effect)}"
            return first if within is None else f"{first} within {expression(within)}"
        case tree.StartsAtMost():
            return f"starts of {expression(f.signal)}{m}at most {quantity(f.count)} in {expression(f.window)}"
        case tree.QuietAfter():
            return f"for {expression(f.duration)} after {expression(f.cause)}{m}never {expression(f.never)}"
        case tree.LengthOf():
            return f"length of {expression(f.signal)}{m}at {f.bound} {expression(f.duration)}"
        case tree.StepOf():
            return f"step of {expression(f.number)}{m}at most {expression(f.most)} in {expression(f.window)}"
        case tree.Can(stages=stages):
            return "can " + f"{m}then ".join(expression(s) for s in stages)
        case tree.Before(signal=signal, first=before):
            return f"before {expression(signal)}{m}comes {expression(before)}"
        case _:
            assert_never(f)


def scope(s: tree.Scope) -> str:
    return f"{s.kind} {expression(s.signal)}"
