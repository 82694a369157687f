"""From reductions of the grammar to nodes of the tree: one function a production, by its name."""

import re
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Span
from latchproof.syntax import tree
from latchproof.syntax.lexing import Token

DEPTH_MOST = 100
"""How deeply a tree may be nested; a sum of n terms counts n."""

_DEEPENING = frozenset(("expr", "operand", "is_test", "negative", "group", "of_one", "of_many", "part"))
_NUMBER = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*(.*)", re.DOTALL)


def growth(name: str, children: int) -> int:
    """A construct that passes its only child on adds no level."""
    if name in ("sum", "product"):
        return (children - 1) // 2
    return int(name in _DEEPENING and children > (name in ("expr", "operand")))


class Builder:
    """Builds the nodes of one source. What only shows here, such as a date no calendar has, is kept in `faults`."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.faults: list[Diagnostic] = []

    def leaf(self, token: Token) -> Any:
        """What stands for a token among the children: a node where it carries meaning, else its text."""
        span = Span(self.source, token.start, token.end)
        match token.kind:
            case "NAME":
                return tree.Name(token.text, span=span)
            case "STRING":
                return tree.Text(token.text[1:-1], span=span)
            case "NUMBER" | "QUANTITY":
                found = _NUMBER.fullmatch(token.text)
                assert found is not None
                return tree.Quantity(found[1], Fraction(found[1]), found[2] or None, span=span)
            case "DATE":
                self.check_date(token.text, span)
                return token.text
            case "MINUS":
                return "-"
            case _:
                return token.text

    def check_date(self, text: str, span: Span) -> None:
        try:
            date.fromisoformat(text)
        except ValueError:
            self.faults.append(
                Diagnostic(
                    "no-such-date",
                    f"there is no {text} in the calendar",
                    (Label(span, "year-month-day"),),
                    ("write year-month-day, such as 2025-05-03",),
                )
            )

    def construct(self, name: str, children: list[Any], start: int, end: int) -> Any:
        return _CONSTRUCTS[name](children, Span(self.source, start, end))


Construct = Callable[[list[Any], Span], Any]


def _first(kind: type, children: list[Any]) -> Any:
    """The child of this type, or None."""
    return next((c for c in children if isinstance(c, kind)), None)


def _every(kind: type, children: list[Any]) -> tuple[Any, ...]:
    return tuple(c for c in children if isinstance(c, kind))


class _Part(tuple[Any, ...]):
    """Children that belong to the construct around them."""

    __slots__ = ()


class _Gives(_Part):
    """Names behind `gives`."""


class _Marked(_Part):
    """A clause word and an expression: `to E`, `within D`."""


def _marked(mark: str) -> Construct:
    return lambda c, s: _Marked((mark, *c))


def _mark(mark: str, children: list[Any]) -> Any:
    return next((c[1] for c in children if isinstance(c, _Marked) and c[0] == mark), None)


def _drop_marks(children: list[Any]) -> list[Any]:
    return [c for c in children if not isinstance(c, _Marked)]


# ---------- signals and numbers


def _expr(c: list[Any], s: Span) -> Any:
    return c[0] if len(c) == 1 else tree.Junction(tuple(c[::2]), tuple(c[1::2]), span=s)


def _operand(c: list[Any], s: Span) -> Any:
    if len(c) == 1:
        return c[0]
    negated = c[0] == "not"
    test = c[1] if negated else c[0]
    timing = c[-1] if isinstance(c[-1], tree.Timing) else None
    return tree.Operand(negated, test, timing, span=s)


def _is_test(c: list[Any], s: Span) -> Any:
    return tree.Test(c[0], c[1] == "not", c[-1], span=s)


def _compared(c: list[Any], s: Span) -> Any:
    return tree.Compared(c[0], c[1], (c[2], c[3]) if len(c) > 2 else None, span=s)


def _bounded(c: list[Any], s: Span) -> Any:
    return tree.Compared(f"at {c[0]}", c[1], (f"at {c[2]}", c[3]) if len(c) > 2 else None, span=s)  # type: ignore[arg-type]


def _in_state(c: list[Any], s: Span) -> Any:
    return tree.InState(c[0] if isinstance(c[0], tree.Name) else tree.Name(c[0], span=s), span=s)


def _timing(kind: Any) -> Construct:
    return lambda c, s: tree.Timing(kind, c[0] if c else None, span=s)


def _chain(c: list[Any], s: Span) -> Any:
    """Operators of one rank, from left to right."""
    left = c[0]
    for operator, right in zip(c[1::2], c[2::2], strict=True):
        left = tree.Binary(operator, left, right, span=left.span.to(right.span))
    return left


def _of(bracketed: bool) -> Construct:
    return lambda c, s: tree.Of(c[0], tuple(c[1:]), bracketed, span=s)


# ---------- clauses


def _clause(kind: str) -> Construct:
    return lambda c, s: tree.Clause(kind, tuple(c), span=s)


def _range_clause(kind: str) -> Construct:
    return lambda c, s: tree.Clause(kind, (c[0].low, c[0].high), span=s)


def _fact_clause(c: list[Any], s: Span) -> Any:
    """A clause with its basis."""
    if len(c) == 1:
        return c[0]
    clause, basis = c
    if isinstance(clause, tree.FollowsTable):
        return tree.FollowsTable(clause.switch, clause.rows, basis, span=s)
    return tree.Clause(clause.kind, clause.expressions, clause.name, clause.word, basis, span=s)


def _basis(c: list[Any], s: Span) -> Any:
    when = c[1] if len(c) > 1 and isinstance(c[1], str) else None
    return tree.Basis(c[0], when, _first(tree.Text, c), span=s)


def _way(c: list[Any], s: Span) -> Any:
    """A direction; `in` is one although it is a word of the language."""
    return c[0] if isinstance(c[0], tree.Name) else tree.Name(c[0], span=s)


def _timeout(c: list[Any], s: Span) -> Any:
    return tree.Timeout(c[0], _mark("until", c), _mark("for", c), span=s)


def _modifier(kind: Any) -> Construct:
    return lambda c, s: tree.Modifier(kind, c[-1], c[0] if len(c) > 1 else None, span=s)


class _Targets(_Part):
    """What an action acts on."""


def _announce(c: list[Any], s: Span) -> Any:
    return tree.Announce(c[0], _first(tree.Text, c), _mark("every", c), span=s)


def _phase(c: list[Any], s: Span) -> Any:
    return tree.Phase(c[0], _mark("for", c), _mark("until", c), tuple(_drop_marks(c[1:])), span=s)


def _length_of(c: list[Any], s: Span) -> Any:
    return tree.LengthOf(c[0], c[1], c[2], span=s)


# ---------- statements


def _part(c: list[Any], s: Span) -> Any:
    gives = _first(_Gives, c)
    body = [x for x in c[1:] if not isinstance(x, tree.Parameter | _Gives)]
    return tree.Part(c[0], _every(tree.Parameter, c), tuple(gives or ()), tuple(body), span=s)


def _start(c: list[Any], s: Span) -> Any:
    header = c[0] if c and isinstance(c[0], tree.Header) else None
    return tree.File(header, tuple(c[1:] if header else c), span=s)


def _channel(c: list[Any], s: Span) -> Any:
    number = c[1] if len(c) > 1 and isinstance(c[1], tree.Quantity) else None
    return tree.Channel(c[0], number, tuple(c[2:] if number else c[1:]), span=s)


def _fact(c: list[Any], s: Span) -> Any:
    return tree.Fact(c[0], c[1], _mark("to", c), _first(tree.Basis, c), span=s)


def _claim(c: list[Any], s: Span) -> Any:
    sentence = _first(tree.Text, c)
    strictness = _mark("strictness", c)
    form = c[1 + (sentence is not None) + (strictness is not None)]
    return tree.Claim(c[0], sentence, form, _first(tree.Scope, c), _mark("arriving", c) or (), strictness, span=s)


def _assume(c: list[Any], s: Span) -> Any:
    sentence = _first(tree.Text, c)
    return tree.Assume(c[0], sentence, c[2 if sentence else 1], _first(tree.Scope, c), _first(tree.Basis, c), span=s)


def _stage(c: list[Any], s: Span) -> Any:
    warned = _first(Span, c)
    return tree.Stage(c[0], warned is not None, _every(tree.StageTune, c), warned, span=s)


_CONSTRUCTS: dict[str, Construct] = {
    "start": _start,
    "header": lambda c, s: tree.Header(c[0], _mark("version", c), span=s),
    "version": _marked("version"),
    "include": lambda c, s: tree.Include(c[0], span=s),
    "part": _part,
    "parameter": lambda c, s: tree.Parameter(c[0], c[1], span=s),
    "parameter_kind": lambda c, s: c[0],
    "gives": lambda c, s: _Gives(c),
    "use": lambda c, s: tree.Use(c[0], c[1], tuple(c[2:]), span=s),
    "binding": lambda c, s: tree.Binding(c[0], c[1], span=s),
    "cycle": lambda c, s: tree.Cycle(c[0], c[1] if len(c) > 1 else None, span=s),
    "device": lambda c, s: tree.Device(tuple(c), span=s),
    "device_fact": _fact_clause,
    "reads_cycle": lambda c, s: tree.Clause("device_reads", (), c[0], "cycle", span=s),
    "reads_order": lambda c, s: tree.Clause("device_reads", (), c[0], c[1].text, span=s),
    "starts_reset": lambda c, s: tree.Clause("starts", (), None, "reset", span=s),
    "starts_any": lambda c, s: tree.Clause("starts", (), c[0], span=s),
    "start_pulse": lambda c, s: tree.Clause("gives", (c[1],), c[0], span=s),
    "first_frame": _clause("first_frame"),
    "fact": _fact,
    "fact_to": _marked("to"),
    "tune": lambda c, s: tree.Tune(c[0], c[1], c[2], _mark("steps", c), span=s),
    "steps": _marked("steps"),
    "require": lambda c, s: tree.Require(c[0], span=s),
    "value": lambda c, s: tree.Value(c[0], c[1], span=s),
    "signal": lambda c, s: tree.Signal(c[0], c[1], span=s),
    "sample": lambda c, s: tree.Sample(c[0], c[1], c[2], c[3], span=s),
    "range": lambda c, s: tree.Range(c[0], c[1], span=s),
    "basis_kind": lambda c, s: c[0],
    "basis": _basis,
    "switch": lambda c, s: tree.Switch(c[0], tuple(c[1:]), span=s),
    "button": lambda c, s: tree.Button(c[0], span=s),
    "stick": lambda c, s: tree.Control("stick", c[0], c[1], span=s),
    "knob": lambda c, s: tree.Control("knob", c[0], c[1], span=s),
    "sensor": lambda c, s: tree.Sensor(c[0], tuple(c[1:]), span=s),
    "sensor_fact": _fact_clause,
    "reads": _range_clause("reads"),
    "changes": _range_clause("changes"),
    **{
        kind: _clause(kind)
        for kind in ("step", "frame_every", "stale_after", "keeps_value", "reads_value", "error", "lag")
    },
    "channel": _channel,
    "channel_fact": _fact_clause,
    "follows_table": lambda c, s: tree.FollowsTable(c[0], tuple(c[1:]), span=s),
    "row": lambda c, s: tree.TableRow(c[0], c[1], span=s),
    "ends_at": _range_clause("ends"),
    "direction": lambda c, s: tree.Clause("direction", (), c[0], c[1], span=s),
    "way": _way,
    "sign": lambda c, s: c[0],
    **{kind: _clause(kind) for kind in ("follows", "rests_at", "trim")},
    "latch": lambda c, s: tree.Latch(c[0], tuple(c[1:]), span=s),
    **{kind: _clause(kind) for kind in ("set_when", "reset_when", "set_wins")},
    "timeout": _timeout,
    "blocked_until": _marked("until"),
    "blocked_for": _marked("for"),
    "counter": lambda c, s: tree.Counter(c[0], tuple(c[1:]), span=s),
    "counts": _clause("counts"),
    "clears": _clause("clears"),
    "counter_limit": _clause("limit"),
    "rule": lambda c, s: tree.Rule(c[0], c[1], tuple(c[2:]), span=s),
    "sequence": lambda c, s: tree.Sequence(c[0], c[1], tuple(c[2:]), span=s),
    "phase": _phase,
    "phase_lasts": _marked("for"),
    "phase_until": _marked("until"),
    "targets": lambda c, s: _Targets(c),
    "drive": lambda c, s: tree.Drive(tuple(c[0]), c[1], tuple(c[2:]), span=s),
    "move": lambda c, s: tree.Move(tuple(c[0]), c[1], c[2], tuple(c[3:]), span=s),
    "limit": lambda c, s: tree.Limit(tuple(c[0]), c[1], c[2], tuple(c[3:]), span=s),
    "bound": lambda c, s: c[0],
    "announce": _announce,
    "every": _marked("every"),
    "after": _modifier("after"),
    "ramp": _modifier("ramp"),
    "hand_back": _modifier("hand back"),
    "priority": lambda c, s: tree.Priority(tuple(c), span=s),
    "role": lambda c, s: tree.Role(c[0], c[1], span=s),
    "claim": _claim,
    "assume": _assume,
    "never": lambda c, s: tree.Never(c[0], span=s),
    "always": lambda c, s: tree.Always(c[0], span=s),
    "whenever": lambda c, s: tree.Whenever(c[0], c[1], _mark("within", c), span=s),
    "within": _marked("within"),
    "precedes": lambda c, s: tree.Before(c[0], c[1], span=s),
    "starts_at_most": lambda c, s: tree.StartsAtMost(c[0], c[1], c[2], span=s),
    "quiet_after": lambda c, s: tree.QuietAfter(c[0], c[1], c[2], span=s),
    "length_of": _length_of,
    "step_of": lambda c, s: tree.StepOf(c[0], c[1], c[2], span=s),
    "can": lambda c, s: tree.Can(tuple(c), span=s),
    "scope_while": lambda c, s: tree.Scope("while", c[0], span=s),
    "scope_since": lambda c, s: tree.Scope("since", c[0], span=s),
    "strictness": _marked("strictness"),
    "provided": lambda c, s: _Marked(("arriving", tuple(c))),
    "accept": lambda c, s: tree.Accept(c[0], _mark("in", c), c[-1], span=s),
    "accept_in": _marked("in"),
    "stage": _stage,
    "warn_only": lambda c, s: s,
    "stage_tune": lambda c, s: tree.StageTune(c[0], c[1], span=s),
    "expr": _expr,
    "connective": lambda c, s: c[0],
    "operand": _operand,
    "not": lambda c, s: "not",
    "is_test": _is_test,
    "compared": _compared,
    "bounded": _bounded,
    "equal_to": lambda c, s: tree.EqualTo(c[0], span=s),
    "inside": lambda c, s: tree.Inside(c[0].low, c[0].high, span=s),
    "in_state": _in_state,
    "stale": lambda c, s: "stale",
    "relation": lambda c, s: c[0],
    "lasting": _timing("for"),
    "extended": _timing("extended"),
    "pulsed": _timing("pulsed"),
    "begins": _timing("begins"),
    "ends": _timing("ends"),
    "sum": _chain,
    "product": _chain,
    "plus": lambda c, s: c[0],
    "times": lambda c, s: c[0],
    "negative": lambda c, s: tree.Negative(c[1], span=s),
    "group": lambda c, s: tree.Group(c[0], span=s),
    "of_one": _of(False),
    "of_many": _of(True),
    "ref": lambda c, s: tree.Ref(tuple(c), span=s),
}
