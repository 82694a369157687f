"""Places for the boxes of the graph: in layers from left to right, ordered so that few lines cross.

Inputs stand in the first layer and channels in the last; in between a thing stands right of all that it reads. A line
that spans several layers gets a point in each, so that lines go between boxes and not through them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx

from latchproof.machine.overview import Link
from latchproof.show.graph import INPUTS, OUTPUTS, Shown

SWEEPS = 24
"""Passes over the layers to put them in order; then as many times `LEVELLING` to bring lines level."""

LEVELLING = 5
BOX_HEIGHT = 40
ROW = 54
LANE = 18
"""How much room a line takes that passes through a layer."""

GAP = 76
MARGIN = 24
LETTER = 7.4
"""Average width of a letter, for boxes around names."""

Point = tuple[float, float]
Key = str | tuple[str, str, int]
"""A thing by its name, or the point of a line in a layer."""


@dataclass(frozen=True, slots=True)
class Box:
    thing: Shown
    x: float
    y: float
    width: float
    """`x` and `y` are the upper left corner."""


@dataclass(frozen=True, slots=True)
class Line:
    link: Link
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    width: float
    height: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]


def layout(things: Sequence[Shown], links: Sequence[Link]) -> Layout:
    layer = layers(things, links)
    plain = [link for link in links if not link.memory]
    rows: list[list[Key]] = [[] for _ in range(max(layer.values(), default=0) + 1)]
    for thing in things:
        rows[layer[thing.name]].append(thing.name)
    chains: dict[tuple[str, str], list[Key]] = {}
    for link in plain:
        inner: list[Key] = [(link.source, link.target, n) for n in range(layer[link.source] + 1, layer[link.target])]
        for n, point in enumerate(inner, layer[link.source] + 1):
            rows[n].append(point)
        chains[link.source, link.target] = [link.source, *inner, link.target]
    neighbours: dict[Key, tuple[list[Key], list[Key]]] = {key: ([], []) for row in rows for key in row}
    for chain in chains.values():
        for a, b in pairwise(chain):
            neighbours[a][1].append(b)
            neighbours[b][0].append(a)
    rows = _ordered(rows, neighbours)
    middle = _heights(rows, neighbours)
    return _placed(things, links, rows, middle, chains)


def layers(things: Sequence[Shown], links: Sequence[Link]) -> dict[str, int]:
    """The number of the layer of each thing."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(t.name for t in things)
    graph.add_edges_from((link.source, link.target) for link in links if not link.memory)
    found = {name: n for n, names in enumerate(nx.topological_generations(graph)) for name in names}
    kinds = {t.name: t.kind for t in things}
    last = max(found.values(), default=0)
    if any(found[n] == last and kinds[n] not in OUTPUTS for n in found) and any(k in OUTPUTS for k in kinds.values()):
        last += 1
    for name, kind in kinds.items():
        if kind in OUTPUTS and not any(True for _ in graph.successors(name)):
            found[name] = last
        elif kind not in INPUTS and not any(True for _ in graph.predecessors(name)):
            found[name] = 1 if last else 0
    return found


def _ordered(rows: list[list[Key]], neighbours: Mapping[Key, tuple[list[Key], list[Key]]]) -> list[list[Key]]:
    """Each row sorted by where its neighbours stand, to and fro; the order with the fewest crossings is kept."""
    best, fewest = [list(row) for row in rows], _crossings(rows, neighbours)
    for sweep in range(SWEEPS):
        forward = sweep % 2 == 0
        numbers = range(1, len(rows)) if forward else range(len(rows) - 2, -1, -1)
        for n in numbers:
            place = {key: k for row in rows for k, key in enumerate(row)}
            old = {key: k for k, key in enumerate(rows[n])}
            side = 0 if forward else 1

            def weight(key: Key, side: int = side, place: dict[Key, int] = place) -> float:
                near = neighbours[key][side]
                return sum(place[k] for k in near) / len(near) if near else place[key]

            rows[n] = sorted(rows[n], key=lambda key: (weight(key), old[key]))
        crossings = _crossings(rows, neighbours)
        if crossings < fewest:
            best, fewest = [list(row) for row in rows], crossings
    return best


def _crossings(rows: list[list[Key]], neighbours: Mapping[Key, tuple[list[Key], list[Key]]]) -> int:
    count = 0
    for row, following in pairwise(rows):
        place = {key: k for k, key in enumerate(following)}
        ends = [sorted(place[k] for k in neighbours[key][1]) for key in row]
        for k, mine in enumerate(ends):
            for others in ends[k + 1 :]:
                count += sum(a > b for a in mine for b in others)
    return count


