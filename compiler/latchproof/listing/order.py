"""Numbers for the entries, in the order to type them, and texts with those numbers put in."""

from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField, Link, Text
from latchproof.listing.model import Entry, Field, Read, Section
from latchproof.listing.numbers import earlier
from latchproof.listing.plain import word

RANK: dict[Section, int] = {
    "condition": 0, "logic": 1, "delay": 2, "latch": 3, "counter": 4, "sample": 5, "calculation": 6, "sequence": 7,
    "action": 8, "announcement": 9, "channel": 10, "sensor": 11, "failsafe": 12,
}  # fmt: skip


def numbered(desk: Desk) -> tuple[tuple[Entry, ...], dict[str, int]]:
    """The entries, and their numbers by key and by name."""
    ordered = _ordered(desk)
    numbers = {d.key: i for i, d in enumerate(ordered, 1)}
    numbers |= {name: numbers[key] for name, key in desk.alias.items()}
    reads = {d.key: _reads(d, numbers) for d in ordered}
    readers: dict[int, set[int]] = {}
    for d in ordered:
        for r in reads[d.key]:
            readers.setdefault(r.entry, set()).add(numbers[d.key])
    entries = tuple(
        Entry(
            numbers[d.key], d.section, _purpose(d), d.kind, fields_of(d, desk, numbers), d.start,
            reads[d.key], tuple(sorted(readers.get(numbers[d.key], ()))), names_of(d),
        )
        for d in ordered
    )  # fmt: skip
    return entries, numbers


def _ordered(desk: Desk) -> list[Draft]:
    """What an entry reads in the same pass comes before it, and what it reads one pass earlier after it, unless that
    goes round in a circle; of those that may come next, the earliest kind."""
    drafts = list(desk.drafts.values())
    at = {d.key: i for i, d in enumerate(drafts)}
    needs: dict[int, set[int]] = {i: set() for i in range(len(drafts))}
    better: dict[int, set[int]] = {i: set() for i in range(len(drafts))}
    for i, d in enumerate(drafts):
        for link in d.links():
            j = at[desk.alias.get(link.key, link.key)]
            if j != i and link.mode == "now":
                needs[i].add(j)
            elif j != i and link.mode == "earlier":
                better[j].add(i)
    waiting, done = set(range(len(drafts))), set[int]()
    out: list[Draft] = []
    while waiting:
        ready = [i for i in waiting if needs[i] <= done]
        if not ready:
            raise AssertionError("entries that read each other in one pass")
        i = min([i for i in ready if better[i] <= done] or ready, key=lambda i: (RANK[drafts[i].section], i))
        waiting.discard(i)
        done.add(i)
        out.append(drafts[i])
    return out


def _reads(d: Draft, numbers: dict[str, int]) -> tuple[Read, ...]:
    found: dict[tuple[int, str], Read] = {}
    for link in d.links():
        if link.mode != "mention":
            read = Read(numbers[link.key], link.mode)
            found[read.entry, read.when] = read
    return tuple(found[k] for k in sorted(found))


def names_of(d: Draft) -> tuple[str, ...]:
    """A rule or phase for what it does, a thing for what stands for it; else every name of the entry."""
    thing = _thing(d.key)
    return (d.place,) if d.place else (thing,) if thing else tuple(dict.fromkeys(d.names))


def _purpose(d: Draft) -> str:
    text = "".join(p for p in d.purpose if isinstance(p, str))
    names = ", also ".join(dict.fromkeys(word(n) for n in d.names))
    return f"{names}: {text}" if names and text else names or text


def fields_of(d: Draft, desk: Desk, numbers: dict[str, int]) -> tuple[Field, ...]:
    return tuple(_field(f, desk, numbers) for f in d.fields)


def _field(f: DraftField, desk: Desk, numbers: dict[str, int]) -> Field:
    value, words = _said(f.value, desk, numbers), _said(f.words, desk, numbers)
    return Field(f.label, value, f.other, words, f.kind, f.choices)


def _said(text: Text, desk: Desk, numbers: dict[str, int]) -> str:
    return "".join(p if isinstance(p, str) else _link(p, desk, numbers) for p in text)


def _link(link: Link, desk: Desk, numbers: dict[str, int]) -> str:
    draft = desk.found(link.key)
    called = draft.names[0] if draft is not None and draft.names else _thing(link.key)
    name = f" ({word(called)})" if called else ""
    text = f"entry {numbers[link.key]}"
    match link.form:
        case "number":
            return text
        case "value":
            text += name
        case "true" | "false":
            text += f"{name} {link.form}"
        case "speaks":
            text += " starts or is repeated"
        case "silent":
            text += " neither starts nor is repeated"
    return f"{text}, {earlier(link.passes)}" if link.passes else text


def _thing(key: str) -> str:
    """The channel or control that an entry of its own stands for."""
    kind, _, name = key.partition(" ")
    return name if kind in ("@channel", "@control", "@sensor") else ""
