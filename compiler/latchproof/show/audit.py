"""What came of an audit, as a pilot reads it: each difference with its verdict, then the whole, then what to do."""

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import assert_never

from latchproof.listing.model import Entry, Listing
from latchproof.readback.audit import (
    AsListed,
    Audit,
    Dangerous,
    Failing,
    Harmless,
    Holds,
    Judged,
    NoMachine,
    NotDecided,
    Outcome_,
)
from latchproof.readback.differences import (
    Difference,
    MoreEntry,
    MoreField,
    Moved,
    NoEntry,
    NoField,
    OtherKind,
    OtherValue,
    label_of,
)  # fmt: skip
from latchproof.readback.form import Form
from latchproof.readback.form_table import Refused
from latchproof.readback.model import Problem
from latchproof.rules.hazards import TITLES
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import paragraph
from latchproof.show.verdicts import told
from latchproof.show.visible import visible

CAUTIONS = (
    "Propeller OFF while you look at entries and while you correct them.",
    "After every correction: switch the transmitter off and on, read the corrected entries back again and run this "
    "again; then the bench test, from its first step.",
    "An audit compares numbers and words. Range check, failsafe test and a first flight with a helper stay to be done.",
)
NOT_SEEN = (
    "The wrong model memory, or an entry that does not act in every flight phase: a step of the bench test in each.",
    "Entered, but not kept: off and on, then the bench test.",
    "A tick for what was meant instead of what stands there: a second person reads from the screen.",
    "A field that the transmitter has and the listing does not name, left as it was found: go through each screen.",
    "Something that the transmitter does otherwise than its description says: the bench test.",
)
"""What an audit of a form cannot show, and what can."""

WEAKER = (
    "It is not what was listed all the same: it may act later or less than you count on, where nothing was promised."
)

VERDICTS: Mapping[str, tuple[str, Role]] = {
    "harmless": ("shows nothing", "good"),
    "holds": ("other, but every promise still holds", "warning"),
    "breaks no other": ("other; of the promises that the listing keeps none is broken", "warning"),
    "dangerous": ("DANGEROUS", "error"),
    "not decided": ("NOT DECIDED", "warning"),
    "cannot be": ("CANNOT BE", "error"),
    "told again": ("told again", "strong"),
}


def verdict(outcome: Outcome_ | None) -> str:
    """In a word or two."""
    match outcome:
        case None:
            return "told again"
        case Harmless():
            return "harmless"
        case Holds(amiss=amiss):
            return "breaks no other" if amiss else "holds"
        case Dangerous():
            return "dangerous"
        case NotDecided():
            return "not decided"
        case NoMachine():
            return "cannot be"
        case _:
            assert_never(outcome)


# ---------- what is refused


def refused(found: Iterable[Refused], path: str) -> str:
    lines = []
    for x in found:
        place = f"{path}:{x.line}" if x.line else path
        column = f", column `{x.column}`" if x.column else ""
        lines += paragraph(f"{visible(place)}{column}: {visible(x.message)}", 80, rest="  ")
        if x.repair:
            lines += paragraph(visible(x.repair), 80, first="  do: ", rest="      ")
    return "\n".join([*lines, "Nothing was judged."])


# ---------- the beginning


def as_listed(x: AsListed, style: Style = PLAIN) -> str:
    """What the listing itself does not keep; empty where it keeps all."""
    absent = [f"not in this stage, which only warns: {visible(text)}" for text in x.elsewhere]
    aside = [line for text in absent for line in paragraph(text, style.width, "- ", "  ")]
    if not x.amiss:
        return "\n".join(aside)
    count = f"{x.amiss} of its {x.promises} promises" if x.promises > 1 else "its promise"
    if x.fails:
        title = f"THE LISTING ITSELF DOES NOT KEEP {count.upper()}, whatever was typed. Do not fly it like this"
        role: Role = "error"
    else:
        title, role = f"NOT DECIDED whether the listing itself keeps {count}, whatever was typed", "warning"
    lines = [style.paint(line, role) for line in paragraph(title, style.width)]
    for text in x.fails:
        lines += paragraph(f"fails as listed: {visible(text)}", style.width, "- ", "  ")
    for text in x.open:
        lines += paragraph(f"not decided as listed: {visible(text)}", style.width, "- ", "  ")
    return "\n".join([*lines, *aside])


def head(listing: Listing, form: Form, count: int, style: Style = PLAIN) -> str:
    version = f", version {listing.version}" if listing.version else ""
    stage = f", stage {listing.stage}" if listing.stage else ""
    on = f", on {listing.on.transmitter}" if listing.on is not None else ""
    title = f"{listing.title}{version}{stage}{on}: listing {' '.join(listing.fingerprint)}"
    lines = [style.paint(line, "strong") for line in paragraph(visible(title), style.width)]
    read = form.fields - len(form.unread) - sum(1 for x in form.gone for _ in _fields(listing, x))
    differ = "no difference" if not count else f"{count} difference{'' if count == 1 else 's'}"
    lines += paragraph(f"{read} of {form.fields} fields were read back; {differ}.", style.width)
    if form.unread:
        lines.append("")
        lines += unread(listing, form, style)
    return "\n".join(lines)


