"""An audit as JSON, schema `latchproof.audit/1`."""

import json

from latchproof.listing.model import Listing
from latchproof.readback.audit import AsListed, Audit, Dangerous, Failing, Holds, NoMachine, NotDecided, Outcome_
from latchproof.readback.differences import (
    Difference,
    MoreEntry,
    MoreField,
    Moved,
    NoField,
    OtherKind,
    OtherValue,
    label_of,
)
from latchproof.readback.form import Form
from latchproof.show.audit import CAUTIONS, NOT_SEEN, difference, problem, unread_entries, verdict
from latchproof.show.verdicts_json import claim_row

SCHEMA = "latchproof.audit/1"
KINDS = {
    "OtherValue": "other value", "OtherKind": "other kind", "NoField": "field missing", "MoreField": "field too many",
    "NoEntry": "entry missing", "MoreEntry": "entry too many", "Moved": "moved",
}  # fmt: skip

Row = dict[str, object]


def as_json(rules: str, entered: str, listing: Listing, form: Form, kept: AsListed, found: Audit) -> str:
    whole, parts = unread_entries(listing, form)
    row: Row = {
        "schema": SCHEMA,
        "rules": rules,
        "as_entered": entered,
        "fingerprint": " ".join(listing.fingerprint),
        "listing_itself": {
            "promises": kept.promises,
            "fails": list(kept.fails),
            "not_decided": list(kept.open),
            "not_in_this_stage": list(kept.elsewhere),
        },
        "fields": form.fields,
        "not_read_back": {"count": len(form.unread), "entries": whole, "fields": [[n, labels] for n, labels in parts]},
        "differences": [_judged(j.difference, j.outcome, listing) for j in found.each],
        "together": None if found.together is None else _outcome(found.together),
        "hide_each_other": found.masked,
        "told_in_two_ways": [
            {"entry": d.entry, "field": label_of(d), "by_the_other_place": other} for d, other in found.against
        ],
        "not_seen_by_this": list(NOT_SEEN),
        "cautions": list(CAUTIONS),
    }
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps(row, indent=2, ensure_ascii=True)


def _judged(d: Difference, outcome: Outcome_ | None, listing: Listing) -> Row:
    title, *_ = difference(d, {x.number: x for x in listing.entries})
    row: Row = {"kind": KINDS[type(d).__name__], "entry": d.entry, "field": label_of(d), "said": title}
    match d:
        case OtherValue(listed=listed, stands=stands, typed=typed):
            row |= {"listed": listed, "stands": stands, "typed": typed}
        case OtherKind(listed=listed, stands=stands):
            row |= {"listed": listed, "stands": stands}
        case NoField(listed=listed):
            row |= {"listed": listed}
        case MoreField(added=added):
            row |= {"stands": added.value}
        case MoreEntry(behind=behind) | Moved(behind=behind):
            row |= {"behind": behind}
        case _:
            pass
    return row | (_outcome(outcome) if outcome is not None else {"verdict": verdict(None)})


def _outcome(x: Outcome_) -> Row:
    row: Row = {"verdict": verdict(x)}
    match x:
        case Holds(promises=promises, asked=asked, outputs=outputs, hazards=hazards, amiss=amiss):
            row |= {"promises": promises, "proved_again": asked, "shows_in": list(outputs), "hazards": hazards}
            row |= {"not_kept_as_listed": amiss}
        case Dangerous(failing=failing, open=open_):
            row |= {"fails": [_failing(f) for f in failing], "not_decided": list(open_)}
        case NotDecided(open=open_):
            row |= {"not_decided": list(open_)}
        case NoMachine(problems=problems):
            row |= {"problems": [problem(p) for p in problems]}
        case _:
            pass
    return row


def _failing(f: Failing) -> Row:
    claim = None if f.verdict is None or f.machine is None else claim_row(f.verdict, f.machine)
    return {"hazard": f.hazard, "said": f.said, "as_listed": f.before, "claim": claim}
