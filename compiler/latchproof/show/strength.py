"""How much the promises say, as a pilot reads it: element by element, what nobody would notice first."""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from typing import Literal

from latchproof.rules.hazards import TITLES
from latchproof.rules.model import RuleSet
from latchproof.show.promises import claim
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import paragraph
from latchproof.show.visible import visible
from latchproof.show.weakenings import changed
from latchproof.show.wording import Wording
from latchproof.source import Source, Span
from latchproof.strength.dangers import Danger
from latchproof.strength.report import State, Tested

SCHEMA = "latchproof.strength/1"

Sources = Mapping[str, Source]

Group = State | Literal["nothing while the facts hold"]

LEADS: tuple[tuple[Group, str, Role], ...] = (
    ("unnoticed", "nobody would notice if", "warning"),
    ("not decided", "not decided whether anybody would notice if", "warning"),
    ("hazard", "no promise would notice, but `latchproof hazards` would, if", "strong"),
    ("changes nothing", "neither the model nor you could notice if", "good"),
    (
        "nothing while the facts hold",
        "while the facts of the file hold, nobody could notice if",
        "good",
    ),
)


def _group(t: Tested) -> Group:
    return "nothing while the facts hold" if t.state == "changes nothing" and t.facts else t.state


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
        ("hazard", "noticed by a hazard only"),
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
    only = sum(t.state == "hazard" for t in several)
    head = f"{place.noun} {visible(place.name)}: {noticed} of {len(several)} noticed"
    head += f", {only} by a hazard only" if only else ""
    yield style.paint(head, "strong")
    for state, lead, role in LEADS:
        some = [t for t in several if _group(t) == state]
        if some:
            yield from (style.paint(line, role) for line in paragraph(lead, style.width, first="  ", rest="  "))
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
    if t.danger is not None:
        yield from paragraph(_hazard(t.danger), style.width, first="    ", rest="      ")
        return
    if t.beyond:
        yield "    it is there for when they do not"
    if undecided := [*map(visible, t.open), *(f"hazard {d.hazard}" for d in t.dangers)]:
        yield from paragraph(f"open: {', '.join(dict.fromkeys(undecided))}", style.width, first="    ", rest="    ")
    if t.suggested is not None:
        lead = "this would notice:" if t.state == "unnoticed" else "this would:"
        yield f"    {lead}"
        yield from paragraph(visible(claim(t.suggested, w)), style.width, first="      ", rest="        ")
    elif t.state != "changes nothing":
        yield "    no simple promise was found that would"


def _hazard(d: Danger) -> str:
    """`hazard H12 (climb): switching off does not give the model back at once`."""
    about = f" ({visible(d.about)})" if d.about else ""
    return f"hazard {d.hazard}{about}: {TITLES[d.hazard]}"


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
        "hazard": None if t.danger is None else _danger(t.danger),
        "open": list(t.open),
        "open_hazards": [_danger(d) for d in t.dangers],
        "while_the_facts_hold": t.facts,
        "matters_when_they_do_not": t.beyond,
        "suggested": None if t.suggested is None else claim(t.suggested, w),
    }


def _danger(d: Danger) -> dict[str, str]:
    return {"hazard": d.hazard, "about": d.about, "what": d.said}


def _line(span: Span, sources: Sources) -> tuple[int, int] | None:
    return sources[span.source].place(span.start) if span.source in sources else None
