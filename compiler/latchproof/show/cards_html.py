"""Cards as one HTML page that prints: each card begins on a sheet of its own."""

from collections.abc import Iterator
from itertools import groupby
from typing import assert_never

from latchproof.cards.model import Ask, Block, Card, Cards, Point, Say, Step, Table
from latchproof.show import page
from latchproof.show.cards_text import called, facts_of
from latchproof.show.running import Running, head_lines


def render(x: Cards) -> str:
    title = x.cards[0].title if len(x.cards) == 1 else "Cards"
    return page.page(f"{title}: {x.title}", (_sheet(x, card) for card in x.cards))


def _sheet(x: Cards, card: Card) -> str:
    return page.sheet(_running(x, card), _card(card), tight=card.kind == "officer")


def _running(x: Cards, card: Card) -> Running:
    return Running(called(x), head_lines(x.way_out, x.state, facts_of(x, card)), x.cautions)


def _card(card: Card) -> Iterator[str]:
    yield page.heading(1, card.title)
    for part in card.parts:
        if part.head:
            yield page.heading(2, part.head, alone=part.alone)
        for kind, several in groupby(part.blocks, key=type):
            yield from _blocks(kind, list(several))


def _blocks(kind: type[Block], several: list[Block]) -> Iterator[str]:
    """Points and steps that follow one another are one list."""
    if kind is Step:
        yield page.steps(page.step(b.do, b.expect, b.otherwise) for b in several if isinstance(b, Step))
    elif kind is Point:
        yield page.points(b.text for b in several if isinstance(b, Point))
    elif kind is Ask:
        yield page.asks(page.ask(f"{b.question}:", b.choices) for b in several if isinstance(b, Ask))
    else:
        yield from map(_block, several)


def _block(block: Block) -> str:
    match block:
        case Say(text=text, warning=warning):
            return page.say(text, warning=warning)
        case Table(heads=heads, rows=rows):
            return page.table(heads, rows)
        case Point() | Step() | Ask():
            raise AssertionError("these come in lists")
        case _:
            assert_never(block)
