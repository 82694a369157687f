"""A listing as plain text: it can be printed and written on. Nothing in it can act on a terminal."""

import re
from collections.abc import Iterable, Iterator

from latchproof.listing.model import Ask, Entry, FactLine, Field, FillIn, Listing, Section, Sound, Tunable
from latchproof.show.style import PLAIN, Style
from latchproof.show.visible import visible, width

HEADS: dict[Section, str] = {
    "condition": "CONDITIONS", "logic": "LOGIC", "delay": "DELAYS", "latch": "LATCHES", "counter": "COUNTERS",
    "sample": "KEPT VALUES", "calculation": "CALCULATIONS", "sequence": "SEQUENCES", "action": "ACTIONS ON CHANNELS",
    "announcement": "ANNOUNCEMENTS", "channel": "CHANNELS", "sensor": "SENSORS AND LINK",
    "failsafe": "RECEIVER FAILSAFE",
}  # fmt: skip
LABEL = 19
_TOGETHER = re.compile(r"(?<=\d) (?=[A-Za-z%])|(?<=\bentry) (?=\d)|(?<=\[ \]) (?=\S)|(?<=\[) (?=\])")
"""A number stays with its unit, and a box with its word."""


def render(listing: Listing, style: Style = PLAIN) -> str:
    return "\n".join(_lines(listing, style))


def _lines(x: Listing, style: Style) -> Iterator[str]:
    wide = style.width
    yield from _title(x, style)
    yield from _wrap(x.way_out.action, wide, "TO STOP IT IN FLIGHT: ", "    ")
    for text in x.way_out.still:
        yield from _wrap(text, wide, "    NOT STOPPED BY IT: ", "        ")
    for text in x.way_out.more:
        yield from _wrap(text, wide, "    ", "        ")
    if x.way_out.stop:
        yield from _wrap(x.way_out.stop, wide, "MOTOR STOP: ", "    ")
    yield from _wrap(x.state, wide, "", "    ")
    yield from _standing(x, wide)
    for p in x.not_proved:
        if p.state != "not checked" or x.checked:
            yield from _wrap(f"{p.state}: {p.text}", wide, "    ", "        ")
    yield from _facts(x.proved_if, x, style)
    if proved := [p.text for p in x.promises if p.state == "proved" and not p.example]:
        yield from _items("PROVED", proved, style)
    if possible := [p.text for p in x.promises if p.state == "proved" and p.example]:
        yield from _items("POSSIBLE, BY EXAMPLE", possible, style)
    if x.accepted:
        yield from _head("ACCEPTED DANGERS", style)
        for a in x.accepted:
            where = f", in rule {a.rule}" if a.rule else ""
            yield from _wrap(f"{a.hazard}, {a.title}{where}, because: {a.reason}", wide, "  ", "    ")
    if x.dangers:
        yield from _items("DANGERS LOOKED FOR", dangers(x), style)
    yield from _items("CAUTIONS", x.cautions, style)
    for head, texts in on_device(x):
        yield from _items(head, texts, style)
    yield from _head("FILL IN FIRST", style)
    for f in x.fill_in_first:
        yield from _fill_in(f, wide)
    yield from _items("HOW TO READ THE ENTRIES", x.reading, style)
    if x.tunables:
        yield from _head("NUMBERS THAT MAY BE TUNED", style)
        for t in x.tunables:
            yield from _tunable(t, wide)
    for e, head in headed(x.entries):
        if head:
            yield from _head(head, style)
        elif e.number > 1:
            yield ""
        yield from _entry(e, style)
        if together := group(e, x.entries):
            yield from _wrap(together, wide, "    [ ] ", "        ")
    if x.untouched:
        yield from _head("LEAVE AS IT IS", style)
        yield from _wrap(UNTOUCHED, wide, "  ", "  ")
        for u in x.untouched:
            yield from _wrap(f"{u.channel}: {'; '.join(map(_has, u.has))}", wide, "  * ", "    ")
    yield from _items("ROWS THAT MUST BE EMPTY", x.empty_rows, style)
    if x.discover:
        yield from _head("SENSORS TO DISCOVER", style)
        for sensor in x.discover:
            yield from _wrap(sensor, wide, "  [ ] ", "      ")
    if x.sounds:
        yield from _head("SOUNDS TO PREPARE", style)
        for s in x.sounds:
            yield from _wrap(_sound(s), wide, "  [ ] ", "      ")
    if x.left_out:
        yield from _head("NOT TO BE TYPED", style)
        names = ", ".join(x.left_out)
        yield from _wrap(f"named in the rules, but nothing the model does hangs on it: {names}", wide, "  ", "  ")
    yield from _items("FLIGHT PHASES", x.flight_phases, style)
    yield from _items("THIS LIST AND ITS TESTS ARE VOID AFTER", x.voids, style)


