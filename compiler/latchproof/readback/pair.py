"""Two rule sets as one machine with a promise that nobody ever sees or hears a difference, and what of their memory is
the same."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Constraint, Machine, Property, State
from latchproof.machine.product import OTHER
from latchproof.machine.terms import (
    Add,
    And,
    AtMost,
    Bool,
    Equal,
    If,
    Less,
    Not,
    Or,
    Real,
    Sort,
    Term,
    Terms,
    Var,
    children,
    sort_of,
    walk,
)
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Rule, RuleSet

DIFFERENCE = "a difference"


class LoopError(Exception):
    """Rules that go round in a circle have no machine."""


def plain(rules: RuleSet) -> RuleSet:
    """Without promises, on a transmitter whose entries all read this pass, each announcement in a rule of its own.

    Announcements are called by what is heard, so that two rule sets that say the same at the same time are equal
    whatever their rules are called.
    """
    device = replace(rules.device, reads="this cycle", starts="reset")
    said: list[Rule] = []
    count: dict[tuple[str, str | None], int] = {}

    def apart(condition: e.Signal, x: Announce) -> None:
        count[x.means, x.text] = count.get((x.means, x.text), 0) + 1
        name = f"{x.means} {x.text or ''} {count[x.means, x.text]}"
        said.append(Rule(name, condition, (x,), span=x.span))

    for r in rules.rules:
        for x in r.actions:
            if isinstance(x, Announce):
                apart(r.condition, x)
    for s in rules.sequences:
        for p in s.phases:
            for x in p.actions:
                if isinstance(x, Announce):
                    apart(e.NamedSignal(f"{s.name}.{p.name}", span=p.span), x)
    # No requirement either: under one that does not hold everything would be equal.
    return replace(rules, device=device, claims=(), assumptions=(), requires=(), rules=(*rules.rules, *said))


@dataclass(frozen=True)
class Pair:
    """`outputs`: what can be noticed, by name, in one and in the other; `same`: cells that always hold the same."""

    machine: Machine
    outputs: tuple[tuple[str, Term, Term], ...]
    same: tuple[tuple[str, ...], ...]
    settled: bool
    """The pairs of cells that are the same show already that every output is."""

    @property
    def property(self) -> Property:
        return self.machine.properties[0]


def pair(one: RuleSet, other: RuleSet) -> Pair:
    """Raises LoopError for rules that go round in a circle."""
    a, b = (_machine(plain(r)) for r in (one, other))
    t = Terms()
    fixed, others = _fixed(t, a), _fixed(t, b)  # each has its own numbers, though they are called alike
    mine = _Translated(t, a, dict(fixed), {})
    shared = _shared(t, a, b, fixed, others)
    renamed = {s.name: OTHER + s.name for s in b.states if s.name not in shared}
    yours = _Translated(t, b, dict(others), renamed)
    states = (*mine.states, *(s for s in yours.states if s.name.startswith(OTHER)))
    outputs = tuple(_outputs(t, mine, yours))
    differs = t.any(*(_differ(t, x, y) for _, x, y in outputs))
    classes, settled = alike(t, states, outputs)
    definitions = {**{n: x for n, x, _ in outputs}, **{OTHER + n: y for n, _, y in outputs}}
    inputs = (*a.inputs, *(i for i in b.inputs if i.name not in {x.name for x in a.inputs}))
    free = {p.name: p for m in (b, a) for p in m.parameters if p.low != p.high}
    machine = Machine(
        a.rules, t, states, inputs, tuple(free.values()),
        mine.constraints(a.requires), mine.constraints(a.starts), mine.constraints(a.constraints), definitions, {},
        properties=(Property(DIFFERENCE, "safe", differs),),
    )  # fmt: skip
    return Pair(machine, outputs, classes, settled)


def _machine(rules: RuleSet) -> Machine:
    made, wrong = compile_rules(rules)
    if made is None:
        raise LoopError(wrong[0].title if wrong else "")
    return made


def _fixed(t: Terms, machine: Machine) -> dict[str, Term]:
    """Tunes and facts that are one number, by name."""
    return {p.name: t.real(p.value) for p in machine.parameters if p.low == p.high}


class _Translated:
    """A machine among the terms of a pair, its memory renamed and its fixed numbers put in."""

    def __init__(self, t: Terms, machine: Machine, fixed: dict[str, Term], renamed: Mapping[str, str]) -> None:
        self.t, self.machine = t, machine
        self.meant = fixed | {old: t.var(new, _sort(machine, old)) for old, new in renamed.items()}
        self.done: dict[int, Term] = {}
        nexts = self.go(s.next for s in machine.states)
        firsts = self.go(t.zero if s.initial is None else s.initial for s in machine.states)
        self.states = tuple(
            replace(s, name=renamed.get(s.name, s.name), next=n, initial=None if s.initial is None else f)
            for s, n, f in zip(machine.states, nexts, firsts, strict=True)
        )

    def go(self, roots: Iterable[Term]) -> list[Term]:
        wanted = tuple(roots)
        for term in walk(wanted):
            if id(term) not in self.done:
                if isinstance(term, Var):
                    found = self.meant.get(term.name)
                    self.done[id(term)] = self.t.var(term.name, term.sort) if found is None else found
                elif isinstance(term, Bool):
                    self.done[id(term)] = self.t.bool(term.value)
                elif isinstance(term, Real):
                    self.done[id(term)] = self.t.real(term.value)
                else:
                    self.done[id(term)] = self.t.rebuild(term, tuple(self.done[id(c)] for c in children(term)))
        return [self.done[id(root)] for root in wanted]

    def defined(self, names: list[str]) -> Term:
        """What is defined under this name; under several, any of them, and under none never."""
        found = self.go(self.machine.definitions[name] for name in names)
        return found[0] if len(found) == 1 else self.t.any(*found)

    def constraints(self, several: tuple[Constraint, ...]) -> tuple[Constraint, ...]:
        terms = self.go(c.term for c in several)
        return tuple(replace(c, term=x) for c, x in zip(several, terms, strict=True))


def _sort(machine: Machine, name: str) -> Sort:
    return next(s.sort for s in machine.states if s.name == name)


def _shared(t: Terms, a: Machine, b: Machine, fixed: dict[str, Term], others: dict[str, Term]) -> frozenset[str]:
    """The memory of the world, which is there once, as far as both take it for the same."""
    sensors = {s.name for s in a.rules.sensors} & {s.name for s in b.rules.sensors}
    mine = {s.name: s for s in a.states}
    shared = {s.name for s in b.states if s.name in mine and s.name.partition("@")[0] in sensors}
    while True:
        before = len(shared)
        own = _Translated(t, a, dict(fixed), {})
        theirs = _Translated(t, b, dict(others), {s.name: OTHER + s.name for s in b.states if s.name not in shared})
        there = {s.name: (s.next, s.initial) for s in theirs.states}
        shared = {s.name for s in own.states if s.name in shared and there[s.name] == (s.next, s.initial)}
        if len(shared) == before:
            return frozenset(shared)


def _outputs(t: Terms, mine: _Translated, yours: _Translated) -> Iterable[tuple[str, Term, Term]]:
    """What can be noticed. The same sound of two rules is one; what only one of the two has is silent in the other."""
    for name in dict.fromkeys(c.name for m in (mine, yours) for c in m.machine.rules.channels):
        yield name, mine.defined([name]), yours.defined([name])
    one, other = _sounds(mine.machine.rules), _sounds(yours.machine.rules)
    for key in dict.fromkeys((*one, *other)):
        means, text = key
        for kind in (means, "announced"):
            here, there = ([f"{n}.{kind}" for n in sounds.get(key, ())] for sounds in (one, other))
            yield f"{means} {text or ''}.{kind}", mine.defined(here), yours.defined(there)


def _sounds(rules: RuleSet) -> dict[tuple[str, str | None], list[str]]:
    """The rules of announcements, by what is heard."""
    found: dict[tuple[str, str | None], list[str]] = {}
    for r in rules.rules:
        for x in r.actions:
            if " " in r.name and isinstance(x, Announce):
                found.setdefault((x.means, x.text), []).append(r.name)
    return found


def _differ(t: Terms, a: Term, b: Term) -> Term:
    return t.not_(t.equal(a, b)) if sort_of(a) == "number" else t.not_(t.same(a, b))


# ---------- what is the same


def alike(
    t: Terms, states: tuple[State, ...], outputs: tuple[tuple[str, Term, Term], ...]
) -> tuple[tuple[tuple[str, ...], ...], bool]:
    """Cells that start the same and, as long as such cells are the same, become the same; and whether every output is
    the same then.

    All cells of a sort that start alike are taken for the same at first; those whose next value is another term are
    told apart, until nothing changes. So what is left is kept by every step.
    """
    kinds: dict[str, object] = {s.name: (s.sort, s.name if s.initial is None else id(s.initial)) for s in states}
    groups = _numbered(kinds)
    while True:
        first: dict[int, str] = {}
        for s in states:
            first.setdefault(groups[s.name], s.name)
        meant: dict[str, Term] = {s.name: t.var(first[groups[s.name]], s.sort) for s in states}
        written = Canonical(t, meant)
        finer = _numbered({s.name: (groups[s.name], id(written.of(s.next))) for s in states})
        if len(set(finer.values())) == len(set(groups.values())):
            break
        groups = finer
    found: dict[int, list[str]] = {}
    for s in states:
        found.setdefault(groups[s.name], []).append(s.name)
    settled = all(written.of(a) is written.of(b) for _, a, b in outputs)
    return tuple(tuple(several) for several in found.values() if len(several) > 1), settled


def _numbered(kinds: Mapping[str, object]) -> dict[str, int]:
    numbers: dict[object, int] = {}
    return {name: numbers.setdefault(kind, len(numbers)) for name, kind in kinds.items()}


class Canonical:
    """One way to write what can be written in several: `not` at the leaves, parts of a sum or a gate in one order,
    `below` as the opposite of `at least`."""

    def __init__(self, t: Terms, meant: Mapping[str, Term]) -> None:
        self.t, self.meant = t, meant
        self.yes: dict[int, Term] = {}
        self.no: dict[int, Term] = {}

    def of(self, term: Term) -> Term:
        for x in walk((term,)):
            if id(x) in self.yes:
                continue
            made = self.yes[id(x)] = self._made(x)
            if sort_of(x) == "bool":
                self.no[id(x)] = self._opposite(x, made)
        return self.yes[id(term)]

    def _made(self, x: Term) -> Term:
        t = self.t
        match x:
            case Var(name=name, sort=sort):
                return self.meant.get(name, t.var(name, sort))
            case Not(operand=operand):
                return self.no[id(operand)]
            case And(operands=operands):
                return self._gate(t.all, operands, self.yes, And)
            case Or(operands=operands):
                return self._gate(t.any, operands, self.yes, Or)
            case Add(operands=operands):
                return t.add(*self._sorted(self.yes[id(o)] for o in operands))
            case Less(left=left, right=right):
                return t.not_(t.at_most(self.yes[id(right)], self.yes[id(left)]))
            case Equal(left=left, right=right):
                return t.equal(*self._sorted((self.yes[id(left)], self.yes[id(right)])))
            case AtMost() | _:
                return t.rebuild(x, tuple(self.yes[id(c)] for c in children(x)))

    def _opposite(self, x: Term, made: Term) -> Term:
        match x:
            case Not(operand=operand):
                return self.yes[id(operand)]
            case And(operands=operands):
                return self._gate(self.t.any, operands, self.no, Or)
            case Or(operands=operands):
                return self._gate(self.t.all, operands, self.no, And)
            case If(condition=condition, then=then, otherwise=otherwise):
                return self.t.if_(self.yes[id(condition)], self.no[id(then)], self.no[id(otherwise)])
            case _:
                return self.t.not_(made)

    def _gate(
        self, join: Callable[..., Term], operands: tuple[Term, ...], done: dict[int, Term], kind: type[And] | type[Or]
    ) -> Term:
        parts: list[Term] = []
        for o in operands:
            part = done[id(o)]
            parts += part.operands if isinstance(part, kind) else (part,)
        return join(*self._sorted(parts))

    def _sorted(self, terms: Iterable[Term]) -> list[Term]:
        """In the order of their making, which is the same for the same terms."""
        return sorted(terms, key=id)
