"""Entries before they have numbers: texts in which other entries are named by key."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from latchproof.listing.model import FieldKind, Section

Mode = Literal["now", "earlier", "settings", "mention"]
"""`mention` names an entry without reading it."""


@dataclass(frozen=True, slots=True)
class Link:
    """`entry 7 (armed) true`. `form`: a state of the entry, its value, the moment at which it speaks, or its number."""

    key: str
    form: Literal["true", "false", "value", "speaks", "silent", "number"]
    mode: Mode = "now"
    passes: int = 0
    """How many passes earlier, for `earlier`."""


Text = tuple[str | Link, ...]


@dataclass(frozen=True, slots=True)
class DraftField:
    label: str
    value: Text
    other: str = ""
    words: Text = ()
    tunes: frozenset[str] = frozenset()
    kind: FieldKind = "note"
    choices: tuple[str, ...] = ()


def state(label: str, value: Text, words: Text = ()) -> DraftField:
    return DraftField(label, value, words=words, kind="state")


def choice(label: str, value: str, *others: str, words: Text = ()) -> DraftField:
    """One of several fixed words; without `others` there is no choice."""
    return DraftField(label, (value,), words=words, kind="choice", choices=(value, *others))


@dataclass(slots=True)
class Draft:
    """`names` are what the rule file calls it; the purpose starts with them, and with the `place` of an action or
    announcement it does not."""

    key: str
    section: Section
    kind: str
    purpose: Text
    fields: list[DraftField] = field(default_factory=list)
    start: str = "off"
    names: list[str] = field(default_factory=list)
    place: str = ""

    def links(self) -> Iterator[Link]:
        for f in self.fields:
            yield from (piece for piece in (*f.value, *f.words) if isinstance(piece, Link))

    @property
    def tunes(self) -> frozenset[str]:
        return frozenset(name for f in self.fields for name in f.tunes)


def joined(texts: list[Text], between: str) -> Text:
    out: list[str | Link] = []
    for i, text in enumerate(texts):
        out += [between, *text] if i else text
    return tuple(out)
