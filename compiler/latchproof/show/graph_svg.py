"""The dependency graph as a picture (SVG). Inputs on the left, channels on the right; the cycle before is dashed."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape

from latchproof.rules.model import RuleSet
from latchproof.show.graph import INPUTS, OUTPUTS, Shown, graph
from latchproof.show.graph_layout import BOX_HEIGHT, MARGIN, Box, Layout, Line, Point, layout
from latchproof.show.visible import visible

TITLE_ROOM = 40
KEY_ROOM = 30

FILL = {"input": "#eaf1f8", "logic": "#ffffff", "rule": "#fbf3dd", "output": "#e6f2e6"}
EDGE = {"input": "#5b7690", "logic": "#6b6b6b", "rule": "#9a7a1f", "output": "#3f7a45"}
INK, SOFT, LINE = "#1c1c1c", "#5a5a5a", "#8a8a8a"


def svg(rules: RuleSet) -> str:
    """The whole picture as text. The same rules give the same text."""
    things, links = graph(rules)
    placed = layout(things, links)
    wide, high = max(placed.width, 420.0), placed.height + TITLE_ROOM + KEY_ROOM
    return "\n".join(_document(rules, placed, wide, high)) + "\n"


def _document(rules: RuleSet, placed: Layout, wide: float, high: float) -> Iterator[str]:
    size = f'width="{_n(wide)}" height="{_n(high)}" viewBox="0 0 {_n(wide)} {_n(high)}"'
    yield f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" font-family="Helvetica, Arial, sans-serif">'
    title = _text(rules.title or "rules")
    yield f"<title>{title}: what depends on what</title>"
    yield f'<rect width="{_n(wide)}" height="{_n(high)}" fill="#ffffff"/>'
    yield f'<text x="{MARGIN}" y="27" font-size="16" font-weight="bold" fill="{INK}">{title}</text>'
    yield f'<g transform="translate(0 {TITLE_ROOM})">'
    yield from (_line(line) for line in placed.lines)
    for box in placed.boxes:
        yield from _box(box)
    yield "</g>"
    yield from _key(high - 14, any(line.link.memory for line in placed.lines))
    yield "</svg>"


def _line(line: Line) -> str:
    dashed = ' stroke-dasharray="4 3"' if line.link.memory else ""
    path = _angled(line.points) if line.link.memory else _curved(line.points)
    tip = _tip(line.points[-1], upward=line.link.memory)
    said = f"{_text(line.link.target)} reads {_text(line.link.source)}"
    if line.link.memory:
        said += " as it was in the cycle before"
    return (
        f'<g><title>{said}</title><path d="{path}" fill="none" stroke="{LINE}" stroke-width="1.2"{dashed}/>'
        f'<path d="{tip}" fill="{LINE}"/></g>'
    )


def _curved(points: Sequence[Point]) -> str:
    """Level at every point, so that a line enters and leaves boxes and lanes straight on."""
    parts = [f"M{_n(points[0][0])} {_n(points[0][1])}"]
    for (x0, y0), (x1, y1) in pairwise(points):
        if y0 == y1:
            parts.append(f"H{_n(x1)}")
        else:
            half = (x0 + x1) / 2
            parts.append(f"C{_n(half)} {_n(y0)} {_n(half)} {_n(y1)} {_n(x1)} {_n(y1)}")
    return "".join(parts)


def _angled(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _tip(end: Point, *, upward: bool) -> str:
    x, y = end
    if upward:
        return f"M{_n(x)} {_n(y)}l-3.5 7h7z"
    return f"M{_n(x)} {_n(y)}l-7 -3.5v7z"


def _box(box: Box) -> Iterator[str]:
    group = group_of(box.thing)
    middle = box.x + box.width / 2
    radius = {"input": 3, "logic": 8, "rule": 8, "output": 3}[group]
    yield (
        f'<rect x="{_n(box.x)}" y="{_n(box.y)}" width="{_n(box.width)}" height="{BOX_HEIGHT}" rx="{radius}" '
        f'fill="{FILL[group]}" stroke="{EDGE[group]}" stroke-width="{2 if group == "output" else 1.2}"/>'
    )
    anchor = f'x="{_n(middle)}" text-anchor="middle"'
    name, label = _text(box.thing.name), _text(box.thing.label)
    yield f'<text {anchor} y="{_n(box.y + 17)}" font-size="13" fill="{INK}">{name}</text>'
    yield f'<text {anchor} y="{_n(box.y + 32)}" font-size="11" fill="{SOFT}">{label}</text>'


def _key(y: float, memory: bool) -> Iterator[str]:
    said = "left: inputs and tunes   right: channels   a line: the right one reads the left one"
    said += "   dashed: as it was in the cycle before" if memory else ""
    text = said.replace("   ", " \u00a0 \u00b7 \u00a0 ")
    yield f'<text x="{MARGIN}" y="{_n(y)}" font-size="11" fill="{SOFT}">{text}</text>'


def group_of(thing: Shown) -> str:
    if thing.kind in INPUTS:
        return "input"
    if thing.kind in OUTPUTS:
        return "output"
    return "rule" if thing.kind in ("rule", "sequence") else "logic"


def _text(text: str) -> str:
    return escape(visible(text))


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