UNTOUCHED = "Nothing in this list acts on these channels. The rules take them to be like this already:"


def headed(entries: tuple[Entry, ...]) -> Iterator[tuple[Entry, str]]:
    """Each entry with the head to put before it, if any; a head that comes again says that it goes on."""
    section: Section | None = None
    seen: set[Section] = set()
    for e in entries:
        again = " (continued)" if e.section in seen else ""
        yield e, "" if e.section == section else f"{HEADS[e.section]}{again}"
        section = e.section
        seen.add(section)


TOGETHER = 4
"""Entries that are ticked in one go once they have been read back."""


def group(e: Entry, entries: tuple[Entry, ...]) -> str:
    """After every fourth entry, and the last: what is read back together."""
    last = entries[-1].number
    if e.number % TOGETHER and e.number != last:
        return ""
    first = (e.number - 1) // TOGETHER * TOGETHER + 1
    which = f"entry {first}" if first == e.number else f"entries {first} to {e.number}"
    return f"{which} read back from the screen, by another person if there is one"


def _standing(x: Listing, wide: int) -> Iterator[str]:
    if x.read_back:
        yield from _wrap(x.read_back, wide, "", "    ")
    if x.on is not None:
        for text in x.on.stops:
            yield from _wrap(f"CANNOT BE ENTERED LIKE THIS: {text}", wide, "", "    ")
        yield from _wrap(f"TRANSMITTER: {x.on.transmitter}. {x.on.proofs}", wide, "", "    ")
    if all(x.fingerprint):
        yield from _wrap(f"FINGERPRINT: {' '.join(x.fingerprint)}", wide, "", "    ")


