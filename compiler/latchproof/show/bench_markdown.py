"""The card of a bench test as Markdown. Nothing that stands in a rule file can act as markup."""

from collections.abc import Iterable, Iterator

from latchproof.bench.card import Card, SlipLine
from latchproof.show.bench_text import LAST, VOID, counted, looks
from latchproof.show.listing_markdown import escaped


def render(x: Card) -> str:
    return "\n".join(_lines(x)).rstrip() + "\n"


def _lines(x: Card) -> Iterator[str]:
    version = f", version {escaped(x.version)}" if x.version else ""
    yield f"# Bench test: {escaped(x.title)}{version}"
    if x.stage:
        yield from ("", f"Stage: {escaped(x.stage)}")
    yield from ("", f"**{escaped(x.first[0])}**", "")
    if all(x.fingerprint):
        yield from (f"**For the list with the fingerprint:** {escaped(' '.join(x.fingerprint))}", "")
    yield escaped(counted(x))
    yield from _items("Before you begin", x.first[1:])
    yield from _items("For this test only", (f"☐ {t}" for t in x.substitute))
    yield from _items("How everything stands at first", x.start)
    yield from ("", "## Steps", "", "| step | do | expect | check | if not |", "|" + " --- |" * 5)
    for s in x.steps:
        cells = (str(s.number), f"{s.do}; {s.wait}", "; ".join(s.expect), "☐", looks(s.if_not))
        yield f"| {' | '.join(escaped(c) for c in cells)} |"
    yield from ("", "## Put back", "", f"**{escaped(VOID)}**", "")
    yield from (f"- ☐ {escaped(b.text)}" for b in x.put_back)
    yield from (f"- ☐ {escaped(t)}" for t in LAST)
    yield from _items(f"Not shown by this test ({len(x.not_here)})", map(_slip, x.not_here))
    yield from _items(f"Shows nothing today ({len(x.nothing_today)})", map(_slip, x.nothing_today))
    yield from _items("Seen only by other checks", x.otherwise)
    yield from _items("Shown by no check at all", map(_slip, x.by_nothing))


def _slip(x: SlipLine) -> str:
    return f"{x.text}; shown by: {', '.join(x.shown_by) or 'nothing'}"


def _items(head: str, texts: Iterable[str]) -> Iterator[str]:
    lines = [f"- {escaped(t)}" for t in texts]
    if lines:
        yield from ("", f"## {head}", "", *lines)
