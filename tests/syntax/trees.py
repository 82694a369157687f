"""Random trees, sensible or not, and their plain text. The same seed gives the same tree."""

import random
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from latchproof.source import Span
from latchproof.syntax import tree
from latchproof.syntax.columns import flat, joined
from latchproof.syntax.grammar import tables
from latchproof.syntax.numerals import UNITS
from latchproof.syntax.rows import Block, Row, header, statement

NOWHERE = Span("nowhere", 0, 0)
_LETTERS = "abcdefghijklmnopqrstuvwxyz_0123456789äöüßéñжλ中"
_SAYING = "abc  xyz,.;:!?'#{}()<>=-+*/%&äß−…0123"


@dataclass(frozen=True)
class Maker:
    """Makes nodes; `fuel` bounds how deep signals and numbers become."""

    rng: random.Random
    fuel: int = 2

    # ---------- choices

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent

    def maybe(self, make: Callable[[], Any], percent: int = 50) -> Any:
        return make() if self.chance(percent) else None

    def some(self, make: Callable[[], Any], least: int = 0, most: int = 3) -> tuple[Any, ...]:
        return tuple(make() for _ in range(self.rng.randint(least, most)))

    def one(self, *makers: Callable[[], Any]) -> Any:
        return self.rng.choice(makers)()

    def word(self, *words: str) -> Any:
        return self.rng.choice(words)

    def inner(self) -> "Maker":
        return Maker(self.rng, self.fuel - 1)

    # ---------- leaves

    def name(self) -> tree.Name:
        text = self.word("a", "b", "m", "s", "V", "motor", "rate", "höhe", "armed_twice", "")
        while not text or text in tables().keywords or not text.isidentifier():
            text = "".join(self.rng.choice(_LETTERS) for _ in range(self.rng.randint(1, 14)))
        return tree.Name(text, span=NOWHERE)

    def way(self) -> tree.Name:
        return tree.Name("in", span=NOWHERE) if self.chance(20) else self.name()

    def text(self) -> tree.Text:
        return tree.Text("".join(self.rng.choice(_SAYING) for _ in range(self.rng.randrange(25))), span=NOWHERE)

    def plain_number(self) -> tree.Quantity:
        digits = str(self.rng.randrange(10 ** self.rng.randint(1, 6)))
        digits += f".{self.rng.randrange(1000):03}" if self.chance(30) else ""
        return tree.Quantity(digits, Fraction(digits), None, span=NOWHERE)

    def quantity(self) -> tree.Quantity:
        q = self.plain_number()
        return tree.Quantity(q.digits, q.value, self.maybe(lambda: self.word(*UNITS), 80), span=NOWHERE)

    def ref(self) -> tree.Ref:
        return tree.Ref(self.some(self.name, 1, 2), span=NOWHERE)

    # ---------- signals and numbers, by the levels of the grammar

    def factor(self) -> Any:
        makers: list[Callable[[], Any]] = [self.quantity, self.ref, self.ref]
        makers.append(lambda: tree.Negative(self.quantity(), span=NOWHERE))
        makers.append(lambda: tree.Of(self.name(), (self.ref(),), False, span=NOWHERE))
        if self.fuel > 0:
            less = self.inner()
            makers.append(lambda: tree.Group(less.signal(), span=NOWHERE))
            makers.append(lambda: tree.Of(self.name(), self.some(less.signal, 1, 3), True, span=NOWHERE))
        return self.one(*makers)

    def product(self) -> Any:
        return self.chain(self.factor, "*", "/")

    def number(self) -> Any:
        return self.chain(self.product, "+", "-")

    def chain(self, operand: Callable[[], Any], *operators: str) -> Any:
        left = operand()
        while self.chance(20):
            left = tree.Binary(self.word(*operators), left, operand(), span=NOWHERE)
        return left

    def predicate(self) -> tree.Predicate:
        near = self.word(("below", "above"), ("at least", "at most"))
        return self.one(  # type: ignore[no-any-return]
            lambda: tree.Compared(
                self.word(*near), self.number(), self.maybe(lambda: (self.word(*near), self.number()), 30), span=NOWHERE
            ),
            lambda: tree.EqualTo(self.number(), span=NOWHERE),
            lambda: tree.Inside(self.number(), self.number(), span=NOWHERE),
            lambda: tree.InState(self.name(), span=NOWHERE),
            lambda: tree.InState(tree.Name("stale", span=NOWHERE), span=NOWHERE),
        )

    def test(self) -> Any:
        number = self.number()
        return number if self.chance(40) else tree.Test(number, self.chance(20), self.predicate(), span=NOWHERE)

    def timing(self) -> tree.Timing:
        if self.chance(40):
            return tree.Timing(self.word("begins", "ends"), span=NOWHERE)
        return tree.Timing(self.word("for", "extended", "pulsed"), self.factor(), span=NOWHERE)

    def operand(self) -> Any:
        negated, test, timing = self.chance(20), self.test(), self.maybe(self.timing, 30)
        return tree.Operand(negated, test, timing, span=NOWHERE) if negated or timing else test

    def signal(self) -> Any:
        if self.chance(60):
            return self.operand()
        operands = self.some(self.operand, 2, 4)
        words = ("and", "or") if self.chance(20) else (self.word("and", "or"),)
        return tree.Junction(operands, tuple(self.word(*words) for _ in operands[1:]), span=NOWHERE)

    # ---------- clauses

    def range(self) -> tree.Range:
        return tree.Range(self.number(), self.number(), span=NOWHERE)

    def basis(self) -> tree.Basis:
        day = f"{self.rng.randint(1950, 2049)}-{self.rng.randint(1, 12):02}-{self.rng.randint(1, 28):02}"
        kind = self.word("measured", "assumed")
        return tree.Basis(kind, self.maybe(lambda: day), self.maybe(self.text), span=NOWHERE)

    def clause(self, kind: str, *expressions: Any, basis: bool = True, **more: Any) -> tree.Clause:
        found = self.maybe(self.basis, 30) if basis else None
        return tree.Clause(kind, expressions, basis=found, span=NOWHERE, **more)

    def sensor_clause(self) -> tree.Clause:
        kinds = ("reads", "changes", "keeps_value", "step", "frame_every", "stale_after", "reads_value", "error", "lag")
        kind = self.word(*kinds)
        count = {"reads": 2, "changes": 2, "keeps_value": 0}.get(kind, 1)
        return self.clause(kind, *(self.number() for _ in range(count)))

    def channel_clause(self) -> tree.Clause | tree.FollowsTable:
        kind = self.word("ends", "follows", "rests_at", "trim", "direction", "table")
        if kind == "table":
            rows = self.some(lambda: tree.TableRow(self.name(), self.number(), span=NOWHERE), 1)
            return tree.FollowsTable(self.name(), rows, self.maybe(self.basis, 20), span=NOWHERE)
        if kind == "direction":
            return self.clause(kind, name=self.way(), word=self.word("negative", "positive"))
        return self.clause(kind, *(self.number() for _ in range(2 if kind == "ends" else 1)))

    def latch_clause(self) -> tree.Clause | tree.Timeout:
        kind = self.word("set_when", "reset_when", "reset_when", "set_wins", "timeout", "until", "for")
        if kind in ("set_when", "reset_when"):
            return self.clause(kind, self.signal(), basis=False)
        if kind == "set_wins":
            return self.clause(kind, basis=False)
        until = self.signal() if kind == "until" else None
        return tree.Timeout(self.factor(), until, self.factor() if kind == "for" else None, span=NOWHERE)

    def counter_clause(self) -> tree.Clause:
        kind = self.word("counts", "clears", "limit")
        return self.clause(kind, self.plain_number() if kind == "limit" else self.signal(), basis=False)

    def modifier(self) -> tree.Modifier:
        kind = self.word("after", "hand back", "ramp")
        return tree.Modifier(kind, self.factor(), self.way() if kind == "ramp" else None, span=NOWHERE)

    def action(self) -> tree.Action:
        targets = self.some(self.ref, 1, 2)
        behind = self.some(self.modifier, 0, 2)
        bound = self.word("least", "most")
        return self.one(  # type: ignore[no-any-return]
            lambda: tree.Drive(targets, self.number(), behind, span=NOWHERE),
            lambda: tree.Move(targets, self.way(), self.number(), behind, span=NOWHERE),
            lambda: tree.Limit(targets, bound, self.number(), behind, span=NOWHERE),
            lambda: tree.Announce(self.name(), self.maybe(self.text), self.maybe(self.factor), span=NOWHERE),
        )

    def phase(self) -> tree.Phase:
        lasts, until = self.word((1, 0), (0, 1), (0, 0))
        return tree.Phase(
            self.name(),
            self.factor() if lasts else None,
            self.signal() if until else None,
            self.some(self.action),
            span=NOWHERE,
        )

    def form(self) -> tree.Form:
        s, bound = self.signal, self.word("least", "most")
        return self.one(  # type: ignore[no-any-return]
            lambda: tree.Never(s(), span=NOWHERE),
            lambda: tree.Always(s(), span=NOWHERE),
            lambda: tree.Whenever(s(), s(), self.maybe(self.factor), span=NOWHERE),
            lambda: tree.StartsAtMost(s(), self.plain_number(), self.factor(), span=NOWHERE),
            lambda: tree.QuietAfter(self.factor(), s(), s(), span=NOWHERE),
            lambda: tree.LengthOf(s(), bound, self.factor(), span=NOWHERE),
            lambda: tree.StepOf(self.number(), self.number(), self.factor(), span=NOWHERE),
            lambda: tree.Can(self.some(s, 1), span=NOWHERE),
            lambda: tree.Before(s(), s(), span=NOWHERE),
        )

    def scope(self) -> tree.Scope:
        return tree.Scope(self.word("while", "since"), self.signal(), span=NOWHERE)

    # ---------- statements

    def statement(self, parts: bool = True) -> tree.Statement:
        n, number, s, maybe, some = self.name, self.number, self.signal, self.maybe, self.some
        at = {"span": NOWHERE}
        makers: list[Callable[[], tree.Statement]] = [
            lambda: tree.Include(self.text(), **at),
            lambda: tree.Use(n(), n(), some(lambda: tree.Binding(n(), s(), **at), 1), **at),
            lambda: tree.Cycle(self.range(), maybe(self.basis), **at),
            lambda: tree.Fact(n(), number(), maybe(number), maybe(self.basis), **at),
            lambda: tree.Tune(n(), number(), self.range(), maybe(number), **at),
            lambda: tree.Require(s(), **at),
            lambda: tree.Value(n(), number(), **at),
            lambda: tree.Sample(n(), number(), s(), number(), **at),
            lambda: tree.Signal(n(), s(), **at),
            lambda: tree.Switch(n(), some(n, 2, 4), **at),
            lambda: tree.Button(n(), **at),
            lambda: tree.Control(self.word("stick", "knob"), n(), self.range(), **at),
            lambda: tree.Sensor(n(), some(self.sensor_clause, 0, 5), **at),
            lambda: tree.Channel(n(), maybe(self.plain_number), some(self.channel_clause), **at),
            lambda: tree.Latch(n(), some(self.latch_clause, 0, 5), **at),
            lambda: tree.Counter(n(), some(self.counter_clause), **at),
            lambda: tree.Rule(n(), s(), some(self.action), **at),
            lambda: tree.Sequence(n(), s(), some(self.phase, 1), **at),
            lambda: tree.Priority(some(n, 2), **at),
            lambda: tree.Role(n(), s(), **at),
            lambda: tree.Claim(n(), maybe(self.text), self.form(), maybe(self.scope), some(n, 0, 2), **at),
            lambda: tree.Assume(n(), maybe(self.text), self.form(), maybe(self.scope), maybe(self.basis), **at),
            lambda: tree.Accept(n(), maybe(n), self.text(), **at),
            lambda: tree.Stage(n(), self.chance(50), some(lambda: tree.StageTune(n(), number(), **at)), **at),
        ]
        if parts:
            makers.append(
                lambda: tree.Part(n(), some(self.parameter, 1), some(n), some(lambda: self.statement(False)), **at)
            )
        return self.one(*makers)  # type: ignore[no-any-return]

    def parameter(self) -> tree.Parameter:
        return tree.Parameter(self.word("signal", "sensor", "channel", "value"), self.name(), span=NOWHERE)

    def file(self) -> tree.File:
        title = self.maybe(lambda: tree.Header(self.text(), self.maybe(self.text), span=NOWHERE), 30)
        return tree.File(title, self.some(self.statement, 1, 6), span=NOWHERE)


def random_file(seed: int) -> tree.File:
    return Maker(random.Random(seed)).file()


def plain(file: tree.File) -> str:
    """The text of a tree without any layout: a row a line, not indented."""
    rows: list[Row] = [statement(s) for s in file.statements]
    return "\n".join(_plain(row) for row in ([header(file.header)] if file.header else []) + rows) + "\n"


def _plain(row: Row) -> str:
    if isinstance(row, Block):
        return "\n".join((flat(row.head) + " {", *map(_plain, row.rows), "}"))
    return flat(joined(row.cells, row.gaps))
