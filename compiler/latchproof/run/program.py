"""Terms prepared for being evaluated many times: one flat list of operations, each shared part once."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from heapq import heappop, heappush

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
    """`operations` in an order in which parts come before wholes, with the places of their parts; `roots` are wanted.

    `variables` by place and name; `users` of a place are the places of the operations that it is a part of.
    """

    operations: tuple[tuple[Term, tuple[int, ...]], ...]
    roots: tuple[int, ...]
    variables: tuple[tuple[int, str], ...]
    users: tuple[tuple[int, ...], ...]

    def run(self, values: Mapping[str, Exact]) -> list[Exact]:
        """The values of the roots, exactly.

        Raises KeyError for a variable without a value.
        """
        return Running(self).step(values)


class Running:
    """A program run again and again: only what a changed value reaches is computed anew."""

    def __init__(self, program: Program) -> None:
        self._program = program
        self._done: list[Exact] = []

    def step(self, values: Mapping[str, Exact]) -> list[Exact]:
        """The values of the roots for these values of the variables.

        Raises KeyError for a variable without a value.
        """
        p, done = self._program, self._done
        if not done:
            for term, parts in p.operations:
                done.append(_apply(term, parts, done, values))
            return [done[i] for i in p.roots]
        waiting: list[int] = []
        marked: set[int] = set()
        for place, name in p.variables:
            value = values[name]
            if value is not done[place] and value != done[place]:
                done[place] = value
                _mark(p.users[place], marked, waiting)
        while waiting:
            place = heappop(waiting)
            term, parts = p.operations[place]
            value = _apply(term, parts, done, values)
            if value != done[place]:
                done[place] = value
                _mark(p.users[place], marked, waiting)
        return [done[i] for i in p.roots]


def _mark(users: tuple[int, ...], marked: set[int], waiting: list[int]) -> None:
    for user in users:
        if user not in marked:
            marked.add(user)
            heappush(waiting, user)


def prepare(roots: Iterable[Term]) -> Program:
    wanted = tuple(roots)
    place: dict[int, int] = {}
    operations: list[tuple[Term, tuple[int, ...]]] = []
    users: list[list[int]] = []
    for term in walk(wanted):
        parts = tuple(place[id(part)] for part in children(term))
        for part in dict.fromkeys(parts):
            users[part].append(len(operations))
        place[id(term)] = len(operations)
        operations.append((term, parts))
        users.append([])
    variables = tuple((k, term.name) for k, (term, _) in enumerate(operations) if isinstance(term, Var))
    return Program(
        tuple(operations), tuple(place[id(root)] for root in wanted), variables, tuple(tuple(u) for u in users)
    )


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
            total: Fraction | int = done[parts[0]]
            for p in parts[1:]:
                total += done[p]
            return Fraction(total)
        case Scale(factor, _):
            return factor * done[parts[0]]
        case AtMost():
            return done[parts[0]] <= done[parts[1]]
        case Less():
            return done[parts[0]] < done[parts[1]]
        case Equal():
            return done[parts[0]] == done[parts[1]]
