"""What was found of each hazard as JSON, schema `latchproof.hazards/1`.

An edit says which characters of which file are replaced (`start` and `end`, counted from 0) and by what; traces are
those of `latchproof.verdicts/1`.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import assert_never

from latchproof.hazards.model import Check, Edit, Finding, NotApplicable, NotNamed, Procedure, Remedy, Seen
from latchproof.rules.hazards import TITLES
from latchproof.rules.model import Accepted
from latchproof.show.hazards import state, worst
from latchproof.show.verdicts_json import Row, claim_row
from latchproof.source import Source

SCHEMA = "latchproof.hazards/1"


def as_json(
    name: str, found: Iterable[Sequence[Finding]], unneeded: Iterable[Accepted], sources: Mapping[str, Source]
) -> str:
    """Of one file; `found` are the findings of each hazard."""
    rows = [
        {
            "number": several[0].hazard,
            "title": TITLES[several[0].hazard],
            "state": worst(several),
            "findings": [_finding(f, sources) for f in several],
        }
        for several in found
    ]
    spare = [{"hazard": a.hazard, "in": a.rule, "reason": a.reason} for a in unneeded]
    whole = {"schema": SCHEMA, "file": name, "hazards": rows, "unneeded": spare}
    return json.dumps(whole, indent=2, ensure_ascii=True)


def _finding(f: Finding, sources: Mapping[str, Source]) -> Row:
    row: Row = {
        "state": state(f),
        "in": f.about or None,
        "accepted": None if f.accepted is None else {"reason": f.accepted.reason, "in": f.accepted.rule},
    }
    match f.outcome:
        case Check(variant=variant, remedies=remedies):
            assert f.verdict is not None
            assert f.machine is not None
            row["variant"] = variant or None
            row["promise"] = None if f.outcome.claim is None else f.outcome.claim.sentence
            row["verdict"] = claim_row(f.verdict, f.machine)
            row["remedies"] = [_remedy(r, sources) for r in remedies]
            if f.otherwise is not None:
                row["otherwise"] = {"hazard": f.otherwise.hazard, **_finding(f.otherwise, sources)}
        case Seen(said=said, remedies=remedies):
            row["said"] = said
            row["remedies"] = [_remedy(r, sources) for r in remedies]
        case NotApplicable(why=why):
            row["why"] = why
        case NotNamed(missing=missing, add=add):
            row["missing"], row["add"] = missing, add
        case Procedure(step=step, when=when):
            row["step"], row["when"] = step, when
        case _:
            assert_never(f.outcome)
    return row


def _remedy(remedy: Remedy, sources: Mapping[str, Source]) -> Row:
    return {"said": remedy.said, "edits": [_edit(x, sources) for x in remedy.edits]}


def _edit(edit: Edit, sources: Mapping[str, Source]) -> Row:
    span = edit.span
    line, column = sources[span.source].place(span.start)
    place: Row = {"file": span.source, "line": line, "column": column, "start": span.start, "end": span.end}
    return {"said": edit.said, **place, "text": edit.text}
