"""How the entries of a transmitter read one another, where it does not always see this cycle's values.

An entry is what takes a line of the transmitter. Under "last cycle" every reference from one entry to another sees what
the other was in the cycle before. Under "unknown order" a Boolean for each two entries, chosen at power-up and never
changed, decides: more than there are real orders, so what is proved for all choices is proved for every order. Under
"listed order" one Boolean decides between the order of the file, in which only what stands further down is seen late,
and the order of the listing, in which everything stands behind what it reads.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field

from latchproof.machine.model import Holds, Order, State
from latchproof.machine.ordering import lined_up
from latchproof.machine.reads import parts
from latchproof.machine.terms import Term, Terms, sort_of
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Channel,
    Control,
    Counter,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Reads,
    Role,
    Rule,
    RuleSet,
    Sample,
    Sequence,
)
from latchproof.source import Span

AS_IN_FILE = "@as_in_file"
"""True where the entries stand in the order of the file."""

Place = tuple[str, int]
"""A text and where in it."""

Named = Channel | Control | Counter | Latch | NamedSignalDefinition | NamedValue | Role | Rule | Sample | Sequence

Expression = e.Signal | e.Number


@dataclass(frozen=True, slots=True)
class Entry:
    label: str
    output: Term


@dataclass(frozen=True, slots=True)
class Read:
    """`reader` reads `read`: seen late when the term is true."""

    reader: str
    read: str
    late: Term


@dataclass
class Reading:
    """The entries built so far, and who reads whom. `reader` is the entry being built.

    `belongs` gives the entry of a name that is not one itself: a phase is part of its sequence.
    """

    t: Terms
    reads: Reads
    belongs: Mapping[str, str]
    places: Mapping[Expression | str, Place] = field(default_factory=dict)
    states: list[State] = field(default_factory=list)
    orders: list[Order] = field(default_factory=list)
    entries: dict[tuple[str | None, Expression], Entry] = field(default_factory=dict)
    done: dict[tuple[str, str], Read] = field(default_factory=dict)
    reader: str = ""
    _with: dict[str, str] = field(default_factory=dict)
    _before: dict[str, Term] = field(default_factory=dict)
    _expressions: dict[str, Expression] = field(default_factory=dict)

    @contextmanager
    def reading_as(self, reader: str, at: str | None = None) -> Iterator[None]:
        if at is not None:
            self._with[reader] = at
        outer, self.reader = self.reader, reader
        yield
        self.reader = outer

    def entry(self, own: str | None, x: Expression, label: Callable[[], str], make: Callable[[], Term]) -> Entry:
        """The entry of an expression; equal ones are one. `own`: the thing whose last cycle it reads, if any."""
        if (own, x) not in self.entries:
            name = label()
            self._expressions[name] = x
            with self.reading_as(name, self._with.get(self.reader, self.reader)):
                self.entries[own, x] = Entry(name, make())
        return self.entries[own, x]

    def see(self, name: str, output: Term, cell: Term | None = None, holds: Holds = (None, None)) -> Term:
        """What the reader sees of an output. `cell` holds its last cycle, if the entry has such a memory itself;
        `holds`: the least and the most that it can be."""
        read = self.belongs.get(name, name)
        late = self._late(read)
        if late is self.t.false:
            return output
        return self.t.if_(late, cell if cell is not None else self._kept(name, output, holds), output)

    def part(self, reader: str, read: str) -> None:
        """`read` is put together with others to make `reader`, always in the same cycle."""
        self.done[reader, read] = Read(reader, read, self.t.false)

    def _kept(self, name: str, output: Term, holds: Holds) -> Term:
        if name not in self._before:
            sort = sort_of(output)
            nothing = self.t.false if sort == "bool" else self.t.zero
            flows = sort == "number"
            self._before[name] = self.t.var(f"{name}@before", sort)
            self.states.append(State(f"{name}@before", sort, nothing, output, flows, flows, holds))
        return self._before[name]

    def _late(self, read: str) -> Term:
        key = (self.reader, read)
        if key not in self.done:
            self.done[key] = Read(self.reader, read, self._decided(read))
        return self.done[key].late

    def _decided(self, read: str) -> Term:
        match self.reads:
            case "this cycle":
                return self.t.false
            case "last cycle":
                return self.t.true
            case "unknown order":
                return self._choice(f"@late{len(self.orders) + 1}", self.reader, read)
            case "listed order":
                mine, other = self._place(self.reader), self._place(read)
                if mine is None or other is None or mine[0] != other[0] or mine == other:
                    # two texts, or one part used twice: nothing says which stands first
                    known = mine is not None and mine == other and self._is_inside(read)
                    return self.t.false if known else self._choice(f"@late{len(self.orders) + 1}", self.reader, read)
                return self._choice(AS_IN_FILE, "", "") if other > mine else self.t.false

    def _is_inside(self, label: str) -> bool:
        """An entry without a name stands where the statement stands that it was first needed for, before that."""
        return label in self._expressions

    def _choice(self, cell: str, reader: str, read: str) -> Term:
        decides = self.t.var(cell, "bool")
        if not any(o.cell == cell for o in self.orders):
            self.orders.append(Order(cell, reader, self._expressions.get(read, read)))
            self.states.append(State(cell, "bool", None, decides))
        return decides

    def _place(self, label: str) -> Place | None:
        x = self._expressions.get(label)
        stands = self.places.get(self._with.get(label, label))
        return stands if x is None else self.places.get(x, stands)

    def longest_chain(self) -> int:
        """How many cycles the longest chain of references can be late."""
        late: dict[str, dict[str, int]] = {}
        for r in self.done.values():
            late.setdefault(r.reader, {})[r.read] = 0 if r.late is self.t.false else 1
            late.setdefault(r.read, {})
        place = {name: k for k, name in enumerate(late)}
        longest: dict[str, int] = {}
        for name in lined_up(late, place.__getitem__):
            longest[name] = max((longest[read] + cycles for read, cycles in late[name].items()), default=0)
        return max(longest.values(), default=0)


def places(rules: RuleSet) -> dict[Expression | str, Place]:
    """Where each named thing stands in the text, and each expression first."""
    found: dict[Expression | str, Place] = {}
    logic: tuple[Named, ...] = (*rules.values, *rules.signals, *rules.samples, *rules.latches, *rules.counters)
    doing: tuple[Named, ...] = (*rules.rules, *rules.sequences, *rules.roles, *rules.channels, *rules.controls)
    statements = sorted((*logic, *doing), key=lambda s: _place(s.span))
    for s in statements:
        found.setdefault(s.role if isinstance(s, Role) else s.name, _place(s.span))
        waiting: list[object] = list(parts(s))
        while waiting:
            x = waiting.pop()
            if isinstance(x, str) or x is None:
                continue
            if isinstance(x, Expression):
                found.setdefault(x, _place(s.span))
            waiting.extend(parts(x))
    return found


def _place(span: Span) -> Place:
    return span.source, span.start
