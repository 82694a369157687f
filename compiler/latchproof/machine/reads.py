"""Which names an expression reads in the same cycle. `previous` cuts the dependency."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from latchproof.rules import expressions as e


def parts(x: object) -> Iterator[object]:
    """The expressions directly inside an expression or a record of expressions."""
    if isinstance(x, tuple):
        yield from x
    elif is_dataclass(x):
        for f in fields(x):
            if f.name != "span":
                yield getattr(x, f.name)


def references(x: object, *, earlier: bool = False) -> Iterator[tuple[str, e.Located]]:
    """Same-cycle references below `x`: the name in the dependency graph, and the node that names it.

    With `earlier` also those to the cycle before.
    """
    stack: list[object] = [x]
    while stack:
        node = stack.pop()
        match node:
            case str() | None:
                continue
            case e.PreviousNumber(operand) | e.PreviousSignal(operand):
                if earlier:
                    stack.append(operand)
            case e.Controlled(name):
                yield f"{name}@out", node
            case e.Own(name):
                yield f"{name}@own", node
            case e.ChannelState(name, state):
                yield f"{name}@{state}", node
            case (
                e.NamedSignal(name)
                | e.NamedNumber(name)
                | e.Output(name)
                | e.Parameter(name)
                | e.Held(name)
                | e.Pressed(name)
            ):
                yield name, node
            case e.Reading(name) | e.Truth(name) | e.Age(name) | e.SensorState(name):
                yield name, node
            case e.AtPosition(name):
                yield name, node
            case e.FromTable(name, values):
                yield name, node
                stack.extend(values)
            case _:
                stack.extend(parts(node))


def reads_of(x: object) -> frozenset[str]:
    return frozenset(name for name, _ in references(x))


def names_in(x: object) -> frozenset[str]:
    """Every name that has a say, in this cycle or by way of the one before."""
    return frozenset(name for name, _ in references(x, earlier=True))
