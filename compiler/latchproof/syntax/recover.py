"""What to say about a token that does not fit, and how to go on so that the next mistake is found too."""

from dataclasses import dataclass

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span
from latchproof.syntax.engine import Cell, Fork
from latchproof.syntax.grammar import Tables
from latchproof.syntax.lexing import Token


@dataclass(frozen=True, slots=True)
class Repair:
    """Go on from `top` at token number `resume`, with `insert` put in front of it; None: give up."""

    diagnostic: Diagnostic | None
    top: Cell
    resume: int | None
    insert: tuple[Token, ...] = ()


def recover(source: Source, tables: Tables, taken: Cell, tokens: list[Token], position: int) -> Repair:
    token = tokens[position]
    expected = sorted(Fork(tables, taken).expected())
    d = Diagnostic(
        "unexpected-word",
        f"`{token.text}` is not expected here",
        (Label(Span(source.name, token.start, token.end)),),
        (", ".join(expected),),
    )
    return Repair(d, taken, None)
