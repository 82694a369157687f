"""The dependency graph: as a tree, as DOT, as a picture."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.machine.overview import Link, overview
from latchproof.rules.model import RuleSet
from latchproof.show.graph import OUTPUTS, dot, graph, tree
from latchproof.show.graph_layout import BOX_HEIGHT, Box, layout
from latchproof.show.graph_svg import svg
from latchproof.show.style import Style
from latchproof.show.visible import width
from tests.show.tales import machine_of

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*/*.latch"))
RULES = """
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 300 m stale after 1 s once stale keeps value }
tune floor = 40 m from 30 m to 50 m
channel motor 1 { follows throttle from 0 % to 100 % }
latch armed { set when guard is on and height is above floor  reset when previous of low }
latch low { set when armed and height is below floor  reset when guard is off  timeout 8 s }
rule climb while low { drive motor to 60 % }
rule tell while low { announce voice "low" }
role arm is guard is on
"""


@pytest.fixture(scope="module")
def rules() -> RuleSet:
    return machine_of(RULES).rules


def rules_of(path: Path) -> RuleSet:
    rules = pipeline.check(str(path)).rules
    assert rules is not None
    return rules


def test_tree(rules: RuleSet) -> None:
    assert tree(rules) == """\
motor (channel 1)
|- climb (rule)
|  `- low (latch at most 8 s)
|     |- armed (latch)
|     |  |- low (latch at most 8 s), as it was in the cycle before
|     |  |- guard (switch)
|     |  |- height (sensor)
|     |  `- floor (tune 40 m)
|     |- guard (switch)
|     |- height (sensor)
|     `- floor (tune 40 m)
`- throttle (stick)
tell (rule)
`- low (latch at most 8 s), see above"""


def test_dot(rules: RuleSet) -> None:
    text = dot(rules)
    assert '"low" -> "climb";' in text
    assert '"low" -> "armed" [style=dashed, constraint=false];' in text
    assert '"floor" [label="floor\\ntune 40 m"' in text


def test_links(rules: RuleSet) -> None:
    found = overview(rules)
    assert Link("climb", "motor", False) in found.links
    assert Link("low", "armed", True) in found.links
    assert Link("armed", "low", False) in found.links
    assert found.reaching(["motor"]) == {"motor", "climb", "low", "armed", "guard", "height", "floor", "throttle"}
    assert found.reaching(["armed"]) == {"armed", "low", "guard", "height", "floor"}


def test_nothing_to_draw() -> None:
    rules = machine_of("switch guard positions off, on\n").rules
    assert "nothing depends" in tree(rules)
    ET.fromstring(svg(rules))
    assert dot(rules).endswith("}\n")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_pictures_of_the_examples(path: Path) -> None:
    rules = rules_of(path)
    text = svg(rules)
    assert svg(rules) == text
    root = ET.fromstring(text)
    wide, high = float(root.attrib["width"]), float(root.attrib["height"])
    things, links = graph(rules)
    placed = layout(things, links)
    assert [b.thing.name for b in placed.boxes] == [t.name for t in things]
    for box in placed.boxes:
        assert 0 <= box.x <= box.x + box.width <= wide
        assert 0 <= box.y <= box.y + BOX_HEIGHT <= high
    for n, a in enumerate(placed.boxes):
        assert not [b.thing.name for b in placed.boxes[n + 1 :] if overlap(a, b)], a.thing.name
    place = {b.thing.name: b for b in placed.boxes}
    for link in links:
        if not link.memory:
            assert place[link.source].x + place[link.source].width < place[link.target].x
    right = max(b.x for b in placed.boxes)
    read = {link.source for link in links}
    assert {b.x for b in placed.boxes if b.thing.kind in OUTPUTS and b.thing.name not in read} <= {right}
    assert max(map(width, tree(rules).split("\n"))) <= 80


def overlap(a: Box, b: Box) -> bool:
    across = a.x < b.x + b.width and b.x < a.x + a.width
    return across and a.y < b.y + BOX_HEIGHT and b.y < a.y + BOX_HEIGHT


def test_texts_are_escaped(rules: RuleSet) -> None:
    hostile = replace(rules, title='<script>alert("x")</script>\x1b&\u202e')
    ET.fromstring(svg(hostile))
    assert "<script>" not in svg(hostile)
    assert not set(svg(hostile)) & {"\x1b", "\u202e"}


def test_long_names_stay_within_the_line() -> None:
    name = "a" * 120
    rule = f'rule tell while {name} is on {{ announce tone "x" }}'
    rules = machine_of(f"switch {name} positions off, on\n{rule}\n").rules
    assert max(map(width, tree(rules).split("\n"))) <= 80
    assert "\x1b[" in tree(rules, Style(80, colour=True))
