"""What stands on every sheet of paper: what it is for, the way out, what is proved and on which facts, the cautions."""

from dataclasses import dataclass

from latchproof.listing.model import FactLine

ROOM = 900
"""Letters of facts that stand on every sheet; more would take too much of it, and browsers would not repeat it."""


@dataclass(frozen=True, slots=True)
class Running:
    """What stands at the head of every sheet, and, `cautions`, at its foot."""

    name: str
    way_out: str
    still: tuple[str, ...]
    state: str
    facts: tuple[str, str] | None
    """What they are ("proved if"), and the facts one after the other."""
    cautions: tuple[str, ...]


def facts_in_short(facts: tuple[FactLine, ...], room: int = ROOM) -> str:
    """The assumed ones first, one after the other, as many as there is room for; how many more there are is said."""
    assumed = [f for f in facts if not f.standing.startswith("measured")]
    several = [f"{f.text} ({f.standing})" for f in (*assumed, *(f for f in facts if f not in assumed))]
    told: list[str] = []
    for text in several:
        if told and sum(map(len, told)) + len(text) > room:
            break
        told.append(text if len(text) <= room else f"{text[:room]} ...")
    more = len(several) - len(told)
    return "; ".join(told) + (f"; and {more} more, in the listing" if more else "")
