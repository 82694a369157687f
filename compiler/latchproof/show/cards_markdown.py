"""Cards as Markdown. Nothing that stands in a rule file can act as markup."""

from collections.abc import Iterator
from typing import assert_never

from latchproof.cards.model import Ask, Block, Card, Cards, Point, Say, Step, Table
from latchproof.show.cards_text import EXPECT, OTHERWISE, called, facts_of
from latchproof.show.listing_markdown import escaped


def render(x: Cards) -> str:
    return "\n".join(line for card in x.cards for line in _card(x, card)).rstrip() + "\n"


def _card(x: Cards, card: Card) -> Iterator[str]:
    yield from (f"# {escaped(card.title)}", "", f"For: {escaped(called(x))}", "")
    yield f"**To stop it in flight:** {escaped(x.way_out.action)}"
    yield from (f"- NOT stopped by it: {escaped(s)}" for s in x.way_out.still)
    yield from ("", f"**{escaped(x.state)}**", "")
    if facts := facts_of(x, card):
        yield from (f"**{facts[0].capitalize()}:** {escaped(facts[1])}.", "")
    yield from (f"**Cautions:** {escaped(' '.join(x.cautions))}", "")
    for part in card.parts:
        if part.head:
            yield from (f"## {escaped(part.head)}", "")
        for block in part.blocks:
            yield from _block(block)
        yield ""


def _block(block: Block) -> Iterator[str]:
    match block:
        case Say(text=text, warning=warning):
            yield from ("", f"**{escaped(text)}**" if warning else escaped(text), "")
        case Point(text=text):
            yield f"- {escaped(text)}"
        case Step(do=do, expect=expect, otherwise=otherwise):
            yield f"- ☐ {escaped(do)}"
            if expect:
                yield f"  - *{EXPECT}* {escaped(expect)}"
            if otherwise:
                yield f"  - *{OTHERWISE}* {escaped(otherwise)}"
        case Ask(question=question, choices=choices):
            boxes = " ".join(f"☐ {escaped(c)}" for c in choices)
            line = r"\_" * 24
            yield f"- {escaped(question)}: {boxes or line}"
        case Table(heads=heads, rows=rows):
            yield from ("", f"| {' | '.join(map(escaped, heads))} |", f"|{' --- |' * len(heads)}")
            yield from (f"| {' | '.join(map(escaped, row))} |" for row in rows)
            yield ""
        case _:
            assert_never(block)
