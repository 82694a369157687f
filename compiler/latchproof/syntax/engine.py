"""The parsing machine: runs tokens through the LALR tables and hands every finished construct to the builder.

The stack is a linked list. So the state "after the last token that was taken" is kept at no cost, and what may come
next is asked there: after the reductions that an unexpected token sets off, part of the answer would be lost.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from latchproof.syntax.grammar import END, Tables
from latchproof.syntax.lexing import Token

Build = Callable[[str, list[Any], int, int], Any]
"""Name of the production, its meaningful children, where it starts and ends."""

Growth = Callable[[str, int], int]
"""By how many levels a construct with so many children is deeper than its deepest child."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A stack entry. `token` is None for a construct; `depth` is how deeply the construct is nested."""

    below: "Cell | None"
    state: int
    value: Any
    token: Token | None
    start: int
    end: int
    depth: int


@dataclass(frozen=True, slots=True)
class Fork:
    """Where the parser stands: the stack after the last token taken."""

    tables: Tables
    top: Cell

    def states(self) -> list[int]:
        found = []
        cell: Cell | None = self.top
        while cell is not None:
            found.append(cell.state)
            cell = cell.below
        found.reverse()
        return found

    def taken(self, kinds: list[str]) -> int:
        """How many of these kinds of token would be taken, one after the other."""
        states = self.states()
        for count, kind in enumerate(kinds):
            if not take(self.tables, states, kind):
                return count
        return len(kinds)

    def expected(self) -> frozenset[str]:
        """The kinds of token that may come next."""
        states = self.states()
        return frozenset(kind for kind in self.tables.actions[states[-1]] if take(self.tables, list(states), kind))


def take(tables: Tables, states: list[int], kind: str) -> bool:
    """Moves `states` over one token; false (and `states` spoilt) if it is not expected there."""
    if kind == END:
        return _takes_end(tables, states)
    while True:
        action = tables.actions[states[-1]].get(kind)
        if action is None:
            return False
        if action >= 0:
            states.append(action)
            return True
        _reduce_states(tables, states, -action - 1)


def _takes_end(tables: Tables, states: list[int]) -> bool:
    while states[-1] != tables.accept:
        action = tables.actions[states[-1]].get(END)
        if action is None or action >= 0:
            return action is not None
        _reduce_states(tables, states, -action - 1)
    return True


def _reduce_states(tables: Tables, states: list[int], number: int) -> None:
    production = tables.productions[number]
    if production.size:
        del states[-production.size :]
    states.append(tables.gotos[states[-1]][production.origin])


def bottom(tables: Tables) -> Cell:
    return Cell(None, tables.start, None, None, 0, 0, 0)


def shift(top: Cell, state: int, token: Token, leaf: Any) -> Cell:
    return Cell(top, state, leaf, token, token.start, token.end, 0)


def reduce(tables: Tables, top: Cell, number: int, build: Build, growth: Growth) -> Cell:
    """The stack after the production with this number."""
    production = tables.productions[number]
    cells: list[Cell] = []
    below = top
    for _ in range(production.size):
        cells.append(below)
        assert below.below is not None
        below = below.below
    cells.reverse()
    state = tables.gotos[below.state][production.origin]
    if not cells:
        empty: Any = [] if production.spreads else build(production.name, [], top.end, top.end)
        return Cell(below, state, empty, None, top.end, top.end, 0)
    depth = max(cell.depth for cell in cells)
    start, end = cells[0].start, cells[-1].end
    if production.passes and len(production.keep) == 1 and not isinstance(cells[production.keep[0]].value, list):
        return Cell(below, state, cells[production.keep[0]].value, None, start, end, depth)
    children = _children(production.keep, cells)
    if production.spreads:
        return Cell(below, state, children, None, start, end, depth)
    depth += growth(production.name, len(children))
    return Cell(below, state, build(production.name, children, start, end), None, start, end, depth)


def _children(keep: tuple[int, ...], cells: list[Cell]) -> list[Any]:
    """The values of the kept cells, repetitions spread out. A repetition in front grows in place: linear time."""
    first = cells[keep[0]].value if keep else None
    children: list[Any] = first if isinstance(first, list) else []
    for position in keep[1:] if isinstance(first, list) else keep:
        value = cells[position].value
        if isinstance(value, list):
            children.extend(value)
        else:
            children.append(value)
    return children