def _heights(rows: list[list[Key]], neighbours: Mapping[Key, tuple[list[Key], list[Key]]]) -> dict[Key, float]:
    """The middle of each key: near the mean of its neighbours, as close to it as order and room allow."""
    middle: dict[Key, float] = {}
    for row in rows:
        y = 0.0
        for key in row:
            middle[key] = y + _room(key) / 2
            y += _room(key)
    for sweep in range(SWEEPS * LEVELLING):
        for row in rows if sweep % 2 == 0 else rows[::-1]:
            wished = []
            for key in row:
                near = [(middle[k], _pull(key, k)) for k in neighbours[key][0] + neighbours[key][1]]
                pull = sum(p for _, p in near)
                wished.append((sum(y * p for y, p in near) / pull if near else middle[key], pull or 1))
            middle.update(zip(row, _spaced(row, wished), strict=True))
    top = min((middle[key] - _room(key) / 2 for row in rows for key in row), default=0.0)
    return {key: y - top for key, y in middle.items()}


def _pull(a: Key, b: Key) -> int:
    """How much the two want to be level: long lines most of all."""
    return 1 + 3 * (not isinstance(a, str)) + 3 * (not isinstance(b, str))


def _spaced(row: list[Key], wished: list[tuple[float, int]]) -> list[float]:
    """Heights in the order of the row, apart as they need, with the least squared distance from what was wished:
    neighbours that would overlap are pooled and the pool goes to the mean of its wishes."""
    pools: list[tuple[float, int, int]] = []
    offsets, y = [], 0.0
    for n, key in enumerate(row):
        y += (_room(row[n - 1]) + _room(key)) / 2 if n else 0.0
        offsets.append(y)
    for (wish, pull), offset in zip(wished, offsets, strict=True):
        total, weight, count = (wish - offset) * pull, pull, 1
        while pools and pools[-1][0] / pools[-1][1] > total / weight:
            before, w, n = pools.pop()
            total, weight, count = total + before, weight + w, count + n
        pools.append((total, weight, count))
    bases = [total / weight for total, weight, count in pools for _ in range(count)]
    return [base + offset for base, offset in zip(bases, offsets, strict=True)]


def _room(key: Key) -> float:
    return ROW if isinstance(key, str) else LANE


def _placed(
    things: Sequence[Shown], links: Sequence[Link], rows: list[list[Key]], middle: Mapping[Key, float],
    chains: Mapping[tuple[str, str], list[Key]],
) -> Layout:  # fmt: skip
    by_name = {t.name: t for t in things}
    boxes: dict[str, Box] = {}
    at: dict[Key, tuple[Point, Point]] = {}
    x = float(MARGIN)
    for row in rows:
        wide = max((_box_width(by_name[key]) for key in row if isinstance(key, str)), default=0.0)
        for key in row:
            y = middle[key] + MARGIN
            at[key] = ((x, y), (x + wide, y))
            if isinstance(key, str):
                boxes[key] = Box(by_name[key], x, y - BOX_HEIGHT / 2, wide)
        x += wide + GAP
    lines = []
    for link in links:
        if link.memory:
            lines.append(Line(link, _back(boxes[link.source], boxes[link.target])))
            continue
        chain = chains[link.source, link.target]
        inner = [point for key in chain[1:-1] for point in at[key]]
        lines.append(Line(link, (at[chain[0]][1], *inner, at[chain[-1]][0])))
    height = max((y for box in boxes.values() for y in (box.y + BOX_HEIGHT,)), default=0.0)
    height = max([height, *(y for line in lines for _, y in line.points)])
    return Layout(x - GAP + MARGIN, height + MARGIN, tuple(boxes[t.name] for t in things), tuple(lines))


def _back(source: Box, target: Box) -> tuple[Point, ...]:
    """From the bottom of one box to the bottom of the other, or a small loop below a box that reads itself."""
    low = max(source.y, target.y) + BOX_HEIGHT
    if source is target:
        x = source.x + source.width / 2
        return (x + 14, low), (x + 14, low + 11), (x - 14, low + 11), (x - 14, low)
    a, b = source.x + source.width / 2, target.x + target.width / 2
    deep = low + 10
    return (a, source.y + BOX_HEIGHT), (a, deep), (b, deep), (b, target.y + BOX_HEIGHT)


def _box_width(thing: Shown) -> float:
    return max(84.0, 24 + LETTER * max(len(thing.name), len(thing.label) * 0.85))
