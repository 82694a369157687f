"""What stands before what, without the graph library: to load it takes longer than to build a machine."""

from collections.abc import Callable, Iterable, Mapping
from graphlib import TopologicalSorter
from heapq import heapify, heappop, heappush


def lined_up(needs: Mapping[str, Iterable[str]], place: Callable[[str], int]) -> list[str]:
    """Each after all that it needs; of those that could come next, the one with the least place.

    Raises graphlib.CycleError where something needs itself, directly or through others.
    """
    sorter = TopologicalSorter(needs)
    sorter.prepare()
    ready = [(place(name), name) for name in sorter.get_ready()]
    heapify(ready)
    order = []
    while ready:
        _, name = heappop(ready)
        order.append(name)
        sorter.done(name)
        for fresh in sorter.get_ready():
            heappush(ready, (place(fresh), fresh))
    return order


def all_before(needs: Mapping[str, Iterable[str]], name: str) -> frozenset[str]:
    """All that a thing needs, directly or through others; without itself, unless it goes round in a circle."""
    found: set[str] = set()
    waiting = [*needs.get(name, ())]
    while waiting:
        other = waiting.pop()
        if other not in found:
            found.add(other)
            waiting += needs.get(other, ())
    return frozenset(found)