def _fields(listing: Listing, number: int) -> tuple[object, ...]:
    return next(((x, *x.fields) for x in listing.entries if x.number == number), ())


def unread(listing: Listing, form: Form, style: Style = PLAIN) -> list[str]:
    """The fields that nobody read back."""
    whole, parts = unread_entries(listing, form)
    some = [f"entry {n}: {', '.join(labels)}" for n, labels in parts]
    said = "; ".join([*([f"all of {_entries(whole)}"] if whole else []), *some])
    lead = f"NOT READ BACK YET, {len(form.unread)} of {form.fields} fields"
    if len(form.unread) == form.fields:
        return paragraph(f"{lead}: so far this says nothing of the transmitter.", style.width, rest="  ")
    return paragraph(f"{lead}: {visible(said)}. They are taken as listed here.", style.width, rest="  ")


def unread_entries(listing: Listing, form: Form) -> tuple[list[int], list[tuple[int, list[str]]]]:
    """Entries of which nothing was read back, and fields of the others."""
    whole: list[int] = []
    parts = []
    for x in listing.entries:
        labels = ["kind", *(f.label for f in x.fields)]
        missing = [label for i, label in enumerate(labels, -1) if (x.number, i) in form.unread]
        if len(missing) == len(labels):
            whole.append(x.number)
        elif missing:
            parts.append((x.number, missing))
    return whole, parts


def _entries(numbers: list[int]) -> str:
    """`entries 1 to 4, 7`."""
    spans: list[list[int]] = []
    for n in numbers:
        if spans and spans[-1][-1] == n - 1:
            spans[-1].append(n)
        else:
            spans.append([n])
    said = [str(s[0]) if len(s) == 1 else f"{s[0]} to {s[-1]}" if len(s) > 2 else f"{s[0]}, {s[1]}" for s in spans]
    return f"{'entry' if len(numbers) == 1 else 'entries'} {', '.join(said)}"


# ---------- one difference


def judged(x: Judged, number: int, listing: Listing, style: Style = PLAIN) -> str:
    title, *more = difference(x.difference, {y.number: y for y in listing.entries})
    lines = [
        style.paint(line, "strong")
        for line in paragraph(visible(title), style.width, first=f"{number:>2}. ", rest="    ")
    ]
    for text in more:
        lines += paragraph(visible(text), style.width, first="    ", rest="      ")
    if x.outcome is None:
        lines += paragraph("who wins is decided by the entry of the channel: see there", style.width, "    ", "    ")
    else:
        lines += ["", *_outcome(x.outcome, style)]
    return "\n".join(lines)


def difference(x: Difference, entries: Mapping[int, Entry]) -> tuple[str, ...]:
    """A title, and what is listed and what stands."""
    row = entries.get(x.entry)
    purpose = (f"for: {row.purpose}",) if row is not None else ()
    where = f"Entry {x.entry}"
    match x:
        case OtherValue(label=label, listed=listed, stands=stands, typed=typed):
            also = f" (read from: {typed})" if typed.casefold() != stands.casefold() else ""
            return f"{where}: {label}", *purpose, f"listed: {listed}", f"stands: {stands}{also}"
        case OtherKind(listed=listed, stands=stands):
            return f"{where}: its kind", *purpose, f"listed: {listed}", f"stands: {stands}"
        case NoField(label=label, listed=listed):
            return f"{where}: {label} is not there", *purpose, f"listed: {listed}"
        case MoreField(added=added):
            return f"{where}: {added.label} is there and not listed", *purpose, f"stands: {added.value}"
        case NoEntry():
            return f"{where}: it is not there", *purpose
        case MoreEntry(added=added, behind=behind):
            fields = "; ".join(f"{f.label} {f.value}" for f in added.fields)
            return f"{where}: it is there and not listed", f"stands {_behind(behind)}: {added.kind}; {fields}"
        case Moved(behind=behind):
            return f"{where}: it stands elsewhere", *purpose, f"stands {_behind(behind)}"
        case _:
            assert_never(x)


def _behind(number: int) -> str:
    return f"behind entry {number}" if number else "before all others"


