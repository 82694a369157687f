"""A listing as one HTML file that prints on A4 and Letter: the order is that of the text, from top to bottom.

No script, nothing from elsewhere; what stands in a rule file is text and nothing else.
"""

from collections.abc import Iterable, Iterator

from latchproof.cards.cautions import in_short
from latchproof.listing.model import Ask, Entry, Field, FillIn, Listing, Promise, Tunable, Untouched
from latchproof.show.listing_text import UNTOUCHED, dangers, group, headed, on_device
from latchproof.show.page import BOX, LINE, heading, page, points, safe, say, sheet, step, steps, table
from latchproof.show.running import Running, facts_in_short, head_lines

NOT_TYPED = "named in the rules, but nothing the model does hangs on it:"


def render(x: Listing) -> str:
    return page(f"Listing: {_name(x)}", [sheet(_running(x), _body(x))])


def _name(x: Listing) -> str:
    version = f", version {x.version}" if x.version else ""
    stage = f", stage {x.stage}" if x.stage else ""
    return f"{x.title}{version}{stage}"


def _words(x: Listing) -> str:
    return " ".join(x.fingerprint) if all(x.fingerprint) else ""


def _running(x: Listing) -> Running:
    words = f"; fingerprint: {_words(x)}" if _words(x) else ""
    facts = (_lead(x), facts_in_short(x.proved_if)) if x.proved_if else None
    lines = head_lines(x.way_out, x.state, facts)
    stops = tuple(("CANNOT BE ENTERED LIKE THIS:", text) for text in (x.on.stops if x.on else ()))
    return Running(_name(x) + words, (*lines, *stops), in_short(x.way_out))


def _lead(x: Listing) -> str:
    return "proved if" if x.checked else "what a proof will stand on"


def _body(x: Listing) -> Iterator[str]:
    yield heading(1, _name(x))
    yield from _first(x)
    yield from _proofs(x)
    yield from _items("Dangers looked for", dangers(x))
    yield from _items("Cautions", x.cautions)
    for head, texts in on_device(x):
        yield from _items(head.capitalize(), texts)
    yield heading(2, "Fill in first")
    yield _fill_in(x.fill_in_first)
    yield from _items("How to read the entries", x.reading)
    if x.tunables:
        yield heading(2, "Numbers that may be tuned")
        yield table(("name", "value", "may be", "entries", "keep"), map(_tunable, x.tunables))
    for e, head in headed(x.entries):
        if head:
            yield heading(2, head.capitalize())
        yield _entry(e)
        if together := group(e, x.entries):
            yield steps([step(together)])
    yield from _last(x)


def _first(x: Listing) -> Iterator[str]:
    yield say(f"To stop it in flight: {x.way_out.action}", warning=True)
    yield from (say(f"NOT STOPPED BY IT: {text}", warning=True) for text in x.way_out.still)
    yield from map(say, x.way_out.more)
    if x.way_out.stop:
        yield say(f"Motor stop: {x.way_out.stop}")
    yield say(x.state, warning=any(p.state != "proved" for p in x.promises) or not x.promises)
    if x.read_back:
        yield say(x.read_back)
    if x.on is not None:
        yield say(f"Transmitter: {x.on.transmitter}. {x.on.proofs}")
        yield from (say(f"CANNOT BE ENTERED LIKE THIS: {text}", warning=True) for text in x.on.stops)
    if words := _words(x):
        yield say(f"Fingerprint: {words}")


def _proofs(x: Listing) -> Iterator[str]:
    open_ = [p for p in x.not_proved if p.state != "not checked" or x.checked]
    if open_:
        yield points(f"{p.state}: {p.text}" for p in open_)
    yield from _items(_lead(x).capitalize(), (f"{f.text} ({f.standing})" for f in x.proved_if))
    yield from _items("Proved", (p.text for p in _proved(x, example=False)))
    yield from _items("Possible, by example", (p.text for p in _proved(x, example=True)))
    yield from _items(
        "Accepted dangers",
        (f"{a.hazard}, {a.title}{f', in rule {a.rule}' if a.rule else ''}, because: {a.reason}" for a in x.accepted),
    )


def _proved(x: Listing, *, example: bool) -> list[Promise]:
    return [p for p in x.promises if p.state == "proved" and p.example == example]


def _last(x: Listing) -> Iterator[str]:
    if x.untouched:
        yield heading(2, "Leave as it is")
        yield say(UNTOUCHED)
        yield table(("channel", "what", "is", "the same as", "means"), _untouched(x.untouched))
    yield from _items("Rows that must be empty", x.empty_rows)
    if x.discover:
        yield heading(2, "Sensors to discover")
        yield steps(map(step, x.discover))
    if x.sounds:
        yield heading(2, "Sounds to prepare")
        rows = ((s.means, s.text, s.repeat, str(s.entry), s.length, s.instead) for s in x.sounds)
        yield table(("kind", "text", "how often", "for entry", "length", "else"), rows, ticked=True)
    if x.left_out:
        yield heading(2, "Not to be typed")
        yield say(f"{NOT_TYPED} {', '.join(x.left_out)}")
    yield from _items("Flight phases", x.flight_phases)
    yield from _items("This list and its tests are void after", x.voids)


def _untouched(several: Iterable[Untouched]) -> Iterator[tuple[str, ...]]:
    return ((u.channel, f.label, f.value, f.other, f.words) for u in several for f in u.has)


def _items(head: str, texts: Iterable[str]) -> Iterator[str]:
    several = tuple(texts)
    if several:
        yield heading(2, head)
        yield points(several)


def _tunable(t: Tunable) -> tuple[str, ...]:
    value = f"{t.value} ({t.other})" if t.other else t.value
    return t.name, value, t.allowed, ", ".join(map(str, t.entries)) or "none", "; ".join(t.needs)


# ---------- what is filled in, what is entered


def _fill_in(several: tuple[FillIn, ...]) -> str:
    rows = "".join(
        f'<tr><th scope="row">{safe(f.subject)}</th><td>{"".join(map(_ask, f.asks))}</td></tr>' for f in several
    )
    top = '<tr><th scope="col">of</th><th scope="col">write down or tick</th></tr>'
    return f'<table class="form"><thead>{top}</thead><tbody>{rows}</tbody></table>'


def _ask(a: Ask) -> str:
    boxes = " ".join(f'<span class="choice">{BOX} {_filled(c)}</span>' for c in a.choices)
    return f"<p>{safe(a.question)} {boxes or LINE}</p>"


def _filled(text: str) -> str:
    return safe(text).replace("________", LINE)


def _entry(e: Entry) -> str:
    by = ", ".join(f"entry {n}" for n in e.read_by) or "no other entry"
    shown = (Field("kind", e.kind), *e.fields, Field("at switch-on", e.start), Field("read by", by))
    rows = "".join(map(_row, shown))
    top = "".join(f'<th scope="col">{t}</th>' for t in ("field", "enter", "that is"))
    name = f"entry-{e.number}"
    return (
        f'<section class="entry" aria-labelledby="{name}"><h3 id="{name}">{BOX} {e.number}. {safe(e.purpose)}</h3>'
        f'<table class="form"><thead><tr>{top}</tr></thead><tbody>{rows}</tbody></table></section>'
    )


def _row(f: Field) -> str:
    other = f"({f.other})" if f.other else ""
    more = "; ".join(t for t in (other, f.words) if t)
    value = f'<span class="value">{_filled(f.value)}</span>'
    cells = f"<td>{value}</td><td>{_filled(more)}</td>" if more else f'<td colspan="2">{value}</td>'
    return f'<tr><th scope="row">{safe(f.label)}</th>{cells}</tr>'
