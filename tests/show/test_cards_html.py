"""The renderers of the cards: all of it in the same order in each, and nothing in it that could act."""

import json
import re
from dataclasses import replace

import pytest
from markdown_it import MarkdownIt

from latchproof.cards.build import build
from latchproof.cards.model import Cards, texts
from latchproof.hazards.site import Site
from latchproof.rules.model import Accepted, Announce
from latchproof.show import cards_html, cards_json, cards_markdown, cards_text
from latchproof.show.running import ROOM, facts_in_short
from latchproof.show.style import Style
from latchproof.show.visible import visible, width
from tests.cards.cases import NAMES, cards, given, site_of
from tests.layout.test_words import DEVELOPERS_ONLY
from tests.show.pages import find_in_order, flat, read
from tests.show.test_listing import HOSTILE, kinds


def told(x: Cards) -> list[str]:
    """Everything on the cards, in order, without what is drawn as a line to write on."""
    found = []
    for card in x.cards:
        for part in card.parts:
            found += [part.head, *(t for b in part.blocks for t in texts(b))]
    return [t for t in found if t and "________" not in t]


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_sound(name: str) -> None:
    page = read(cards_html.render(cards(name)))
    page.assert_sound()
    assert page.levels.count(1) == 5


@pytest.mark.parametrize("name", NAMES)
def test_all_forms_say_the_same_in_the_same_order(name: str) -> None:
    x = cards(name)
    text = flat(cards_text.render(x)).lower()
    page = read(cards_html.render(x)).text.lower()
    low = [t.lower() for t in told(x)]
    assert find_in_order(page, low) is None
    assert find_in_order(text.replace(" ! ", " "), low) is None
    escaped = flat(cards_markdown.render(x))
    assert find_in_order(escaped, [cards_markdown.escaped(t) for t in told(x)]) is None
    shown = json.loads(cards_json.render(x))
    assert shown["schema"] == "latchproof.cards/1"
    assert find_in_order(flat(json.dumps(shown["cards"], ensure_ascii=False).replace('\\"', '"')), told(x)) is None


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("wide", [50, 80, 100])
def test_lines_fit(name: str, wide: int) -> None:
    lines = cards_text.render(cards(name), Style(width=wide)).split("\n")
    assert [line for line in lines if width(line) > wide or line != line.rstrip()] == []


@pytest.mark.parametrize("name", NAMES)
def test_each_sheet_has_its_head_and_foot(name: str) -> None:
    x = cards(name)
    page = read(cards_html.render(x))
    assert page.head.count(flat(x.way_out.action)) == len(x.cards)
    assert page.head.count(flat(x.state)) == len(x.cards)
    assert page.foot.count("propeller is OFF") == len(x.cards)
    assert page.foot.count("only the receiver's failsafe does") == len(x.cards)
    text = flat(cards_text.render(x))
    assert text.count("propeller is OFF, from the first entry to the last test.") >= len(x.cards)


@pytest.mark.parametrize("name", NAMES)
def test_words_for_pilots(name: str) -> None:
    names = repr(site_of(name).rules).lower()
    found = DEVELOPERS_ONLY.finditer(read(cards_html.render(cards(name))).text)
    assert [m.group() for m in found if m.group().lower() not in names] == []


def hostile(text: str) -> Cards:
    site = site_of("everything")
    rules = site.rules
    spoken = replace(
        rules.rules[0],
        actions=tuple(replace(a, text=text) if isinstance(a, Announce) else a for a in rules.rules[0].actions),
    )
    switch = rules.switches[0]
    other = replace(
        rules, title=text, version=text, rules=(spoken, *rules.rules[1:]),
        claims=tuple(replace(c, sentence=text) for c in rules.claims),
        accepted=(Accepted(text, text, text, span=switch.span),),
        switches=(replace(switch, positions=(text, *switch.positions[1:])), *rules.switches[1:]),
    )  # fmt: skip
    return build(given(Site(other, site.sources)))


@pytest.mark.parametrize("text", HOSTILE)
def test_a_strangers_text_stays_text(text: str) -> None:
    x = hostile(text)
    made = cards_html.render(x)
    page = read(made)
    page.assert_sound()
    assert flat(visible(text)) in page.text
    plain = cards_text.render(x)
    acts = re.compile(r"[\x00-\x09\x0b-\x1f\x7f\u202a-\u202e\u2028\u2029]")
    assert not acts.search(made)
    assert not acts.search(plain)
    md = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    assert kinds(md, cards_markdown.render(x)) == kinds(md, cards_markdown.render(hostile("plain")))


def test_many_facts_are_cut_and_counted_the_assumed_ones_first() -> None:
    facts = cards("mended").facts
    assert "; and " not in facts_in_short(facts, 10**6)
    short = facts_in_short(facts, 200)
    assert short.startswith(next(f.text for f in facts if f.standing.startswith("ASSUMED")))
    assert re.search(r"; and \d+ more, in the listing$", short)
    assert len(facts_in_short(tuple(replace(f, text="x" * 5000) for f in facts))) < 2 * ROOM
