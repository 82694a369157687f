"""The algebra that the machine is written in: Booleans and exact numbers, linear by construction.

A `Terms` table builds terms and keeps one object for each distinct term, so a machine is a graph in which shared parts
are shared. The exact interpreter (`run`) and the solver encoding (`prove`) are two readings of these terms; neither
knows what a latch or a ramp is.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Sort = Literal["bool", "number"]


@dataclass(frozen=True, slots=True, eq=False)
class Bool:
    value: bool


@dataclass(frozen=True, slots=True, eq=False)
class Real:
    value: Fraction


@dataclass(frozen=True, slots=True, eq=False)
class Var:
    name: str
    sort: Sort


@dataclass(frozen=True, slots=True, eq=False)
class Not:
    operand: "Term"


@dataclass(frozen=True, slots=True, eq=False)
class And:
    operands: tuple["Term", ...]


@dataclass(frozen=True, slots=True, eq=False)
class Or:
    operands: tuple["Term", ...]


@dataclass(frozen=True, slots=True, eq=False)
class If:
    condition: "Term"
    then: "Term"
    otherwise: "Term"
    sort: Sort


@dataclass(frozen=True, slots=True, eq=False)
class Add:
    operands: tuple["Term", ...]


@dataclass(frozen=True, slots=True, eq=False)
class Scale:
    factor: Fraction
    operand: "Term"


@dataclass(frozen=True, slots=True, eq=False)
class AtMost:
    left: "Term"
    right: "Term"


@dataclass(frozen=True, slots=True, eq=False)
class Less:
    left: "Term"
    right: "Term"


@dataclass(frozen=True, slots=True, eq=False)
class Equal:
    """Of two numbers."""

    left: "Term"
    right: "Term"


Term = Bool | Real | Var | Not | And | Or | If | Add | Scale | AtMost | Less | Equal
Comparison = AtMost | Less | Equal


def children(term: Term) -> tuple[Term, ...]:
    match term:
        case Bool() | Real() | Var():
            return ()
        case Not(operand) | Scale(_, operand):
            return (operand,)
        case And(operands) | Or(operands) | Add(operands):
            return operands
        case If(condition, then, otherwise):
            return (condition, then, otherwise)
        case AtMost(left, right) | Less(left, right) | Equal(left, right):
            return (left, right)


def walk(roots: Iterable[Term]) -> Iterator[Term]:
    """Every term below the roots once, parts before wholes. Iterative, so depth is no limit."""
    seen: set[int] = set()
    for root in roots:
        stack: list[tuple[Term, bool]] = [(root, False)]
        while stack:
            term, ready = stack.pop()
            if ready:
                yield term
                continue
            if id(term) in seen:
                continue
            seen.add(id(term))
            stack.append((term, True))
            stack.extend((child, False) for child in reversed(children(term)) if id(child) not in seen)


def variables(roots: Iterable[Term]) -> frozenset[str]:
    return frozenset(t.name for t in walk(roots) if isinstance(t, Var))


def values_of(number: Term) -> Iterator[Term]:
    """What a number may come to: the ends of its choices, whatever decides between them. Each once."""
    seen: set[int] = set()
    waiting = [number]
    while waiting:
        term = waiting.pop()
        if id(term) in seen:
            continue
        seen.add(id(term))
        if isinstance(term, If):
            waiting += [term.otherwise, term.then]
        else:
            yield term


class Terms:
    """Builds terms; equal terms are the same object. Folds constants and drops what cannot matter, nothing cleverer."""

    def __init__(self) -> None:
        self._table: dict[tuple[object, ...], Term] = {}
        self.true = self._keep(("bool", True), lambda: Bool(True))
        self.false = self._keep(("bool", False), lambda: Bool(False))
        self.zero = self.real(Fraction(0))

    def _keep(self, key: tuple[object, ...], make: Callable[[], Term]) -> Term:
        found = self._table.get(key)
        if found is None:
            found = self._table[key] = make()
        return found

    # ---------- leaves

    def bool(self, value: bool) -> Term:
        return self.true if value else self.false

    def real(self, value: Fraction | int) -> Term:
        exact = Fraction(value)
        return self._keep(("real", exact), lambda: Real(exact))

    def var(self, name: str, sort: Sort) -> Var:
        found = self._keep(("var", name), lambda: Var(name, sort))
        assert isinstance(found, Var), name
        assert found.sort == sort, name
        return found

    # ---------- Booleans

    def not_(self, a: Term) -> Term:
        if isinstance(a, Bool):
            return self.bool(not a.value)
        if isinstance(a, Not):
            return a.operand
        return self._keep(("not", id(a)), lambda: Not(a))

    def all(self, *operands: Term) -> Term:
        return self._junction(And, operands, self.true, self.false)

    def any(self, *operands: Term) -> Term:
        return self._junction(Or, operands, self.false, self.true)

    def _junction(self, kind: type[And] | type[Or], operands: Iterable[Term], unit: Term, zero: Term) -> Term:
        flat: dict[int, Term] = {}
        for operand in operands:
            for part in operand.operands if isinstance(operand, kind) else (operand,):
                if part is zero:
                    return zero
                if part is not unit:
                    flat[id(part)] = part
        if any(isinstance(part, Not) and id(part.operand) in flat for part in flat.values()):
            return zero
        match tuple(flat.values()):
            case ():
                return unit
            case (only,):
                return only
            case parts:
                return self._keep((kind.__name__, *(id(p) for p in parts)), lambda: kind(parts))

    def implies(self, a: Term, b: Term) -> Term:
        return self.any(self.not_(a), b)

    def same(self, a: Term, b: Term) -> Term:
        """Two Booleans agree."""
        return self.if_(a, b, self.not_(b))

    def if_(self, condition: Term, then: Term, otherwise: Term) -> Term:
        if isinstance(condition, Bool):
            return then if condition.value else otherwise
        if then is otherwise:
            return then
        if isinstance(condition, Not):
            return self.if_(condition.operand, otherwise, then)
        if then is self.true:
            return self.any(condition, otherwise)
        if then is self.false:
            return self.all(self.not_(condition), otherwise)
        if otherwise is self.false:
            return self.all(condition, then)
        if otherwise is self.true:
            return self.any(self.not_(condition), then)
        sort = sort_of(then)
        return self._keep(("if", id(condition), id(then), id(otherwise)), lambda: If(condition, then, otherwise, sort))

    # ---------- numbers

    def add(self, *operands: Term) -> Term:
        constant = Fraction(0)
        weights: dict[int, tuple[Term, Fraction]] = {}
        for operand in operands:
            for part in operand.operands if isinstance(operand, Add) else (operand,):
                if isinstance(part, Real):
                    constant += part.value
                    continue
                base, factor = (part.operand, part.factor) if isinstance(part, Scale) else (part, Fraction(1))
                weights[id(base)] = (base, weights.get(id(base), (base, Fraction(0)))[1] + factor)
        parts = [self.scale(factor, base) for base, factor in weights.values() if factor]
        if constant or not parts:
            parts.append(self.real(constant))
        if len(parts) == 1:
            return parts[0]
        whole = tuple(parts)
        return self._keep(("add", *(id(p) for p in whole)), lambda: Add(whole))

    def scale(self, factor: Fraction | int, a: Term) -> Term:
        exact = Fraction(factor)
        if exact == 0:
            return self.zero
        if exact == 1:
            return a
        match a:
            case Real(value):
                return self.real(exact * value)
            case Scale(inner, operand):
                return self.scale(exact * inner, operand)
            case Add(operands):
                return self.add(*(self.scale(exact, o) for o in operands))
        return self._keep(("scale", exact, id(a)), lambda: Scale(exact, a))

    def sub(self, a: Term, b: Term) -> Term:
        return self.add(a, self.scale(-1, b))

    def at_most(self, a: Term, b: Term) -> Term:
        if isinstance(a, Real) and isinstance(b, Real):
            return self.bool(a.value <= b.value)
        if a is b:
            return self.true
        return self._keep(("<=", id(a), id(b)), lambda: AtMost(a, b))

    def less(self, a: Term, b: Term) -> Term:
        if isinstance(a, Real) and isinstance(b, Real):
            return self.bool(a.value < b.value)
        if a is b:
            return self.false
        return self._keep(("<", id(a), id(b)), lambda: Less(a, b))

    def equal(self, a: Term, b: Term) -> Term:
        if isinstance(a, Real) and isinstance(b, Real):
            return self.bool(a.value == b.value)
        if a is b:
            return self.true
        return self._keep(("==", id(a), id(b)), lambda: Equal(a, b))

    def smaller(self, a: Term, b: Term) -> Term:
        return self.if_(self.at_most(a, b), a, b)

    def larger(self, a: Term, b: Term) -> Term:
        return self.if_(self.at_most(a, b), b, a)

    def size(self, a: Term) -> Term:
        return self.larger(a, self.scale(-1, a))

    def clamp(self, low: Term, value: Term, high: Term) -> Term:
        return self.larger(low, self.smaller(value, high))

    def rebuild(self, term: Term, parts: tuple[Term, ...]) -> Term:
        """The same operation over other parts."""
        match term:
            case Bool() | Real() | Var():
                return term
            case Not():
                return self.not_(parts[0])
            case And():
                return self.all(*parts)
            case Or():
                return self.any(*parts)
            case If():
                return self.if_(*parts)
            case Add():
                return self.add(*parts)
            case Scale(factor, _):
                return self.scale(factor, parts[0])
            case AtMost():
                return self.at_most(*parts)
            case Less():
                return self.less(*parts)
            case Equal():
                return self.equal(*parts)


def sort_of(term: Term) -> Sort:
    match term:
        case Var(_, sort) | If(_, _, _, sort):
            return sort
        case Real() | Add() | Scale():
            return "number"
        case _:
            return "bool"