def _outcome(x: Outcome_, style: Style) -> list[str]:
    word, role = VERDICTS[verdict(x)]
    lines: list[str] = []
    match x:
        case Harmless():
            said = f"{word}: whatever happens, the model does exactly what the listing says (proved)"
            lines += paragraph(said, style.width, "    ", "      ")
        case Holds(promises=promises, asked=asked, outputs=outputs, hazards=hazards, amiss=amiss):
            which = f"; it shows in {', '.join(outputs)}" if outputs else ""
            again = f"{asked} of {promises} promises were proved again, the others do not hang on it"
            lines += paragraph(f"{word}: {again}{which}", style.width, "    ", "      ")
            if amiss:
                said = f"{amiss} of {promises} are not kept, or not decided, as listed already: see the head"
                lines += paragraph(said, style.width, "      ", "      ")
            if hazards:
                lines += paragraph("nor does any known hazard come with it", style.width, "      ", "      ")
            lines += paragraph(WEAKER, style.width, "      ", "      ")
        case Dangerous(failing=failing, open=open_):
            first, *others = failing
            lines += paragraph(f"{word}: {_fails(first)}", style.width, "    ", "      ")
            if first.verdict is not None and first.machine is not None:
                story = told(first.verdict, first.machine, _narrow(style))
                lines += [f"  {_NAMELESS.sub('entry ', line)}".rstrip() for line in story]
            for text in dict.fromkeys(_fails(other) for other in others):
                if text != _fails(first):
                    lines += paragraph(f"fails as well: {text}", style.width, "      ", "        ")
            for text in dict.fromkeys(open_):
                lines += paragraph(f"not decided: {visible(text)}", style.width, "      ", "        ")
        case NotDecided(open=open_):
            lines += paragraph(
                f"{word}: do not fly on it before it is", style.width, "    ", "      ",
            )  # fmt: skip
            for text in open_:
                lines += paragraph(visible(text), style.width, "      - ", "        ")
        case NoMachine(problems=problems):
            lines += paragraph(
                f"{word}: with this the entries make no sense. Look again.", style.width, "    ", "      "
            )
            for p in problems[:5]:
                lines += paragraph(visible(problem(p)), style.width, "      - ", "        ")
        case _:
            assert_never(x)
    i = next(i for i, line in enumerate(lines) if word in line)
    lines[i] = lines[i].replace(word, style.paint(word, role), 1)
    return lines


_NAMELESS = re.compile(r"\bentry_(?=\d)")
"""Of what the rule file has no name for."""


def _narrow(style: Style) -> Style:
    return Style(style.width - 2, style.colour)


def _fails(x: Failing) -> str:
    said = visible(x.said)
    if x.hazard:
        new = " (not so as listed)" if x.before == "kept" else ""
        return f"{x.hazard}, {TITLES[x.hazard]}{new}: {said}"
    return f"a promise {BEFORE[x.before]}: {said}"


BEFORE: Mapping[str, str] = {
    "": "fails as entered",
    "kept": "is kept as listed, fails as entered",
    "fails": "fails as listed, and in another way as entered",
    "not decided": "is not decided as listed, fails as entered",
}


def problem(p: Problem) -> str:
    place = ", ".join(filter(None, (f"entry {p.entry}" if p.entry else "", p.field)))
    may = f" (what may stand there: {p.may})" if p.may else ""
    return f"{place}: {p.message}{may}" if place else f"{p.message}{may}"


# ---------- the whole


def end(x: Audit, listing: Listing, form: Form, style: Style = PLAIN) -> str:
    parts = ["\n".join(_whole(x, form, style))]
    if x.against:
        entries = {y.number: y for y in listing.entries}
        lines = ["Told differently in two places: one of the two was misread"]
        for d, other in x.against:
            title, *_ = difference(d, entries)
            lines += paragraph(f"{visible(title)}: by the other place it is {visible(other)}", style.width, "- ", "  ")
        parts.append("\n".join(lines))
    if repairs := list(_repairs(x, listing)):
        lines = [style.paint("To be as listed", "strong")]
        for text in repairs:
            lines += paragraph(visible(text), style.width, "[ ] ", "    ")
        parts.append("\n".join(lines))
    parts.append(_items("What a form cannot show, and what can", NOT_SEEN, style))
    parts.append(_items("Cautions", CAUTIONS, style))
    return "\n\n".join(filter(None, parts))


def _whole(x: Audit, form: Form, style: Style) -> Iterator[str]:
    if x.together is None:
        said = "Nothing that was read back differs from the listing."
        if not form.unread:
            said = "As listed: every field was read back, and none differs from the listing."
        yield from paragraph(said, style.width)
        return
    if len(x.each) > 1:
        yield style.paint("All differences together", "strong")
        yield from _outcome(x.together, style)
    if x.masked:
        yield from paragraph(
            "These differences hide each other: what is dangerous alone does not show with the others. Correct one of "
            "them alone, and it shows. Correct all of them.", style.width,
        )  # fmt: skip


def _repairs(x: Audit, listing: Listing) -> Iterator[str]:
    entries = {y.number: y for y in listing.entries}
    for j in x.each:
        d = j.difference
        label = label_of(d)
        match d:
            case OtherValue(listed=listed) | OtherKind(listed=listed) | NoField(listed=listed):
                yield f"entry {d.entry}, {label}: {listed}"
            case MoreField():
                yield f"entry {d.entry}: take out {label}"
            case NoEntry(purpose=purpose):
                yield f"enter entry {d.entry}: {purpose}"
            case MoreEntry():
                yield f"delete entry {d.entry}, which is not listed"
            case Moved():
                before = max((n for n in entries if n < d.entry), default=0)
                yield f"put entry {d.entry} {_behind(before)}"
            case _:
                assert_never(d)


def _items(title: str, texts: Iterable[str], style: Style) -> str:
    lines = [style.paint(title, "strong")]
    for text in texts:
        lines += paragraph(text, style.width, first="- ", rest="  ")
    return "\n".join(lines)
