"""A listing as a form: a table with one row for each field, and an empty column for what the transmitter shows.

No cell is written in a way that a spreadsheet would work out: see `readback/form_cells.py`, and grammar/FORM.md for
whoever fills it in.
"""

import csv
import io
from collections.abc import Iterator

from latchproof.listing.model import Field, Listing
from latchproof.readback.form_cells import guarded
from latchproof.readback.form_rows import COLUMNS, END, FINGERPRINT, SHEET
from latchproof.show.visible import visible

HOW = (
    "Read every field from the transmitter's screen to this form, not the other way round.",
    "The same as listed: put x under tick. Anything else: write it under as entered, with its unit.",
    "A field or entry that is not there: write missing under as entered (for an entry: at its kind).",
    "An entry too many: add rows for it with a number of its own, as listed left empty, its kind first.",
    "What is empty counts as not read back. Then: latchproof audit RULES THIS-FILE",
)


def render(listing: Listing) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in _rows(listing):
        writer.writerow([cell(text) for text in row] + [""] * (len(COLUMNS) - len(row)))
    return out.getvalue().rstrip("\n")


def cell(text: str) -> str:
    """On one line, and no formula."""
    return guarded(visible(text))


def _rows(x: Listing) -> Iterator[tuple[str, ...]]:
    yield SHEET, x.title
    yield "version", x.version
    yield "stage", x.stage
    yield "transmitter", x.on.transmitter if x.on is not None else ""
    yield FINGERPRINT, " ".join(x.fingerprint)
    yield "state", x.state
    yield from (
        ("to stop it in flight" if i == 0 else "", t) for i, t in enumerate((x.way_out.action, *x.way_out.still))
    )
    yield from (("caution", text) for text in x.cautions)
    yield from (("how to fill in", text) for text in HOW)
    yield COLUMNS
    count = 0
    for e in x.entries:
        for i, f in enumerate((Field("kind", e.kind), *e.fields)):
            count += 1
            yield str(e.number), e.purpose if i == 0 else "", f.label, f.value, f.other
    yield END, f"{len(x.entries)} entries, {count} rows"
