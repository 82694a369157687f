"""What stands on every sheet of paper: what it is for, the way out, what is proved and on which facts, the cautions."""

from dataclasses import dataclass

from latchproof.listing.model import FactLine, WayOut

ROOM = 900
"""Letters of facts that stand on every sheet; more would take too much of it, and browsers would not repeat it."""


@dataclass(frozen=True, slots=True)
class Running:
    """What stands at the head of every sheet: its name, and lines, each with a lead in bold print, which may be all of
    it. `cautions` stand at its foot."""

    name: str
    lines: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]


def head_lines(way: WayOut, state: str, facts: tuple[str, str] | None) -> tuple[tuple[str, str], ...]:
    """The way out, what is proved, and on what: `facts` are what they are ("proved if") and the facts themselves."""
    lines = [("To stop it in flight:", way.action), *(("Not stopped by it:", text) for text in way.still), (state, "")]
    return (*lines, *([(f"{facts[0].capitalize()}:", f"{facts[1]}.")] if facts else []))


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
