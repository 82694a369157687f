"""The card of a bench test as plain text, to be printed and ticked. Nothing in it can act on a terminal."""

from collections.abc import Iterator

from latchproof.bench.card import Card, CardStep, Look, SlipLine
from latchproof.show.listing_text import _head, _items, _wrap
from latchproof.show.style import PLAIN, Style
from latchproof.show.visible import visible, width

MOST_LOOKS = 5
"""Entries named behind a step; who looks at all of these has mended it, or needs the whole list."""


def render(card: Card, style: Style = PLAIN, *, whole: bool = False) -> str:
    return "\n".join(_lines(card, style, whole))


def _lines(x: Card, style: Style, whole: bool) -> Iterator[str]:
    wide = style.width
    yield from _title(x, style)
    for text in x.first[:1]:
        yield from (style.paint(line, "warning") for line in _wrap(text, wide, "", ""))
    if all(x.fingerprint):
        yield from _wrap(f"FOR THE LIST WITH THE FINGERPRINT: {' '.join(x.fingerprint)}", wide, "", "    ")
    yield from _wrap(counted(x), wide, "", "")
    yield from _items("BEFORE YOU BEGIN", x.first[1:], style)
    if x.substitute:
        yield from _head("FOR THIS TEST ONLY", style)
        for text in x.substitute:
            yield from _wrap(text, wide, "  [ ] ", "      ")
    yield from _items("HOW EVERYTHING STANDS AT FIRST", x.start, style)
    yield from _head("STEPS", style)
    for step in x.steps:
        yield from _step(step, style)
    yield from _head("PUT BACK", style)
    yield from _wrap(VOID, wide, "  ", "  ")
    for back in x.put_back:
        yield from _wrap(back.text, wide, "  [ ] ", "      ")
    for text in LAST:
        yield from _wrap(text, wide, "  [ ] ", "      ")
    yield from _slips(f"NOT SHOWN BY THIS TEST ({len(x.not_here)})", x.not_here, style, whole=True)
    yield from _slips(f"SHOWS NOTHING TODAY ({len(x.nothing_today)})", x.nothing_today, style, whole=True)
    yield from _items("SEEN ONLY BY OTHER CHECKS", x.otherwise, style)
    if x.by_nothing:
        yield from _slips("SHOWN BY NO CHECK AT ALL", x.by_nothing, style, whole=True)
    if whole and x.refused:
        yield from _slips(f"CANNOT WORK AT ALL ({len(x.refused)})", x.refused, style, whole=True)


VOID = "This card is void until every box here is ticked: what was changed for the test is an entry like any other."
LAST = (
    "Switch the transmitter off and on. Read every entry named above back from its screen, by another person if there "
    "is one.",
    "Motor stop on. Only now the propeller.",
)


def counted(x: Card) -> str:
    """How much the test shows, in a sentence or two."""
    t = x.totals
    text = (
        f"{t.slips} single slips of a hand can be made when copying this list. {_steps(t.steps)}, about "
        f"{t.minutes} min, show {t.shown} of them; one test for each would be {t.alone} steps."
    )
    if t.least is not None:
        text += f" No test of fewer than {t.least} steps can show them all: that is proved."
    else:
        text += " None of the steps can be left out; whether there is a shorter test is not known."
    parts = [
        (t.unseen, "too little, or out of reach, to be seen here"),
        (t.not_decided, "not decided"),
        (t.nothing, "without any effect today, which is proved"),
        (t.refused, "noticed when they are made, since nothing works with them"),
    ]
    rest = "; ".join(f"{n} {what}" for n, what in parts if n)
    return text + (f" The others: {rest}." if rest else "")


def _steps(n: int) -> str:
    return "1 step" if n == 1 else f"{n} steps"


def _title(x: Card, style: Style) -> Iterator[str]:
    right = visible(f"version {x.version}") if x.version else ""
    right = right if width(right) < style.width // 2 else ""
    lines = list(_wrap(f"BENCH TEST: {x.title.upper()}", style.width - len(right) - 2, "", ""))
    gap = max(1, style.width - width(lines[0]) - width(right)) if right else 0
    yield style.paint(lines[0] + " " * gap + right, "strong")
    yield from (style.paint(line, "strong") for line in lines[1:])
    if x.stage:
        yield from _wrap(f"STAGE: {x.stage}", style.width, "", "  ")
    yield "=" * style.width


def _step(s: CardStep, style: Style) -> Iterator[str]:
    lead = f"{s.number:>3} [ ] "
    indent = " " * len(lead)
    first, *rest = _wrap(f"{s.do}; {s.wait}", style.width, lead, indent)
    yield style.paint(first, "strong")
    yield from rest
    yield from _wrap("; ".join(s.expect), style.width, f"{indent}expect  ", f"{indent}        ")
    if s.if_not:
        yield from _wrap(f"if not: {looks(s.if_not)}", style.width, indent, f"{indent}        ")


def looks(found: tuple[Look, ...]) -> str:
    """`look at entry 13 (set when), 15 (both at once)`."""
    named = [f"{x.entry} ({', '.join(x.fields[:2])}{', ...' if len(x.fields) > 2 else ''})" for x in found if x.entry]
    more = f", and {len(named) - MOST_LOOKS} more" if len(named) > MOST_LOOKS else ""
    whole = any(not x.entry for x in found)
    text = f"look at entry {', '.join(named[:MOST_LOOKS])}{more}" if named else ""
    if whole:
        text += f"{'; ' if text else ''}is it the right model memory and flight phase?"
    return text


def _slips(head: str, lines: tuple[SlipLine, ...], style: Style, *, whole: bool) -> Iterator[str]:
    if not lines:
        return
    yield from _head(head, style)
    for x in lines:
        checks = f"; shown by: {', '.join(x.shown_by)}" if x.shown_by else "; shown by nothing"
        yield from _wrap(f"{x.text}{checks}", style.width, "  * ", "    ")
