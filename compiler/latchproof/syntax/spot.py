"""The place of a mistake, what is known there, and the ways to go on."""

from dataclasses import dataclass

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span
from latchproof.syntax.engine import Cell, Fork
from latchproof.syntax.grammar import END, Tables
from latchproof.syntax.lexing import STAND_IN, Token
from latchproof.syntax.resync import begins_line, resync
from latchproof.syntax.words import texts


@dataclass(frozen=True, slots=True)
class Repair:
    """Go on from `top` at token number `resume` (None: give up), with `insert` put in front of it.

    `skipped`: something was left unread, so what follows on the same line may be nonsense.
    """

    diagnostic: Diagnostic | None
    top: Cell
    resume: int | None
    insert: tuple[Token, ...] = ()
    skipped: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """The token that does not fit, and all that is known there."""

    source: Source
    tables: Tables
    top: Cell
    tokens: list[Token]
    position: int
    expected: frozenset[str]

    @property
    def token(self) -> Token:
        return self.tokens[self.position]

    @property
    def before(self) -> Token | None:
        return self.tokens[self.position - 1] if self.position else None

    @property
    def begins_line(self) -> bool:
        return begins_line(self.source, self.tokens, self.position)

    def kinds(self, start: int, count: int) -> list[str]:
        """The kinds of the next tokens, at most to the end of the line: what stands below may be wrong itself."""
        found: list[str] = []
        for index in range(start, min(start + count, len(self.tokens))):
            if found and begins_line(self.source, self.tokens, index):
                break
            found.append(self.tokens[index].kind)
        return found

    def fits(self, kinds: list[str], skip: int = 0, ahead: int = 2) -> bool:
        """Would these kinds and then the next tokens (from this one, or after skipping some) be taken?"""
        wanted = [*kinds, *self.kinds(self.position + skip, ahead)]
        return Fork(self.tables, self.top).taken(wanted) == len(wanted)

    def span(self, token: Token) -> Span:
        return Span(self.source.name, token.start, token.end)

    def here(self, before: str, after: str) -> Label:
        """At this token, or behind the last one if this one begins another line."""
        last = self.before
        if last is not None and (self.token.kind == END or self.begins_line):
            return Label(self.span(last), after)
        return Label(self.span(self.token), before)

    def stand_in(self, *kinds: str) -> tuple[Token, ...]:
        """Tokens of these kinds in place of this one."""
        token = self.token
        return tuple(Token(kind, texts().get(kind, STAND_IN.get(kind, "x")), token.start, token.end) for kind in kinds)


def skip_on(spot: Spot, diagnostic: Diagnostic | None, start: int | None = None) -> Repair:
    """Leave the rest of the clause unread."""
    found = resync(spot.source, spot.tables, spot.top, spot.tokens, start or spot.position)
    return Repair(diagnostic, spot.top, None) if found is None else Repair(diagnostic, *found, skipped=True)


def instead(spot: Spot, diagnostic: Diagnostic, *kinds: str, skip: int = 1) -> Repair:
    """Go on as if these kinds stood there instead of the next `skip` tokens."""
    return Repair(diagnostic, spot.top, spot.position + skip, spot.stand_in(*kinds))


def leave_out(spot: Spot, diagnostic: Diagnostic, skip: int) -> Repair:
    """Go on without the next `skip` tokens if that fits, else skip."""
    if spot.fits([], skip=skip, ahead=1):
        return Repair(diagnostic, spot.top, spot.position + skip)
    return skip_on(spot, diagnostic)
