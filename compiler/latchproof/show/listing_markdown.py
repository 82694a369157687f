"""A listing as Markdown: a table for each entry. Nothing that stands in a rule file can act as markup."""

import re
from collections.abc import Iterator

from latchproof.listing.model import Entry, Field, Listing, Promise
from latchproof.show.listing_text import UNTOUCHED, dangers, group, headed, on_device
from latchproof.show.visible import visible

_SPECIAL = re.compile(r"[\\`*_{}\[\]<>#|~&!@$^]")


def escaped(text: str) -> str:
    """One line in which every character stands for itself."""
    safe = _SPECIAL.sub(lambda m: f"\\{m.group()}", visible(text)).replace("://", ":\\//")
    safe = re.sub(r"\bwww\.", "www\\.", safe, flags=re.IGNORECASE)
    return re.sub(
        r"^(\s*)([-+](?=\s|$)|[-=]{2,}|=|\d+[.)](?=\s|$))",
        lambda m: m.group(1) + re.sub(r"([-+=.)])", r"\\\1", m.group(2)),
        safe,
    )


def render(x: Listing) -> str:
    return "\n".join(_lines(x)).rstrip() + "\n"


def _lines(x: Listing) -> Iterator[str]:
    version = f", version {escaped(x.version)}" if x.version else ""
    yield f"# {escaped(x.title)}{version}"
    if x.stage:
        yield from ("", f"Stage: {escaped(x.stage)}")
    yield from ("", f"**To stop it in flight:** {escaped(x.way_out.action)}")
    yield from (f"- but {escaped(s)}" for s in x.way_out.still)
    yield from (f"- {escaped(s)}" for s in x.way_out.more)
    if x.way_out.stop:
        yield from ("", f"**Motor stop:** {escaped(x.way_out.stop)}")
    yield from ("", f"**State:** {escaped(x.state)}", "")
    if x.read_back:
        yield from (escaped(x.read_back), "")
    if x.on is not None:
        yield from (f"- **cannot be entered like this**: {escaped(s)}" for s in x.on.stops)
        yield from (f"**Transmitter:** {escaped(x.on.transmitter)}. {escaped(x.on.proofs)}", "")
    if all(x.fingerprint):
        yield from (f"**Fingerprint of this list:** {escaped(' '.join(x.fingerprint))}", "")
    if x.checked:
        yield from (f"- **{_state(p)}**: {escaped(p.text)}" for p in x.promises)
    facts = [f"{f.text} ({f.standing})" for f in x.proved_if]
    yield from _items("Proved if" if x.checked else "What a proof will stand on", facts)
    rules = [f"{a.hazard}, {a.title}{f', in rule {a.rule}' if a.rule else ''}, because: {a.reason}" for a in x.accepted]
    yield from _items("Accepted dangers", rules)
    yield from _items("Dangers looked for", dangers(x))
    yield from _items("Cautions", x.cautions)
    for head, texts in on_device(x):
        yield from _items(head.capitalize(), texts)
    yield from _head("Fill in first")
    for f in x.fill_in_first:
        asks = "; ".join(f"{escaped(a.question)} {_boxes(a.choices)}" for a in f.asks)
        yield f"- **{escaped(f.subject)}**: {asks}"
    yield from _items("How to read the entries", x.reading)
    if x.tunables:
        yield from _head("Numbers that may be tuned")
        yield from _table(("name", "value", "may be", "entries", "keep"))
        for t in x.tunables:
            value = f"{t.value} ({t.other})" if t.other else t.value
            yield _row((t.name, value, t.allowed, ", ".join(map(str, t.entries)), "; ".join(t.needs)))
    for e, head in headed(x.entries):
        if head:
            yield from _head(head.capitalize())
        yield from _entry(e)
        if together := group(e, x.entries):
            yield from (f"☐ {escaped(together)}", "")
    if x.untouched:
        yield from _head("Leave as it is")
        yield from (UNTOUCHED, "")
        yield from _table(("channel", "what", "is", "the same as", "means"))
        yield from (_row((u.channel, f.label, f.value, f.other, f.words)) for u in x.untouched for f in u.has)
    yield from _items("Rows that must be empty", x.empty_rows)
    yield from _items("Sensors to discover", x.discover)
    if x.sounds:
        yield from _head("Sounds to prepare")
        yield from _table(("entry", "kind", "text", "how often", "length", "else", "check"))
        for s in x.sounds:
            yield _row((str(s.entry), s.means, s.text, s.repeat, s.length, s.instead, "")).removesuffix("  |") + " ☐ |"
    yield from _items("Not to be typed", x.left_out)
    yield from _items("Flight phases", x.flight_phases)
    yield from _items("This list and its tests are void after", x.voids)


def _state(p: Promise) -> str:
    return "possible, by example" if p.example and p.state == "proved" else p.state


def _entry(e: Entry) -> Iterator[str]:
    yield from (f"**{e.number}. {escaped(e.purpose)}** ☐", "")
    yield from _table(("field", "enter", "the same as", "means"))
    by = ", ".join(str(n) for n in e.read_by) or "no other entry"
    for f in (Field("kind", e.kind), *e.fields, Field("at switch-on", e.start), Field("read by", by)):
        yield _row((f.label, f.value, f.other, f.words))
    yield ""


def _head(text: str) -> Iterator[str]:
    yield from ("", f"## {text}", "")


def _items(head: str, texts: tuple[str, ...] | list[str]) -> Iterator[str]:
    if texts:
        yield from _head(head)
        yield from (f"- {escaped(t)}" for t in texts)


def _boxes(choices: tuple[str, ...]) -> str:
    return " ".join(f"☐ {escaped(c)}" for c in choices) or r"\_\_\_\_\_\_\_\_"


def _table(heads: tuple[str, ...]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield f"|{' --- |' * len(heads)}"


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(escaped(c) for c in cells)} |"
