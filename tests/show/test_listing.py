"""The three renderers: all of it is there, at 80 columns, and nothing in it can act."""

import json
import re
from dataclasses import replace

import pytest
from markdown_it import MarkdownIt

from latchproof.listing import Listing, build
from latchproof.rules import RuleSet
from latchproof.rules.model import Accepted, Announce, Switch
from latchproof.show import listing_json, listing_markdown, listing_text
from latchproof.show.style import Style
from latchproof.show.visible import width
from tests.layout.test_words import DEVELOPERS_ONLY
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules

HOSTILE = (
    "\x1b[2J\x07", "\u202egnorw", "a\nb\rc", "<script>alert(1)</script>", "[a](http://x.example)",
    "![i](//x.example/p)",
    "`code`", "**b** _i_ ~~s~~", "| a | b |", "www.x.example", "http://x.example", "# head", "1. one", "- item", "&lt;",
    "<!--", "\\", "mail@x.example", "\x00", "\u2028", "x" * 300, "漢" * 100, "$e$", "- [ ] x", "+ x", "> quoted", "---",
)  # fmt: skip
CASES = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]


def hostile(text: str) -> Listing:
    """A listing in which this text stands wherever a stranger can put one."""
    case = rules(EVERYTHING)
    spoken = replace(
        case.rules[0],
        actions=tuple(replace(a, text=text) if isinstance(a, Announce) else a for a in case.rules[0].actions),
    )
    switch = case.switches[0]
    return build(
        replace(
            case,
            title=text,
            version=text,
            rules=(spoken, *case.rules[1:]),
            switches=(Switch(switch.name, (text, *switch.positions[1:]), span=switch.span), *case.switches[1:]),
            claims=tuple(replace(c, sentence=text) for c in case.claims),
            accepted=(Accepted(text, text, text, span=switch.span),),
            requires=tuple(replace(r, text=text) for r in case.requires),
        ),
        stage=text,
    )


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("wide", [50, 80, 100])
def test_lines_fit(case: RuleSet, wide: int) -> None:
    lines = listing_text.render(build(case), Style(width=wide)).split("\n")
    assert [line for line in lines if width(line) > wide or line != line.rstrip()] == []


@pytest.mark.parametrize("case", CASES)
def test_all_of_the_entries_is_in_the_text(case: RuleSet) -> None:
    listing = build(case)
    flat = re.sub(r"\s+", " ", listing_text.render(listing))
    markdown = listing_markdown.render(listing)
    for e in listing.entries:
        for part in (e.purpose, e.kind, e.start, *(t for f in e.fields for t in (f.label, f.value, f.other, f.words))):
            assert re.sub(r"\s+", " ", part) in flat
            assert listing_markdown.escaped(part) in markdown or not part


@pytest.mark.parametrize("case", CASES)
def test_the_way_out_comes_first(case: RuleSet) -> None:
    listing = build(case)
    lines = listing_text.render(listing).split("\n")
    rule = next(i for i, line in enumerate(lines) if set(line) == {"="})
    assert lines[rule + 1].startswith("TO STOP IT IN FLIGHT: ")
    body = [line for line in listing_markdown.render(listing).split("\n") if line]
    assert body[1].startswith("**To stop it in flight:** ")


FOREIGN = re.compile(
    r"\b(?!H\d\d\b)[A-Z]{1,3}\d+\b|[←→↑↓⇧⇩△Δ|]|\b(weight|offset|GV|CH\d|SA|SB|SC|SD|SF|SG)\b|a\s*[<>]\s*x",
    re.IGNORECASE,
)


@pytest.mark.parametrize("case", CASES)
def test_a_look_of_its_own_and_words_for_pilots(case: RuleSet) -> None:
    text = listing_text.render(build(case))
    assert [m.group() for m in FOREIGN.finditer(text)] == []
    names = repr(case).lower()  # a phase of a retract may well be called lowering
    assert [m.group() for m in DEVELOPERS_ONLY.finditer(text) if m.group().lower() not in names] == []


def test_the_search_for_foreign_looks_sees_some() -> None:
    for text in ("L12 here", "SA up", "a > x", "weight 50", "up → down", "Δx", "|x|"):
        assert FOREIGN.search(text), text


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_acts_on_a_terminal(text: str) -> None:
    listing = hostile(text)
    shown = listing_text.render(listing)
    assert all(c == "\n" or c.isprintable() for c in shown)
    assert max(width(line) for line in shown.split("\n")) <= 80
    assert all(c == "\n" or c.isprintable() for c in listing_markdown.render(listing))
    assert listing_json.render(listing).isascii()


@pytest.mark.parametrize("text", HOSTILE)
def test_nothing_acts_as_markup(text: str) -> None:
    md = MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"])
    plain = kinds(md, listing_markdown.render(hostile("plain")))
    assert kinds(md, listing_markdown.render(hostile(text))) == plain


def kinds(md: MarkdownIt, text: str) -> list[str]:
    """The markup of a page, without its words."""
    found = []
    for token in md.parse(text):
        found.append(token.type)
        found += [t.type for t in token.children or () if t.type not in ("text", "text_special", "softbreak")]
    return found


@pytest.mark.parametrize("text", ["http://x.example", "www.x.example", "WWW.x.example", "mail@x.example"])
def test_nothing_becomes_a_link_by_itself(text: str) -> None:
    assert not re.search(r"https?://|\bwww\.|(?<!\\)@", listing_markdown.escaped(text), re.IGNORECASE)


def test_json() -> None:
    listing = build(rules(EVERYTHING), stage="high")
    found = json.loads(listing_json.render(listing))
    assert found["schema"] == "latchproof.listing/1"
    assert (found["title"], found["version"], found["stage"]) == ("Case", "1", "high")
    assert [e["number"] for e in found["entries"]] == [e.number for e in listing.entries]
    first = found["entries"][0]
    assert set(first) == {"number", "section", "purpose", "kind", "fields", "start", "reads", "read_by", "names"}
    assert set(first["fields"][0]) == {"label", "value", "other", "words", "kind", "choices"}
    assert set(first["reads"][0]) == {"entry", "when"}


def test_colour_is_only_paint() -> None:
    listing = build(rules(EVERYTHING))
    painted = listing_text.render(listing, Style(colour=True))
    assert "\x1b[" in painted
    assert re.sub(r"\x1b\[[\d;]*m", "", painted) == listing_text.render(listing)
