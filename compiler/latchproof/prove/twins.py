"""Memory cells that always hold the same because they start the same and are changed in the same way.

Two delays of one signal run side by side; so do the monitors of two promises about one moment. The coarsest division of
the cells into classes such that cells of a class start with the same term and become the same, classes standing for
their cells: whatever happens, they stay equal.
"""

from collections.abc import Sequence

from latchproof.machine.model import State
from latchproof.machine.terms import Bool, Real, Scale, Term, Var, children, walk


def twins(states: Sequence[State]) -> list[tuple[str, ...]]:
    """The classes with more than one cell, by name, in the order of the cells."""
    order = list(walk(s.next for s in states))
    classes: dict[str, object] = {s.name: (s.sort, s.name if s.initial is None else id(s.initial)) for s in states}
    count = len(set(classes.values()))
    while True:
        shapes = _shapes(order, classes)
        keys = {s.name: (classes[s.name], shapes[id(s.next)]) for s in states}
        numbers: dict[object, int] = {}
        classes = {name: numbers.setdefault(key, len(numbers)) for name, key in keys.items()}
        if len(numbers) == count:
            break
        count = len(numbers)
    members: dict[object, list[str]] = {}
    for name, number in classes.items():
        members.setdefault(number, []).append(name)
    return [tuple(names) for names in members.values() if len(names) > 1]


def _shapes(order: Sequence[Term], classes: dict[str, object]) -> dict[int, int]:
    """A number for each term; the same for terms that differ only in which cell of a class they name."""
    known: dict[object, int] = {}
    shapes: dict[int, int] = {}
    for term in order:
        match term:
            case Var(name):
                key: object = ("cell", classes[name]) if name in classes else ("var", name)
            case Bool(value) | Real(value):
                key = (type(term), value)
            case Scale(factor, operand):
                key = (Scale, factor, shapes[id(operand)])
            case _:
                key = (type(term), *(shapes[id(c)] for c in children(term)))
        shapes[id(term)] = known.setdefault(key, len(known))
    return shapes
