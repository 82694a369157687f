"""Where to read on after a mistake that cannot be mended on the spot.

Every statement and clause begins with a word of the language, so the next such word at the same depth of braces is
where the writer surely meant to begin something new. The stack is cut back to where that word fits.
"""

from latchproof.source import Source
from latchproof.syntax.engine import Cell, Fork
from latchproof.syntax.grammar import END, Tables
from latchproof.syntax.lexing import Token
from latchproof.syntax.words import starters

CLAUSES = frozenset(
    (
        *("STEP", "FRAME", "ONCE", "ERROR", "CHANGES", "LAG", "FOLLOWS", "RESTS", "TRIM", "SET", "RESET", "TIMEOUT"),
        *("COUNTS", "CLEARS", "DRIVE", "MOVE", "LIMIT", "ANNOUNCE", "PHASE", "WARN"),
    )
)
_NOT_A_START_BEHIND = frozenset(("KEEPS", "TAKES", "COMMA"))


def resync(source: Source, tables: Tables, top: Cell, tokens: list[Token], position: int) -> tuple[Cell, int] | None:
    """The stack to go on with and the token to go on at; None if nothing more can be read."""
    depth = 0
    margin = _margin(source, top)
    inside = open_sign(top, "LBRACE") is not None
    fits: dict[str, Cell | None] = {}
    for index in range(position, len(tokens)):
        token = tokens[index]
        if token.kind == END:
            return None
        if depth and token.kind == "RBRACE":
            depth -= 1
            continue
        if token.kind in starters():
            first = begins_line(source, tokens, index)
            if depth:
                wanted = first and column(source, token) <= margin
            else:
                wanted = first or (not inside and (index == 0 or tokens[index - 1].kind not in _NOT_A_START_BEHIND))
        else:
            wanted = not depth and (token.kind in CLAUSES or token.kind in ("LBRACE", "RBRACE"))
        if wanted:
            if token.kind not in fits:
                fits[token.kind] = _where_it_fits(tables, top, token.kind)
            cell = fits[token.kind]
            if cell is not None:
                return cell, index
        if token.kind == "LBRACE":
            depth += 1
    return None


def _where_it_fits(tables: Tables, top: Cell, kind: str) -> Cell | None:
    cell: Cell | None = top
    while cell is not None:
        if Fork(tables, cell).taken([kind]):
            return cell
        cell = cell.below
    return None


def _margin(source: Source, top: Cell) -> int:
    """The column of the statement being read."""
    begun = statement(top)
    return 1 if begun is None else column(source, begun)


def statement(top: Cell) -> Token | None:
    """The word that begins the statement being read (inside a part: the inner statement)."""
    cell: Cell | None = top
    while cell is not None:
        if cell.token is not None and cell.token.kind in starters() and (cell.below is None or not _mid(cell.below)):
            return cell.token
        cell = cell.below
    return None


def _mid(below: Cell) -> bool:
    """Does the word behind this cell stand inside a statement (`keeps value`, `takes signal x, value y`)?"""
    return below.token is not None and below.token.kind in _NOT_A_START_BEHIND


def open_sign(top: Cell, opening: str) -> Token | None:
    """The innermost bracket or brace that is still open."""
    closing = {"LBRACE": "RBRACE", "LPAR": "RPAR"}[opening]
    closed = 0
    cell: Cell | None = top
    while cell is not None:
        if cell.token is not None:
            if cell.token.kind == closing:
                closed += 1
            elif cell.token.kind == opening:
                if not closed:
                    return cell.token
                closed -= 1
        cell = cell.below
    return None


def column(source: Source, token: Token) -> int:
    return source.place(token.start)[1]


def begins_line(source: Source, tokens: list[Token], index: int) -> bool:
    return index == 0 or source.place(tokens[index - 1].start)[0] < source.place(tokens[index].start)[0]
