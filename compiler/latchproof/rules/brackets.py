"""The shape of an expression, before its names are looked at: what reads two ways is refused, with both repairs."""

from latchproof.diagnostics import Label
from latchproof.rules.scope import Env
from latchproof.source import Span
from latchproof.syntax import tree

_QUESTION = {
    "for": "what lasts {}?",
    "extended": "what is extended by {}?",
    "pulsed": "what starts the pulse of {}?",
    "begins": "what begins?",
    "ends": "what ends?",
}


def junction_is_plain(e: tree.Junction, env: Env) -> bool:
    """`and` with `and`, or `or` with `or`; and no timing behind more than the first of them."""
    if len(set(e.connectives)) > 1:
        _mixed(e, env)
        return False
    for i, operand in enumerate(e.operands[1:], start=1):
        if isinstance(operand, tree.Operand) and operand.timing is not None:
            _what_lasts(e, i, operand, operand.timing, env)
            return False
    return True


def operand_is_plain(e: tree.Operand, env: Env) -> bool:
    """Not both `not` and a timing."""
    if not e.negated or e.timing is None:
        return True
    timing, test = _timing(e.timing, env), env.text(e.test.span)
    env.error(
        "what-lasts",
        _question(e.timing, env),
        Label(e.timing.span, f"this belongs either to {test or 'the test'} ..."),
        Label(_until(e.span, e.test.span), "... or to this, `not` and all"),
        hints=(
            f"write not ({test} {timing})     the test is timed, then turned round",
            f"(not {test}) {timing}     it is timed while the test is not true",
        )
        if test
        else ("put brackets round what is meant",),
    )
    return False


def _mixed(e: tree.Junction, env: Env) -> None:
    change = next(i for i in range(len(e.connectives) - 1) if e.connectives[i] != e.connectives[i + 1])
    env.error(
        "and-or-mixed",
        "and / or without brackets",
        Label(e.operands[change].span.to(e.operands[change + 1].span), "either these belong together ..."),
        Label(e.operands[change + 1].span.to(e.operands[change + 2].span), "... or these"),
        hints=_bracketings(e, env),
    )


def _bracketings(e: tree.Junction, env: Env) -> tuple[str, ...]:
    texts = [env.text(o.span) for o in e.operands]
    if not all(texts):
        return ("put brackets round what belongs together",)
    return (f"write {_bound_by('and', texts, e)}", f"{_bound_by('or', texts, e)}")


def _bound_by(first: str, texts: list[str], e: tree.Junction) -> str:
    """The text with brackets round every run of the connective `first`."""
    runs: list[list[str]] = [[texts[0]]]
    for connective, text in zip(e.connectives, texts[1:], strict=True):
        if connective == first:
            runs[-1].append(text)
        else:
            runs.append([text])
    other = "or" if first == "and" else "and"
    return f" {other} ".join(r[0] if len(r) == 1 else f"({f' {first} '.join(r)})" for r in runs)


def _what_lasts(e: tree.Junction, i: int, operand: tree.Operand, timing: tree.Timing, env: Env) -> None:
    connective = e.connectives[0]
    texts = [env.text(o.span) for o in e.operands[:i]]
    last = env.text(_until(operand.span, operand.test.span))
    rest = [env.text(o.span) for o in e.operands[i + 1 :]]
    when = _timing(timing, env)
    tail = "".join(f" {connective} {r}" for r in rest)
    if all(texts) and last:
        before = f" {connective} ".join(texts)
        hints: tuple[str, ...] = (
            f"write ({before} {connective} {last}) {when}{tail}     all of it, the usual meaning in a guard",
            f"{before} {connective} ({last} {when}){tail}     only {last}",
        )
    else:
        hints = ("put brackets round what is meant",)
    env.error(
        "what-lasts",
        _question(timing, env),
        Label(timing.span, "this belongs either to the last test ..."),
        Label(_until(e.operands[0].span, operand.test.span), "... or to all of it"),
        hints=hints,
    )


def _until(start: Span, end: Span) -> Span:
    """From the start of the one to the end of the other, which may be shorter."""
    return Span(start.source, start.start, end.end)


def _timing(timing: tree.Timing, env: Env) -> str:
    return timing.kind if timing.duration is None else f"{timing.kind} {env.text(timing.duration.span)}".strip()


def _question(timing: tree.Timing, env: Env) -> str:
    duration = "" if timing.duration is None else env.text(timing.duration.span)
    return _QUESTION[timing.kind].format(duration or "this long")
