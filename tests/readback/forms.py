"""Forms filled in by hand, for the tests: the written form of a listing with some fields changed."""

import csv
import io
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from latchproof.listing import build
from latchproof.listing.model import Listing
from latchproof.readback.form import Form, form
from latchproof.readback.form_table import Refused
from latchproof.rules import RuleSet
from latchproof.show import listing_csv
from tests.listing.cases import load

ENTERED = Path(__file__).parent / "entered"
RULES = ENTERED / "guard.latch"
ENTRY, FIELD, LISTED, AS_ENTERED, TICK = 0, 2, 3, 5, 6

Table = list[list[str]]
Change = Callable[[Table], Table]


def guard() -> tuple[RuleSet, Listing]:
    rules = load(RULES)
    return rules, build(rules)


def table(listing: Listing) -> Table:
    return list(csv.reader(io.StringIO(listing_csv.render(listing))))


def text(rows: Iterable[Iterable[str]], separator: str = ",", end: str = "\n") -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=end).writerows(rows)
    return out.getvalue()


def is_field(row: list[str]) -> bool:
    return row[ENTRY].isdigit()


def ticked(rows: Table) -> Table:
    """Everything read back and as listed."""
    return [[*r[:TICK], "x"] if is_field(r) else r for r in rows]


def entering(values: Mapping[tuple[int, str], str]) -> Change:
    """Under "as entered" of some fields; of all others a tick."""

    def change(rows: Table) -> Table:
        left = dict(values)
        out = []
        for r in ticked(rows):
            said = left.pop((int(r[ENTRY]), r[FIELD]), None) if is_field(r) else None
            out.append(r if said is None else [*r[:AS_ENTERED], said, ""])
        assert not left
        return out

    return change


def moving(number: int, before: int) -> Change:
    """The rows of an entry put before those of another."""

    def change(rows: Table) -> Table:
        mine = [r for r in rows if r[ENTRY] == str(number)]
        rest = [r for r in ticked(rows) if r[ENTRY] != str(number)]
        at = next(i for i, r in enumerate(rest) if r[ENTRY] == str(before))
        return rest[:at] + ticked(mine) + rest[at:]

    return change


def adding(after: int, rows_added: Iterable[tuple[int, str, str]]) -> Change:
    """Rows that the listing does not have, behind those of an entry: number, field, what stands there."""

    def change(rows: Table) -> Table:
        made = [[str(n), "", label, "", "", said, ""] for n, label, said in rows_added]
        rows = ticked(rows)
        at = max(i for i, r in enumerate(rows) if r[ENTRY] == str(after)) + 1
        return rows[:at] + made + rows[at:]

    return change


def leaving_out(number: int, label: str = "") -> Change:
    """Without the rows of an entry, or one of them."""

    def change(rows: Table) -> Table:
        return [r for r in ticked(rows) if r[ENTRY] != str(number) or (label and r[FIELD] != label)]

    return change


def read(data: str | bytes, listing: Listing) -> Form:
    found = form(data.encode() if isinstance(data, str) else data, listing)
    assert isinstance(found, Form), found
    return found


def refused(data: str | bytes, listing: Listing) -> Refused:
    found = form(data.encode() if isinstance(data, str) else data, listing)
    assert isinstance(found, tuple), found
    return found[0]
