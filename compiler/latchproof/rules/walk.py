"""Walks over expressions of the tree that need no recursion, so that depth does no harm."""

from collections.abc import Iterator

from latchproof.syntax import tree


def children(e: tree.Expr) -> tuple[tree.Expr, ...]:
    match e:
        case tree.Quantity() | tree.Ref():
            return ()
        case tree.Negative(operand=operand):
            return (operand,)
        case tree.Binary(left=left, right=right):
            return (left, right)
        case tree.Group(inner=inner):
            return (inner,)
        case tree.Of(arguments=arguments):
            return arguments
        case tree.Test(subject=subject, predicate=predicate):
            return (subject, *_in_predicate(predicate))
        case tree.Operand(test=test, timing=timing):
            return (test,) if timing is None or timing.duration is None else (test, timing.duration)
        case tree.Junction(operands=operands):
            return operands


def _in_predicate(p: tree.Predicate) -> tuple[tree.Expr, ...]:
    match p:
        case tree.Compared(bound=bound, until=until):
            return (bound,) if until is None else (bound, until[1])
        case tree.EqualTo(bound=bound):
            return (bound,)
        case tree.Inside(low=low, high=high):
            return (low, high)
        case tree.InState():
            return ()


def levels(e: tree.Expr, most: int) -> int:
    """How deep the expression is nested, counted up to one more than `most`."""
    level: list[tree.Expr] = [e]
    for depth in range(most + 1):
        if not level:
            return depth
        level = [c for node in level for c in children(node)]
    return most + 1


def deeper_than(limit: int, e: tree.Expr) -> bool:
    return levels(e, limit) > limit


def refs(*expressions: tree.Expr) -> Iterator[tree.Ref]:
    """Every reference in the expressions, in no particular order."""
    stack = list(expressions)
    while stack:
        e = stack.pop()
        if isinstance(e, tree.Ref):
            yield e
        else:
            stack.extend(children(e))


def quantities(e: tree.Expr) -> Iterator[tree.Quantity]:
    """Every number written in the expression."""
    stack = [e]
    while stack:
        inner = stack.pop()
        if isinstance(inner, tree.Quantity):
            yield inner
        else:
            stack.extend(children(inner))


def bare(e: tree.Expr) -> tree.Expr:
    """Without the brackets around it."""
    while isinstance(e, tree.Group):
        e = e.inner
    return e
