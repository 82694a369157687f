"""Alternatives that a clause joins with `or`, each made a clause of its own.

`reset when a or b` means the same as `reset when a  reset when b`; apart they have a line each in the listing, in a
trace and on the bench. This is the one thing that `format` changes in a tree.
"""

from collections.abc import Iterator
from dataclasses import replace

from latchproof.source import Span
from latchproof.syntax import tree

_SPLIT = ("set_when", "reset_when", "clears")


def split_alternatives(file: tree.File) -> tree.File:
    """The same rules with every `or` at the top of a `set when`, `reset when` or `clears when` split."""
    return replace(file, statements=tuple(_statement(s) for s in file.statements))


def _statement(statement: tree.Statement) -> tree.Statement:
    match statement:
        case tree.Latch(clauses=clauses):
            latch: list[tree.Clause | tree.Timeout] = []
            for clause in clauses:
                latch += [clause] if isinstance(clause, tree.Timeout) else _alternatives(clause)
            return replace(statement, clauses=tuple(latch))
        case tree.Counter(clauses=clauses):
            return replace(statement, clauses=tuple(part for clause in clauses for part in _alternatives(clause)))
        case tree.Part(body=body):
            return replace(statement, body=tuple(_statement(s) for s in body))
        case _:
            return statement


def _alternatives(clause: tree.Clause) -> Iterator[tree.Clause]:
    match clause:
        case tree.Clause(kind=kind, expressions=(tree.Junction(operands=operands, connectives=connectives),)) if (
            kind in _SPLIT and set(connectives) == {"or"} and not any(map(_unclear, operands))
        ):
            start = clause.span.start
            for operand in operands:
                yield replace(clause, expressions=(operand,), span=Span(clause.span.source, start, operand.span.end))
                start = operand.span.end
        case _:
            yield clause


def _unclear(operand: tree.Expr) -> bool:
    """`a or b for 2 s` is refused later, since it can be read in two ways: splitting it would choose one."""
    return isinstance(operand, tree.Operand) and operand.timing is not None
