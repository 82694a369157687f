"""Cards as plain text: each begins with what stands on every sheet. They can be printed and written on."""

from collections.abc import Iterator
from typing import assert_never

from latchproof.cards.model import Ask, Block, Card, Cards, Point, Say, Step, Table
from latchproof.show.running import facts_in_short
from latchproof.show.style import PLAIN, Style
from latchproof.show.table import paragraph
from latchproof.show.visible import visible

LINE = "________"
EXPECT, OTHERWISE = "expect:", "if not:"
"""Before what is to be seen, and before what to do if it is not."""


def render(x: Cards, style: Style = PLAIN) -> str:
    lines = (line for card in x.cards for line in (*_head(x, card, style), *_card(card, style), ""))
    return "\n".join(lines).rstrip() + "\n"


def _head(x: Cards, card: Card, style: Style) -> Iterator[str]:
    wide = style.width
    for line in _wrapped(card.title.upper(), wide):
        yield style.paint(line, "strong")
    yield from _wrapped(f"for: {called(x)}", wide)
    yield "=" * wide
    yield from _wrapped(f"TO STOP IT IN FLIGHT: {x.way_out.action}", wide, "", "    ")
    for text in x.way_out.still:
        yield from _wrapped(f"NOT STOPPED BY IT: {text}", wide, "    ", "        ")
    yield from _wrapped(x.state, wide, "", "    ")
    if facts := facts_of(x, card):
        yield from _wrapped(f"{facts[0].upper()}: {facts[1]}.", wide, "", "    ")
    yield from _wrapped(f"CAUTIONS: {' '.join(x.cautions)}", wide, "", "    ")
    yield "=" * wide


def called(x: Cards) -> str:
    version = f", version {x.version}" if x.version else ""
    return x.title + version + (f"; words of its listing: {x.words}" if x.words else "")


def facts_of(x: Cards, card: Card) -> tuple[str, str] | None:
    """What they are, and the facts one after the other; None where the card itself has them."""
    if not x.facts or card.kind == "officer":
        return None
    return "proved if" if x.checked else "what a proof will stand on", facts_in_short(x.facts)


def _card(card: Card, style: Style) -> Iterator[str]:
    for part in card.parts:
        if part.head:
            yield ""
            yield from (style.paint(line, "strong") for line in _wrapped(part.head.upper(), style.width))
        for block in part.blocks:
            yield from _block(block, style)


def _block(block: Block, style: Style) -> Iterator[str]:
    wide = style.width
    match block:
        case Say(text=text, warning=warning):
            lines = _wrapped(text, wide, "  ! " if warning else "  ", "  ! " if warning else "  ")
            yield from (style.paint(line, "warning") for line in lines) if warning else lines
        case Point(text=text):
            yield from _wrapped(text, wide, "    - ", "      ")
        case Step(do=do, expect=expect, otherwise=otherwise):
            yield from _wrapped(do, wide, "  [ ] ", "      ")
            if expect:
                yield from _wrapped(f"{EXPECT} {expect}", wide, "      ", "          ")
            if otherwise:
                yield from _wrapped(f"{OTHERWISE} {otherwise}", wide, "      ", "          ")
        case Ask(question=question, choices=choices):
            boxes = "  ".join(f"[ ] {c}" for c in choices)
            yield from _wrapped(f"{question}: {boxes or LINE * 3}", wide, "  ", "      ")
        case Table(heads=heads, rows=rows):
            yield from _table(heads, rows, style)
        case _:
            assert_never(block)


def _table(heads: tuple[str, ...], rows: tuple[tuple[str, ...], ...], style: Style) -> Iterator[str]:
    """Row by row, each cell after its head: narrow columns are hard to read, and harder to listen to."""
    for row in rows:
        yield from _wrapped(row[0], style.width, "  * ", "    ")
        for head, cell in zip(heads[1:], row[1:], strict=True):
            if cell:
                yield from _wrapped(f"{head}: {cell}", style.width, "      ", "        ")


def _wrapped(text: str, wide: int, first: str = "", rest: str = "") -> list[str]:
    return [line.rstrip() for line in paragraph(visible(text), wide, first, rest)]
