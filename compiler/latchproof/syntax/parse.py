"""Text to tree."""

from dataclasses import replace
from typing import TYPE_CHECKING

from latchproof.diagnostics import Diagnostic, Label, in_order
from latchproof.source import Source, Span
from latchproof.syntax import engine
from latchproof.syntax.build import DEPTH_MOST, Builder, growth
from latchproof.syntax.characters import forbidden
from latchproof.syntax.grammar import END, Tables, tables
from latchproof.syntax.lexing import FAULTS_MOST, Token, lex
from latchproof.syntax.tree import Comment, File

if TYPE_CHECKING:
    from latchproof.syntax.spot import Repair

_RECOVERIES_MOST = 200
"""Mistakes are looked for no longer when so many were skipped over; most of them follow from each other."""


def parse(source: Source) -> tuple[File | None, tuple[Diagnostic, ...]]:
    """The tree of a rule file, or None and everything that is wrong with its writing, in order."""
    refused = forbidden(source)
    if refused:
        return None, refused
    lexed = lex(source)
    if lexed.stopped:
        return None, _first_ones(in_order(lexed.faults))
    if len(lexed.tokens) == 1 and not lexed.faults:
        return None, (_empty(source),)
    file, faults = _Parser(source, lexed.tokens, tables()).run()
    faults = in_order((*lexed.faults, *faults))
    if file is None or faults:
        return None, _first_ones(faults)
    comments = tuple(Comment(c.text, span=Span(source.name, c.start, c.end)) for c in lexed.comments)
    return File(file.header, file.statements, comments, span=Span(source.name, 0, len(source.text))), ()


def _first_ones(faults: tuple[Diagnostic, ...]) -> tuple[Diagnostic, ...]:
    """At most so many, and the last of them says that there are more."""
    if len(faults) < FAULTS_MOST:
        return faults
    *first, last = faults[:FAULTS_MOST]
    hint = f"these are the first {FAULTS_MOST} mistakes; more may follow"
    return (*first, replace(last, hints=(*last.hints, hint)))


def _empty(source: Source) -> Diagnostic:
    return Diagnostic(
        "empty-file",
        "there are no rules in this file",
        (Label(Span(source.name, 0, 0)),),
        ('a rule file begins with: rules "What it is for" version "1"',),
    )


class _Parser:
    """Local state of one parsing: the tokens (mended on the way), the stack and what was found wrong."""

    def __init__(self, source: Source, tokens: tuple[Token, ...], tables: Tables) -> None:
        self.source = source
        self.tokens = list(tokens)
        self.tables = tables
        self.builder = Builder(source.name)
        self.faults: list[Diagnostic] = []
        self.said: set[str | Span] = set()
        self.skipped_on = 0

    def run(self) -> tuple[File | None, tuple[Diagnostic, ...]]:
        file = self.file()
        return file, (*self.faults, *self.builder.faults)

    def file(self) -> File | None:
        """The tree, if nothing had to be mended."""
        tables, builder, tokens = self.tables, self.builder, self.tokens
        top = taken = engine.bottom(tables)
        position = recoveries = 0
        while True:
            token = tokens[position]
            if token.kind == END and top.state == tables.accept:
                assert isinstance(top.value, File)
                return None if recoveries else top.value
            action = tables.actions[top.state].get(token.kind)
            if action is None:
                from latchproof.syntax.recover import recover  # most files need none of it: it costs start-up time

                repair = recover(self.source, tables, taken, tokens, position)
                self.note(repair, token)
                recoveries += 1
                if repair.resume is None or len(self.faults) >= FAULTS_MOST or recoveries > _RECOVERIES_MOST:
                    return None
                top = taken = repair.top
                position = repair.resume
                tokens[position:position] = repair.insert
            elif action >= 0:
                top = taken = engine.shift(top, action, token, builder.leaf(token))
                position += 1
            else:
                top = engine.reduce(tables, top, -action - 1, builder.construct, growth)
                if top.depth > DEPTH_MOST:
                    self.faults.append(self.too_deep(top))
                    return None

    def note(self, repair: "Repair", token: Token) -> None:
        """Keeps the message, unless it is likely to follow from one before."""
        line = self.source.place(token.start)[0]
        found = repair.diagnostic
        if found is not None and line != self.skipped_on and not self.said & _sayings(found):
            self.faults.append(found)
            self.said |= _sayings(found)
        if repair.skipped:
            self.skipped_on = line

    def too_deep(self, cell: engine.Cell) -> Diagnostic:
        return Diagnostic(
            "too-deep",
            f"this is more than {DEPTH_MOST} levels deep or more than {DEPTH_MOST} terms long",
            (Label(Span(self.source.name, cell.start, min(cell.end, cell.start + 1)), "it begins here"),),
            ("give a part of it a name with `signal` or `value`, and use the name",),
        )


def _sayings(fault: Diagnostic) -> set[str | Span]:
    """What need not be said twice: anything more about one place, and that a word is one of the language."""
    place: set[str | Span] = {fault.labels[0].span}
    return place | {fault.title} if fault.code == "reserved-word" else place
