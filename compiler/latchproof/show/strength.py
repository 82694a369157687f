"""How much the promises say, as a pilot reads it: element by element, what nobody would notice first."""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from latchproof.rules.model import RuleSet
from latchproof.show.promises import claim
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import paragraph
from latchproof.show.visible import visible
from latchproof.show.weakenings import changed
from latchproof.show.wording import Wording
from latchproof.source import Source, Span
from latchproof.strength.report import State, Tested

SCHEMA = "latchproof.strength/1"

Sources = Mapping[str, Source]

LEADS: tuple[tuple[str, str, Role], ...] = (
    ("unnoticed", "nobody would notice if", "warning"),
    ("not decided", "not decided whether anybody would notice if", "warning"),
    ("changes nothing", "neither the model nor you could notice if", "good"),
)


def render(
    tested: Sequence[Tested], rules: RuleSet, sources: Sources, style: Style = PLAIN, *, whole: bool = False
) -> str:
    """A block for each element; `whole`: also what is noticed, and by which promise."""
    blocks = [
        "\n".join(_block(list(several), rules, sources, style, whole=whole))
        for _, several in groupby(tested, key=lambda t: (t.weakening.place.noun, t.weakening.place.name))
    ]
    return "\n".join(blocks)


def summary(tested: Sequence[Tested], style: Style = PLAIN) -> str:
    """`64 ways to weaken the rules by one step: 60 noticed, 4 that nobody would notice`."""
    count = Counter(t.state for t in tested)
    if not tested:
        return "there is nothing in the rules that could be weakened"
    kinds: tuple[tuple[State, str], ...] = (
        ("noticed", ""),
        ("unnoticed", "that nobody would notice"),
        ("not decided", ""),
        ("changes nothing", "that change nothing"),
    )
    said = [f"{count[state]} {words or state}" for state, words in kinds if count[state]]
    ways = f"{len(tested)} way{'' if len(tested) == 1 else 's'} to weaken the rules by one step"
    lines = paragraph(f"{ways}: {', '.join(said)}", style.width)
    return "\n".join(style.paint(line, "strong") for line in lines)


def _block(several: list[Tested], rules: RuleSet, sources: Sources, style: Style, *, whole: bool) -> Iterator[str]:
    w = Wording.of(rules)
    place = several[0].weakening.place
    noticed = sum(t.state == "noticed" for t in several)
    head = f"{place.noun} {visible(place.name)}: {noticed} of {len(several)} noticed"
    yield style.paint(head, "strong")
    for state, lead, role in LEADS:
        some = [t for t in several if t.state == state]
        if some:
            yield "  " + style.paint(lead, role)
        for t in some:
            yield from _one(t, w, sources, style)
    if whole and noticed:
        yield "  noticed if"
        for t in several:
            if t.state == "noticed":
                text = f"{changed(t.weakening, w)}: {_by(t, rules)}"
                yield from paragraph(visible(text), style.width, first="  - ", rest="    ")


def _by(t: Tested, rules: RuleSet) -> str:
    """The promise that notices; what is no promise of the file is the check that no two drives meet."""
    return t.by if t.by is not None and any(c.name == t.by for c in rules.claims) else "two drives would fight"


def _one(t: Tested, w: Wording, sources: Sources, style: Style) -> Iterator[str]:
    line = _line(t.weakening.span, sources)
    where = "" if line is None else f" (line {line[0]})"
    yield from paragraph(visible(changed(t.weakening, w)) + where, style.width, first="  - ", rest="    ")
    if t.open:
        yield from paragraph(f"open: {', '.join(map(visible, t.open))}", style.width, first="    ", rest="    ")
    if t.suggested is not None:
        lead = "this would notice:" if t.state == "unnoticed" else "this would:"
        yield f"    {lead}"
        yield from paragraph(visible(claim(t.suggested, w)), style.width, first="      ", rest="        ")
    elif t.state != "changes nothing":
        yield "    no simple promise was found that would"


def as_json(files: Sequence[tuple[str, RuleSet | None, Sequence[Tested], Sources]]) -> str:
    """Of each file its name and what came of each weakening."""
    rows = [
        {"file": name, "weakenings": [] if rules is None else [_row(t, Wording.of(rules), sources) for t in tested]}
        for name, rules, tested, sources in files
    ]
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps({"schema": SCHEMA, "files": rows}, indent=2, ensure_ascii=True)


def _row(t: Tested, w: Wording, sources: Sources) -> dict[str, object]:
    line = _line(t.weakening.span, sources)
    return {
        "element": t.weakening.place.name,
        "kind": t.weakening.place.noun,
        "file": t.weakening.span.source,
        "line": None if line is None else line[0],
        "column": None if line is None else line[1],
        "if": changed(t.weakening, w),
        "result": t.state,
        "noticed_by": t.by,
        "open": list(t.open),
        "suggested": None if t.suggested is None else claim(t.suggested, w),
    }


def _line(span: Span, sources: Sources) -> tuple[int, int] | None:
    return sources[span.source].place(span.start) if span.source in sources else None
