"""Nodes that the others are made of: names, texts, comments, signals and numbers. `tree` hands them on."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from latchproof.source import Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    span: Span = field(compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Name(Node):
    text: str


@dataclass(frozen=True, slots=True)
class Text(Node):
    """A quoted text, without its quotes."""

    value: str


@dataclass(frozen=True, slots=True)
class Comment(Node):
    """From `#` to the end of the line, the sign included."""

    text: str


# ---------- expressions: signals and numbers share one grammar, `rules` tells them apart


@dataclass(frozen=True, slots=True)
class Quantity(Node):
    """A number as written; `unit` is None for a plain number. `digits` is the text of the number itself."""

    digits: str
    value: Fraction
    unit: str | None


@dataclass(frozen=True, slots=True)
class Ref(Node):
    """`name` or `outer.inner`."""

    parts: tuple[Name, ...]

    @property
    def text(self) -> str:
        return ".".join(p.text for p in self.parts)


@dataclass(frozen=True, slots=True)
class Negative(Node):
    operand: "Expr"


@dataclass(frozen=True, slots=True)
class Binary(Node):
    operator: Literal["+", "-", "*", "/"]
    left: "Expr"
    right: "Expr"


@dataclass(frozen=True, slots=True)
class Group(Node):
    """Round brackets."""

    inner: "Expr"


@dataclass(frozen=True, slots=True)
class Of(Node):
    """`rate of height`, `larger of (a, b)`; `bracketed` tells which of the two shapes was written."""

    function: Name
    arguments: tuple["Expr", ...]
    bracketed: bool


Relation = Literal["below", "above", "at least", "at most"]


@dataclass(frozen=True, slots=True)
class Compared(Node):
    """`below 5 m`, `at least 8 m`; with `until`: two thresholds."""

    relation: Relation
    bound: "Expr"
    until: tuple[Relation, "Expr"] | None = None


@dataclass(frozen=True, slots=True)
class EqualTo(Node):
    bound: "Expr"


@dataclass(frozen=True, slots=True)
class Inside(Node):
    """`from A to B`, both ends included."""

    low: "Expr"
    high: "Expr"


@dataclass(frozen=True, slots=True)
class InState(Node):
    """A position of a switch, or one of the closed lists: pressed, released, stale, fresh, heard, free, driven, ..."""

    state: Name


Predicate = Compared | EqualTo | Inside | InState


@dataclass(frozen=True, slots=True)
class Test(Node):
    """`subject is [not] predicate`."""

    subject: "Expr"
    negated: bool
    predicate: Predicate


@dataclass(frozen=True, slots=True)
class Timing(Node):
    """What stands behind a test: `for 2 s`, `extended 2 s`, `pulsed 2 s`, `begins`, `ends`."""

    kind: Literal["for", "extended", "pulsed", "begins", "ends"]
    duration: "Expr | None" = None


@dataclass(frozen=True, slots=True)
class Operand(Node):
    """`[not] test [timing]`, when at least one of the two is there."""

    negated: bool
    test: "Expr"
    timing: Timing | None


@dataclass(frozen=True, slots=True)
class Junction(Node):
    """Operands joined by `and` / `or`, as written: `connectives` has one entry less than `operands`."""

    operands: tuple["Expr", ...]
    connectives: tuple[Literal["and", "or"], ...]


Expr = Quantity | Ref | Negative | Binary | Group | Of | Test | Operand | Junction
