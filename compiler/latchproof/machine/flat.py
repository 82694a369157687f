"""Terms as one flat list, for sending them to another process: depth is no limit, sharing is kept."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from latchproof.machine.cone import System
from latchproof.machine.model import Constraint, State
from latchproof.machine.terms import Bool, If, Real, Scale, Term, Terms, Var, children, walk


class Operation(NamedTuple):
    """A term whose parts are places in the list; `payload` is what it holds beside its parts."""

    kind: str
    payload: object
    parts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class FlatSystem:
    """A system without its terms, and the flat list from which they are built again."""

    shell: System
    operations: tuple[Operation, ...]
    roots: tuple[int, ...]


def listed(roots: Sequence[Term]) -> tuple[tuple[Operation, ...], tuple[int, ...]]:
    """All terms below the roots, parts before wholes, and the places of the roots among them."""
    place: dict[int, int] = {}
    operations: list[Operation] = []
    for term in walk(roots):
        place[id(term)] = len(operations)
        operations.append(Operation(type(term).__name__, _payload(term), tuple(place[id(c)] for c in children(term))))
    return tuple(operations), tuple(place[id(r)] for r in roots)


def flatten(system: System) -> FlatSystem:
    roots = _roots(system)
    shell = _with_roots(system, Terms(), [None] * len(roots))
    return FlatSystem(shell, *listed(roots))


def unflatten(flat: FlatSystem) -> System:
    t = Terms()
    built: list[Term] = []
    for operation in flat.operations:
        built.append(_build(t, operation, tuple(built[p] for p in operation.parts)))
    return _with_roots(flat.shell, t, [built[r] for r in flat.roots])


def _payload(term: Term) -> object:
    match term:
        case Bool(value) | Real(value):
            return value
        case Var(name, sort):
            return (name, sort)
        case Scale(factor, _):
            return factor
        case If(_, _, _, sort):
            return sort
        case _:
            return None


def _build(t: Terms, o: Operation, parts: tuple[Term, ...]) -> Term:
    match o.kind, o.payload:
        case "Bool", bool(value):
            return t.bool(value)
        case "Real", value:
            return t.real(value)  # type: ignore[arg-type]
        case "Var", (str(name), "bool"):
            return t.var(name, "bool")
        case "Var", (str(name), "number"):
            return t.var(name, "number")
        case "Scale", factor:
            return t.scale(factor, parts[0])  # type: ignore[arg-type]
        case "Not", _:
            return t.not_(parts[0])
        case "And", _:
            return t.all(*parts)
        case "Or", _:
            return t.any(*parts)
        case "If", _:
            return t.if_(*parts)
        case "Add", _:
            return t.add(*parts)
        case "AtMost", _:
            return t.at_most(*parts)
        case "Less", _:
            return t.less(*parts)
        case "Equal", _:
            return t.equal(*parts)
    raise ValueError(f"not an operation: {o.kind}")


def _roots(s: System) -> list[Term]:
    roots: list[Term] = []
    for state in s.states:
        roots.append(state.next)
        if state.initial is not None:
            roots.append(state.initial)
    roots += [c.term for c in (*s.requires, *s.starts, *s.constraints)]
    return [*roots, s.goal]


def _with_roots(s: System, terms: Terms, roots: Iterable[Term | None]) -> System:
    source = iter(roots)

    def take() -> Term:
        return next(source)  # type: ignore[return-value]

    states = []
    for state in s.states:
        following = take()
        first = take() if state.initial is not None else None
        if first is None and state.initial is not None:
            first = Bool(False)
        states.append(State(state.name, state.sort, first, following, state.flows, state.echoes))
    requires, starts, constraints = (
        tuple(Constraint(take(), c.why) for c in group) for group in (s.requires, s.starts, s.constraints)
    )
    return replace(
        s, terms=terms, states=tuple(states), requires=requires, starts=starts, constraints=constraints, goal=take()
    )
