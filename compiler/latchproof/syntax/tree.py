"""The tree of a rule file: node types and nothing else. Every node has its span, which equality ignores."""

from dataclasses import dataclass, field
from typing import Literal

from latchproof.source import Span
from latchproof.syntax.nodes import (
    Binary,
    Comment,
    Compared,
    EqualTo,
    Expr,
    Group,
    Inside,
    InState,
    Junction,
    Name,
    Negative,
    Node,
    Of,
    Operand,
    Predicate,
    Quantity,
    Ref,
    Relation,
    Test,
    Text,
    Timing,
)

__all__ = [  # what stands in `nodes`; the rest is below
    "Binary",
    "Comment",
    "Compared",
    "EqualTo",
    "Expr",
    "Group",
    "InState",
    "Inside",
    "Junction",
    "Name",
    "Negative",
    "Node",
    "Of",
    "Operand",
    "Predicate",
    "Quantity",
    "Ref",
    "Relation",
    "Test",
    "Text",
    "Timing",
]

# ---------- clauses used in several statements


@dataclass(frozen=True, slots=True)
class Basis(Node):
    """`measured 2025-05-03 "how"` or `assumed "why"`."""

    kind: Literal["measured", "assumed"]
    date: str | None = None
    note: Text | None = None


@dataclass(frozen=True, slots=True)
class Range(Node):
    low: Expr
    high: Expr


@dataclass(frozen=True, slots=True)
class Clause(Node):
    """A clause that is a keyword, at most one name, some expressions, and for a fact where it comes from.

    `kind` per statement:
    sensor: reads(two expressions), step, frame_every, stale_after, keeps_value, reads_value, error, changes(two), lag;
    channel: follows, rests_at, ends(two), direction(name, sign in `word`), trim;
    latch: set_when, reset_when, set_wins; counter: counts, clears, limit;
    device: device_reads (the first word in `name`, the second in `word`), starts (`name`, or `reset` in `word`),
    gives (name), first_frame.
    """

    kind: str
    expressions: tuple[Expr, ...] = ()
    name: Name | None = None
    word: str | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class TableRow(Node):
    position: Name
    value: Expr


@dataclass(frozen=True, slots=True)
class FollowsTable(Node):
    """`follows flaps as clean 0 %, thermal 20 %, landing 60 %`."""

    switch: Name
    rows: tuple[TableRow, ...]
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class Timeout(Node):
    """`timeout 8 s then blocked until S` / `... for D`."""

    duration: Expr
    blocked_until: Expr | None = None
    blocked_for: Expr | None = None


@dataclass(frozen=True, slots=True)
class Modifier(Node):
    """`after D`, `ramp WORD R` (the word in `direction`), `hand back R`."""

    kind: Literal["after", "ramp", "hand back"]
    amount: Expr
    direction: Name | None = None


@dataclass(frozen=True, slots=True)
class Drive(Node):
    channels: tuple[Ref, ...]
    target: Expr
    modifiers: tuple[Modifier, ...] = ()


@dataclass(frozen=True, slots=True)
class Move(Node):
    channels: tuple[Ref, ...]
    direction: Name
    amount: Expr
    modifiers: tuple[Modifier, ...] = ()


@dataclass(frozen=True, slots=True)
class Limit(Node):
    channels: tuple[Ref, ...]
    bound: Literal["least", "most"]
    amount: Expr
    modifiers: tuple[Modifier, ...] = ()


@dataclass(frozen=True, slots=True)
class Announce(Node):
    means: Name
    text: Text | None = None
    every: Expr | None = None


Action = Drive | Move | Limit | Announce


@dataclass(frozen=True, slots=True)
class Phase(Node):
    name: Name
    lasts: Expr | None
    until: Expr | None
    actions: tuple[Action, ...]


# ---------- claim forms


@dataclass(frozen=True, slots=True)
class Never(Node):
    signal: Expr


@dataclass(frozen=True, slots=True)
class Always(Node):
    signal: Expr


@dataclass(frozen=True, slots=True)
class Whenever(Node):
    cause: Expr
    effect: Expr
    within: Expr | None = None


@dataclass(frozen=True, slots=True)
class StartsAtMost(Node):
    signal: Expr
    count: Quantity
    window: Expr


@dataclass(frozen=True, slots=True)
class QuietAfter(Node):
    duration: Expr
    cause: Expr
    never: Expr


@dataclass(frozen=True, slots=True)
class LengthOf(Node):
    signal: Expr
    bound: Literal["least", "most"]
    duration: Expr


@dataclass(frozen=True, slots=True)
class StepOf(Node):
    number: Expr
    most: Expr
    window: Expr


@dataclass(frozen=True, slots=True)
class Can(Node):
    stages: tuple[Expr, ...]


@dataclass(frozen=True, slots=True)
class Before(Node):
    """`before signal comes first`."""

    signal: Expr
    first: Expr


