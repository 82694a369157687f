"""Terms prepared for being evaluated many times: one flat list of operations, each shared part once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

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
    Scale,
    Term,
    Var,
    children,
    walk,
)

Exact = bool | Fraction


@dataclass(frozen=True)
class Program:
    """`operations` in an order in which parts come before wholes, with the places of their parts; `roots` are
    wanted."""

    operations: tuple[tuple[Term, tuple[int, ...]], ...]
    roots: tuple[int, ...]

    def run(self, values: Mapping[str, Exact]) -> list[Exact]:
        """The values of the roots, exactly.

        Raises KeyError for a variable without a value.
        """
        done: list[Exact] = []
        for term, parts in self.operations:
            done.append(_apply(term, parts, done, values))
        return [done[i] for i in self.roots]


def prepare(roots: Iterable[Term]) -> Program:
    wanted = tuple(roots)
    place: dict[int, int] = {}
    operations: list[tuple[Term, tuple[int, ...]]] = []
    for term in walk(wanted):
        place[id(term)] = len(operations)
        operations.append((term, tuple(place[id(part)] for part in children(term))))
    return Program(tuple(operations), tuple(place[id(root)] for root in wanted))


def _apply(term: Term, parts: tuple[int, ...], done: list[Exact], values: Mapping[str, Exact]) -> Exact:
    match term:
        case Var(name):
            return values[name]
        case Bool(truth):
            return truth
        case Real(number):
            return number
        case Not():
            return not done[parts[0]]
        case And():
            return all(done[p] for p in parts)
        case Or():
            return any(done[p] for p in parts)
        case If():
            return done[parts[1]] if done[parts[0]] else done[parts[2]]
        case Add():
            return sum((Fraction(done[p]) for p in parts), Fraction(0))
        case Scale(factor, _):
            return factor * done[parts[0]]
        case AtMost():
            return done[parts[0]] <= done[parts[1]]
        case Less():
            return done[parts[0]] < done[parts[1]]
        case Equal():
            return done[parts[0]] == done[parts[1]]
