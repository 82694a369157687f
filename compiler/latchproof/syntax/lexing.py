"""Text to tokens. What is not a token is reported, replaced by what was probably meant, and reading goes on."""

import re
from dataclasses import dataclass
from functools import cache

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span
from latchproof.syntax.grammar import END, Terminal, tables
from latchproof.syntax.numerals import number_fault
from latchproof.syntax.symbols import SYMBOL_PATTERN, Replacement, symbol_fault

TOKENS_MOST = 100_000
NESTING_MOST = 50
FAULTS_MOST = 40

STAND_IN = {"NUMBER": "1", "QUANTITY": "1", "DATE": "2000-01-01", "STRING": '""'}
"""What stands for a token whose own text cannot be read, so that reading can go on."""


@dataclass(frozen=True, slots=True)
class Token:
    """`kind` is the terminal of the grammar. `mended`: it stands for something that has been reported."""

    kind: str
    text: str
    start: int
    end: int
    mended: bool = False


@dataclass(frozen=True, slots=True)
class Lexed:
    """`tokens` end with one of kind `$END`. `stopped`: the rest was not read, do not parse."""

    tokens: tuple[Token, ...]
    comments: tuple[Token, ...]
    faults: tuple[Diagnostic, ...]
    stopped: bool = False


@dataclass(frozen=True, slots=True)
class Lexicon:
    """What the lexer knows of the grammar: one pattern for all tokens, and the fixed texts by kind."""

    pattern: re.Pattern[str]
    fixed: dict[str, str]
    ignored: frozenset[str]


@cache
def lexicon() -> Lexicon:
    """Patterns by falling priority, as the grammar says; then the fixed texts that are no words, the longest first."""

    def rank(t: Terminal) -> tuple[int, int]:
        return -t.priority, -len(t.text or "")

    terminals = tables().terminals
    fixed = {t.text: t.name for t in terminals if t.text is not None}
    parts = [f"(?P<{t.name.lstrip('_')}>{t.pattern})" for t in sorted(terminals, key=rank) if t.pattern is not None]
    signs = sorted((s for s in fixed if not s.isidentifier()), key=len, reverse=True)
    parts.append(f"(?P<SIGN>{'|'.join(re.escape(s) for s in signs)})")
    return Lexicon(re.compile("|".join(parts)), fixed, frozenset(t.name.lstrip("_") for t in terminals if t.ignored))


def lex(source: Source) -> Lexed:
    """All tokens of a text that holds no control characters."""
    return _Lexer(source).run()


class _Lexer:
    """Local state of one reading."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text
        self.tokens: list[Token] = []
        self.comments: list[Token] = []
        self.faults: list[Diagnostic] = []
        self.left_out = False  # was something left unread since the last token?

    def run(self) -> Lexed:
        match, symbol = lexicon().pattern.match, SYMBOL_PATTERN.match
        fixed, ignored = lexicon().fixed, lexicon().ignored
        text, position, depth = self.text, 1 if self.text.startswith("\ufeff") else 0, 0
        while position < len(text):
            wrong = symbol(text, position)
            if wrong is not None:
                position = self.replace(position, wrong.group())
                if len(self.faults) >= FAULTS_MOST:
                    return self.lexed(stopped=True)
                continue
            found = match(text, position)
            if found is None:
                position = self.replace(position, text[position])
                if len(self.faults) >= FAULTS_MOST:
                    return self.lexed(stopped=True)
                continue
            kind, word = str(found.lastgroup), found.group()
            start, position = position, found.end()
            if kind in ignored:
                if kind == "COMMENT":
                    self.comments.append(Token(kind, word.rstrip(), start, start + len(word.rstrip())))
                    if len(self.comments) > TOKENS_MOST:
                        return self.too_many(start, start + len(word))
                continue
            kind = fixed.get(word, kind) if kind in ("NAME", "SIGN") else kind
            if kind in ("NUMBER", "QUANTITY"):
                before = self.tokens[-1].kind if self.tokens else ""
                fault = number_fault(self.source, start, position, before in ("MEASURED", "ASSUMED"))
                if fault is not None:
                    self.faults.append(fault.diagnostic)
                    self.tokens.append(Token(fault.stands_for, STAND_IN[fault.stands_for], start, fault.end, True))
                    position = fault.end
                    if len(self.faults) >= FAULTS_MOST:
                        return self.lexed(stopped=True)
                    continue
            self.tokens.append(Token(kind, word, start, position, self.left_out))
            self.left_out = False
            if kind in ("LPAR", "LBRACE"):
                depth += 1
                if depth > NESTING_MOST:
                    return self.too_deep(start)
            elif kind in ("RPAR", "RBRACE"):
                depth = max(0, depth - 1)
            if len(self.tokens) > TOKENS_MOST:
                return self.too_many(start, position)
        return self.lexed()

    def lexed(self, stopped: bool = False) -> Lexed:
        end = self.tokens[-1].end if self.tokens else 0
        tokens = (*self.tokens, Token(END, "", end, end))
        return Lexed(tokens, tuple(self.comments), tuple(self.faults), stopped)

    def replace(self, position: int, wrong: str) -> int:
        """Reports a symbol that is not of the language, puts what was meant in its place; where to read on."""
        before = self.tokens[-1].kind if self.tokens else ""
        repair: Replacement = symbol_fault(self.source, position, wrong, before)
        said = repair.diagnostic
        if said.code != "forum-markup" or all(said.title != fault.title for fault in self.faults):
            self.faults.append(said)
        self.left_out = said.code == "stray-character" and not repair.tokens
        for kind, word in repair.tokens:
            self.tokens.append(Token(kind, word, position, repair.end, True))
        return repair.end

    def too_deep(self, start: int) -> Lexed:
        self.faults.append(
            Diagnostic(
                "too-deep",
                f"brackets stand more than {NESTING_MOST} deep here",
                (Label(Span(self.source.name, start, start + 1), "one bracket too many"),),
                ("give the inner part a name with `signal` or `value`, and use the name",),
            )
        )
        return self.lexed(stopped=True)

    def too_many(self, start: int, end: int) -> Lexed:
        self.faults.append(
            Diagnostic(
                "too-many-words",
                f"the file has more than {TOKENS_MOST:,} words or comments",
                (Label(Span(self.source.name, start, end), "reading stopped here"),),
                ("a rule file has some hundreds of words: is this the right file?",),
            )
        )
        return self.lexed(stopped=True)