def on_device(x: Listing) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What only a known transmitter adds, by its heads; heads of which there is nothing to say are left out."""
    if x.on is None:
        return
    parts = (
        ("WHERE PROMISES ARE NOT PROVED HERE", x.on.to_do), ("IN THE WAY", x.on.in_the_way),
        ("TAKEN OUT AT LAST, AN ENTRY TAKES ITS PLACE", x.on.instead),
        ("WHAT SERVES AS WHAT", x.on.hands), ("NUMBERS THAT ARE ENTERED OTHERWISE", x.on.rounded),
        ("MADE OF OTHER ENTRIES", x.on.made_of),
    )  # fmt: skip
    yield from ((head, texts) for head, texts in parts if texts)


def dangers(x: Listing) -> list[str]:
    """What fails or is not decided one by one, the rest by how many."""
    grave = [f"{d.hazard}, {d.title}: {d.state.upper()}" for d in x.dangers if d.state in ("fails", "not decided")]
    names = {"proved": "cannot happen", "accepted": "accepted in the rule file", "not named": "could not be looked for",
             "procedure": "for you to do, see the cards", "not applicable": "do not concern these rules"}  # fmt: skip
    counted = [(text, [d.hazard for d in x.dangers if d.state == state]) for state, text in names.items()]
    return grave + [f"{text}: {', '.join(several)}" for text, several in counted if several]


def _has(f: Field) -> str:
    other = f" ({f.other})" if f.other else ""
    words = f", {f.words}" if f.words else ""
    return f"{f.label} {f.value}{other}{words}"


def _title(x: Listing, style: Style) -> Iterator[str]:
    right = visible(f"version {x.version}") if x.version else ""
    right = right if width(right) < style.width // 2 else ""
    lines = list(_wrap(x.title.upper(), style.width - len(right) - 2, "", ""))
    gap = max(1, style.width - width(lines[0]) - width(right)) if right else 0
    yield style.paint(lines[0] + " " * gap + right, "strong")
    yield from (style.paint(line, "strong") for line in lines[1:])
    if x.version and not right:
        yield from _wrap(f"version {x.version}", style.width, "", "  ")
    if x.stage:
        yield from _wrap(f"STAGE: {x.stage}", style.width, "", "  ")
    yield "=" * style.width


def _head(text: str, style: Style) -> Iterator[str]:
    yield ""
    yield style.paint(f"{text} ".ljust(style.width, "-"), "strong")


def _items(head: str, texts: Iterable[str], style: Style) -> Iterator[str]:
    yield from _head(head, style)
    for text in texts:
        yield from _wrap(text, style.width, "  * ", "    ")


def _facts(lines: tuple[FactLine, ...], x: Listing, style: Style) -> Iterator[str]:
    yield from _head("PROVED IF" if x.checked else "WHAT A PROOF WILL STAND ON", style)
    for f in lines:
        yield from _wrap(f"{f.text} ({f.standing})", style.width, "  * ", "    ")


def _several(numbers: tuple[int, ...]) -> str:
    word = "entries" if len(numbers) > 1 else "entry"
    return f"{word} {', '.join(str(n) for n in numbers)}" if numbers else ""


def _fill_in(f: FillIn, wide: int) -> Iterator[str]:
    for i, a in enumerate(f.asks):
        yield from _pair("" if i else f.subject, _ask(a), wide, "  ")


def _ask(a: Ask) -> str:
    boxes = "  ".join(f"[ ] {c}" for c in a.choices)
    return f"{a.question} {boxes or '________'}"


def _tunable(t: Tunable, wide: int) -> Iterator[str]:
    other = f" ({t.other})" if t.other else ""
    places = f"in {_several(t.entries)}" if t.entries else "in no entry"
    needs = f"; keep: {'; '.join(t.needs)}" if t.needs else ""
    yield from _wrap(f"{t.name} = {t.value}{other}: {t.allowed}; {places}{needs}", wide, "  * ", "    ")


def _sound(s: Sound) -> str:
    text = f' "{s.text}"' if s.text else ""
    more = "".join(f"; {t}" for t in (s.length, s.instead) if t)
    return f"{s.means}{text}, {s.repeat}, for entry {s.entry}{more}"


def _entry(e: Entry, style: Style) -> Iterator[str]:
    lead = f"{e.number:>3} [ ] "
    first, *rest = _wrap(e.purpose, style.width, lead, " " * len(lead))
    yield style.paint(first, "strong")
    yield from rest
    shown = [Field("kind", e.kind), *e.fields, Field("at switch-on", e.start)]
    shown.append(Field("read by", _several(e.read_by) or "no other entry"))
    for f in shown:
        other = f" ({f.other})" if f.other else ""
        words = f"; {f.words}" if f.words else ""
        yield from _pair(f.label, f"{f.value}{other}{words}", style.width, " " * len(lead))


def _pair(label: str, text: str, wide: int, indent: str = "") -> Iterator[str]:
    label = visible(label)
    if width(label) >= LABEL:
        yield from _wrap(label, wide, indent, indent + "  ")
        label = ""
    column = indent + " " * LABEL
    yield from _wrap(text, wide, f"{indent}{label}{' ' * (LABEL - width(label))}", column)


def _wrap(text: str, wide: int, first: str, rest: str) -> Iterator[str]:
    """Lines of at most `wide` columns; what does not fit in one is cut."""
    words = _TOGETHER.sub("\xa0", visible(text)).split(" ")
    line, empty = first, True
    for word in words:
        while width(line) + width(word) + (not empty) > wide:
            if not empty:
                yield line.replace("\xa0", " ").rstrip()
                line, empty = rest, True
            elif width(line) + width(word) > wide:
                room = _fitting(word, wide - width(line))
                yield (line + word[:room]).replace("\xa0", " ")
                line, word = rest, word[room:]
        line, empty = (line + word, False) if empty else (f"{line} {word}", False)
    yield line.replace("\xa0", " ").rstrip()


def _fitting(word: str, room: int) -> int:
    """How many characters of a word fit, at least one."""
    count = 1
    while count < len(word) and width(word[: count + 1]) <= room:
        count += 1
    return count
