"""Orders beside those of the graph library."""

from graphlib import CycleError
from random import Random

import networkx as nx
import pytest

from latchproof.machine.ordering import all_before, lined_up


def graph_of(needs: dict[str, list[str]]) -> "nx.DiGraph[str]":
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(needs)
    graph.add_edges_from((a, b) for b, several in needs.items() for a in several)
    return graph


def anything(random: Random, count: int) -> dict[str, list[str]]:
    names = [f"n{k}" for k in range(count)]
    return {name: random.choices(names, k=random.choice((0, 0, 1, 2))) for name in names}


def test_the_order_and_what_is_before_are_those_of_the_library() -> None:
    random = Random(7)
    in_order = in_circles = 0
    for _ in range(400):
        needs = anything(random, random.randint(1, 9))
        graph = graph_of(needs)
        places = {name: place for place, name in enumerate(random.sample(sorted(needs), len(needs)))}
        for name in needs:
            circle = any(nx.has_path(graph, name, other) for other in needs[name])
            assert all_before(needs, name) == nx.ancestors(graph, name) | ({name} if circle else set())
        if nx.is_directed_acyclic_graph(graph):
            in_order += 1
            wanted = list(nx.lexicographical_topological_sort(graph, key=places.__getitem__))
            assert lined_up(needs, places.__getitem__) == wanted
        else:
            in_circles += 1
            with pytest.raises(CycleError):
                lined_up(needs, places.__getitem__)
    assert min(in_order, in_circles) > 50
