"""The card of a bench test as a page, in the order of its text; propeller off stands at the head of every sheet."""

from collections.abc import Iterable, Iterator

from latchproof.bench.card import Card, SlipLine
from latchproof.show.bench_text import LAST, VOID, counted, looks
from latchproof.show.page import heading, page, points, say, sheet, step, steps
from latchproof.show.running import Running


def render(x: Card) -> str:
    return page(_name(x), [sheet(_running(x), _body(x))])


def _name(x: Card) -> str:
    version = f", version {x.version}" if x.version else ""
    stage = f", stage {x.stage}" if x.stage else ""
    return f"Bench test: {x.title}{version}{stage}"


def _words(x: Card) -> str:
    return " ".join(x.fingerprint) if all(x.fingerprint) else ""


def _running(x: Card) -> Running:
    words = [("For the list with the fingerprint:", _words(x))] if _words(x) else []
    return Running(_name(x), ((x.first[0], ""), *words), (VOID,))


def _body(x: Card) -> Iterator[str]:
    yield heading(1, _name(x))
    yield say(x.first[0], warning=True)
    if words := _words(x):
        yield say(f"For the list with the fingerprint: {words}")
    yield say(counted(x))
    yield from _items("Before you begin", x.first[1:])
    if x.substitute:
        yield heading(2, "For this test only")
        yield steps(map(step, x.substitute))
    yield from _items("How everything stands at first", x.start)
    yield heading(2, "Steps")
    yield steps(step(f"{s.number}. {s.do}; {s.wait}", "; ".join(s.expect), looks(s.if_not)) for s in x.steps)
    yield heading(2, "Put back")
    yield say(VOID, warning=True)
    yield steps(map(step, (*(b.text for b in x.put_back), *LAST)))
    yield from _items(f"Not shown by this test ({len(x.not_here)})", map(_slip, x.not_here))
    yield from _items(f"Shows nothing today ({len(x.nothing_today)})", map(_slip, x.nothing_today))
    yield from _items("Seen only by other checks", x.otherwise)
    yield from _items("Shown by no check at all", map(_slip, x.by_nothing))


def _slip(x: SlipLine) -> str:
    return f"{x.text}; shown by: {', '.join(x.shown_by) or 'nothing'}"


def _items(head: str, texts: Iterable[str]) -> Iterator[str]:
    several = tuple(texts)
    if several:
        yield heading(2, head)
        yield points(several)