Form = Never | Always | Whenever | StartsAtMost | QuietAfter | LengthOf | StepOf | Can | Before


@dataclass(frozen=True, slots=True)
class Scope(Node):
    kind: Literal["while", "since"]
    signal: Expr


# ---------- statements


@dataclass(frozen=True, slots=True)
class Header(Node):
    title: Text
    version: Text | None = None


@dataclass(frozen=True, slots=True)
class Include(Node):
    path: Text


@dataclass(frozen=True, slots=True)
class Parameter(Node):
    kind: Literal["signal", "sensor", "channel", "value"]
    name: Name


@dataclass(frozen=True, slots=True)
class Part(Node):
    name: Name
    takes: tuple[Parameter, ...]
    gives: tuple[Name, ...]
    body: tuple["Statement", ...]


@dataclass(frozen=True, slots=True)
class Binding(Node):
    name: Name
    value: Expr


@dataclass(frozen=True, slots=True)
class Use(Node):
    part: Name
    name: Name
    bindings: tuple[Binding, ...]


@dataclass(frozen=True, slots=True)
class Cycle(Node):
    range: Range
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class Device(Node):
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class Fact(Node):
    name: Name
    value: Expr
    to: Expr | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class Tune(Node):
    """`tune gain = 2 from 1 to 4 in steps of 1`; `steps` is None for a tune that varies freely in its range."""

    name: Name
    value: Expr
    range: Range
    steps: Expr | None = None


@dataclass(frozen=True, slots=True)
class Require(Node):
    condition: Expr


@dataclass(frozen=True, slots=True)
class Value(Node):
    name: Name
    value: Expr


@dataclass(frozen=True, slots=True)
class Sample(Node):
    name: Name
    value: Expr
    when: Expr
    first: Expr


@dataclass(frozen=True, slots=True)
class Signal(Node):
    name: Name
    value: Expr


@dataclass(frozen=True, slots=True)
class Switch(Node):
    name: Name
    positions: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Button(Node):
    name: Name


@dataclass(frozen=True, slots=True)
class Control(Node):
    """A stick or a knob."""

    kind: Literal["stick", "knob"]
    name: Name
    range: Range


@dataclass(frozen=True, slots=True)
class Sensor(Node):
    name: Name
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class Channel(Node):
    name: Name
    number: Quantity | None
    clauses: tuple[Clause | FollowsTable, ...]


@dataclass(frozen=True, slots=True)
class Latch(Node):
    name: Name
    clauses: tuple[Clause | Timeout, ...]


@dataclass(frozen=True, slots=True)
class Counter(Node):
    name: Name
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True)
class Rule(Node):
    name: Name
    condition: Expr
    actions: tuple[Action, ...]


@dataclass(frozen=True, slots=True)
class Sequence(Node):
    name: Name
    condition: Expr
    phases: tuple[Phase, ...]


@dataclass(frozen=True, slots=True)
class Priority(Node):
    names: tuple[Name, ...]


@dataclass(frozen=True, slots=True)
class Role(Node):
    role: Name
    signal: Expr


@dataclass(frozen=True, slots=True)
class Claim(Node):
    """`claim NAME [strict] "sentence": FORM [while S | since S] [provided SENSOR, ... keeps arriving]`.

    `strictness` is the word behind the name, whatever it is.
    """

    name: Name
    sentence: Text | None
    form: Form
    scope: Scope | None = None
    arriving: tuple[Name, ...] = ()
    strictness: Name | None = None


@dataclass(frozen=True, slots=True)
class Assume(Node):
    name: Name
    sentence: Text | None
    form: Form
    scope: Scope | None = None
    basis: Basis | None = None


@dataclass(frozen=True, slots=True)
class Accept(Node):
    hazard: Name
    rule: Name | None
    reason: Text


@dataclass(frozen=True, slots=True)
class StageTune(Node):
    name: Name
    value: Expr


@dataclass(frozen=True, slots=True)
class Stage(Node):
    """`warned` is the place of the words `warn only`."""

    name: Name
    warn_only: bool
    tunes: tuple[StageTune, ...] = ()
    warned: Span | None = field(default=None, compare=False, repr=False)


Statement = (
    Include
    | Part
    | Use
    | Cycle
    | Device
    | Fact
    | Tune
    | Require
    | Value
    | Sample
    | Signal
    | Switch
    | Button
    | Control
    | Sensor
    | Channel
    | Latch
    | Counter
    | Rule
    | Sequence
    | Priority
    | Role
    | Claim
    | Assume
    | Accept
    | Stage
)


@dataclass(frozen=True, slots=True)
class File(Node):
    """A whole rule file. Comments stand beside the tree, in order; `format` puts them back by their spans."""

    header: Header | None
    statements: tuple[Statement, ...]
    comments: tuple[Comment, ...] = field(default=(), compare=False)
