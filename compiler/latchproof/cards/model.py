"""The cards, as data: every text is a whole phrase, and a renderer only lays it out, in this order."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import assert_never

from latchproof.cards.kinds import Kind
from latchproof.listing.model import FactLine, WayOut


@dataclass(frozen=True, slots=True)
class Say:
    """A paragraph. A `warning` stands out."""

    text: str
    warning: bool = False


@dataclass(frozen=True, slots=True)
class Point:
    """One of a list."""

    text: str


@dataclass(frozen=True, slots=True)
class Step:
    """Something to do or to look at, with a box to tick. `otherwise`: what to do if it is not as expected."""

    do: str
    expect: str = ""
    otherwise: str = ""


@dataclass(frozen=True, slots=True)
class Ask:
    """Something to write down by hand: boxes if there are choices, else a line."""

    question: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """The first cell of a row is what the row is about. Every row has a cell for each head; empty cells are left out
    where a table is read aloud."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Say | Point | Step | Ask | Table


@dataclass(frozen=True, slots=True)
class Part:
    """Without a head it goes on from the card's title. `alone`: on paper it begins on a sheet of its own."""

    head: str
    blocks: tuple[Block, ...]
    alone: bool = False


@dataclass(frozen=True, slots=True)
class Card:
    """The officer's page has the facts in its text, so not once more in its head."""

    kind: Kind
    title: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Cards:
    """Cards of one rule set, with what stands on every sheet of them: what they are for, how to get out, what is
    proved, the facts that this rests on, the cautions, and words by which a sheet is known as one of these rules."""

    title: str
    version: str
    words: str
    way_out: WayOut
    state: str
    facts: tuple[FactLine, ...]
    cautions: tuple[str, ...]
    cards: tuple[Card, ...]
    checked: bool = True
    """Whether anything was proved; else the facts are what a proof will stand on."""


def texts(block: Block) -> Iterator[str]:
    """Everything that a block says, in the order in which it is read."""
    match block:
        case Say(text=text) | Point(text=text):
            yield text
        case Step(do=do, expect=expect, otherwise=otherwise):
            yield from (t for t in (do, expect, otherwise) if t)
        case Ask(question=question, choices=choices):
            yield from (question, *choices)
        case Table(rows=rows):
            yield from (cell for row in rows for cell in row if cell)
        case _:
            assert_never(block)
