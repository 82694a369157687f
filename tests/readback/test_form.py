"""The form is written so that no spreadsheet works anything out, and read in whatever way hands and spreadsheets
write it; what cannot be read is refused with its place and what to do."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.fit.fit import fit
from latchproof.listing import build
from latchproof.readback.form import Form, form
from latchproof.readback.form_cells import ACTING, bare, guarded
from latchproof.readback.form_table import MOST_BYTES, Refused
from latchproof.readback.sheet import as_shown
from latchproof.rules import RuleSet
from latchproof.show import listing_csv, listing_text
from latchproof.show.visible import visible
from latchproof.transmitter.generic import NAMES, generic
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules
from tests.readback.forms import (
    AS_ENTERED,
    ENTRY,
    FIELD,
    LISTED,
    Table,
    entering,
    guard,
    is_field,
    leaving_out,
    read,
    refused,
    table,
    text,
    ticked,
)  # fmt: skip

CASES = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]
_, LISTING = guard()
FIELDS = [(x.number, label) for x in LISTING.entries for label in ("kind", *(f.label for f in x.fields))]


# ---------- written


def cells_of(written: str) -> list[str]:
    """As every program might cut the text into cells, whatever it takes for a separator."""
    found: list[str] = []
    for separator in (",", ";", "\t", "|"):
        found += [c for row in csv.reader(io.StringIO(written), delimiter=separator) for c in row]
        found += [c for line in written.splitlines() for c in line.split(separator)]
    return found


@pytest.mark.parametrize("case", CASES)
def test_no_cell_is_a_formula(case: RuleSet) -> None:
    cells = cells_of(listing_csv.render(build(case)))
    assert len(cells) > 500
    assert [c for c in cells if c.lstrip(' "')[:1] in tuple(ACTING) or c[:1] in ("\t", "\r")] == []


@given(st.text(st.one_of(st.characters(), st.sampled_from("=+-@'\";,|\t\r\n ")), max_size=40))
@settings(max_examples=300, deadline=None)
def test_any_text_is_written_safely_and_reads_back(said: str) -> None:
    cell = listing_csv.cell(said)
    row = text([["1", cell, "end"]]).rstrip("\n")
    for found in cells_of(row):
        assert found.lstrip(' "')[:1] not in tuple(ACTING), (cell, found)
        assert found[:1] not in ("\t", "\r", "\n")
    assert bare(next(csv.reader(io.StringIO(row)))[1]) == visible(said)


def test_a_negative_number_stays_readable() -> None:
    assert guarded("-5 %") == "'-5 %"
    assert bare("'-5 %") == bare("-5 %") == "-5 %"
    assert guarded("a - b") == "a - b"


# ---------- read: nothing changed, and everything typed again


@pytest.mark.parametrize("case", CASES)
def test_untouched_it_says_nothing_and_differs_in_nothing(case: RuleSet) -> None:
    listing = build(case)
    for written in (listing_csv.render(listing), listing_text.render(listing)):
        found = read(written, listing)
        assert (found.changed, found.absent, found.gone, found.more_fields, found.more_entries) == (
            {}, frozenset(), (), (), (),
        )  # fmt: skip
        assert len(found.unread) == found.fields
        assert found.order == tuple(x.number for x in listing.entries)


def spoken(rows: Table, change: object) -> Table:
    """Every value typed again under "as entered"."""
    assert callable(change)
    return [[*r[:AS_ENTERED], change(bare(r[LISTED])), ""] if is_field(r) else r for r in rows]


def shouted(value: str) -> str:
    """Upper case, a comma as decimal sign, another minus, other spaces; texts in quotes stay."""
    if '"' in value:
        return value
    return value.upper().replace(".", ",").replace("-", "\u2212").replace(" ", "\u00a0")


def tight(value: str) -> str:
    return value.replace(" %", "%").replace(" s", "s") if value[:1].isdigit() else f"  {value} "


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("change", [str, shouted, tight])
def test_typed_again_it_is_as_listed(case: RuleSet, change: object) -> None:
    listing = build(case)
    found = read(text(spoken(table(listing), change)), listing)
    assert (found.changed, found.unread) == ({}, frozenset())


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("case", CASES)
def test_on_each_transmitter(case: RuleSet, name: str) -> None:
    """Its units and numbers are read as they are written."""
    transmitter = generic(name)
    fitted = fit(case, transmitter)
    if fitted.misfits:
        return
    listing = build(as_shown(fitted.rules, transmitter), None, "", transmitter, case)
    for data in (listing_csv.render(listing), listing_text.render(listing), text(spoken(table(listing), shouted))):
        found = read(data, listing)
        assert (found.changed, found.gone) == ({}, ())


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_as_spreadsheets_save_it(separator: str, end: str, code: str) -> None:
    rows = entering({(1, "is"): "BELOW 45,5 m", (9, "value"): "\u22125 %" if code != "cp1252" else "\u20135 %"})(
        table(LISTING)
    )
    found = read(text(rows, separator, end).encode(code), LISTING)
    assert found.changed == {(1, 1): "BELOW 45.5 m"}
    assert not found.unread


# ---------- read: one field

ONE = [
    (1, "is", "above 30 m", "ABOVE 30 m"),
    (1, "is", "< 3 m", "BELOW 3 m"),
    (1, "is", "BELOW 30 ft", "BELOW 30 ft"),
    (1, "is", "below 30m", None),
    (1, "is", "below 30,0 m", None),
    (2, "is", "BELOW 6", "BELOW 6 %"),
    (2, "compare", "Pitch Stick", "pitch stick"),
    (3, "kind", "any of these (or)", "ANY of these (or)"),
    (3, "input 1", "1 true", None),
    (3, "input 1", "Entry 2 TRUE", "entry 2 true"),
    (3, "input 2", "guard switch not at on", "guard switch NOT at on"),
    (4, "true after", "0,2", "0.2 s"),
    (4, "true after", "200 ms", "200 ms"),
    (4, "true after", "2000 ms", None),
    (4, "true after", ".2 s", "0.2 s"),
    (5, "watch", "entry 6 true", None),
    (5, "watch", "entry 4 true", "entry 4 true"),
    (6, "both at once", "SET WINS", "set wins"),
    (6, "time-out", "None", "none"),
    (7, "acts on", "3", "channel 3 (elevator), the output"),
    (7, "acts on", "channel 1", None),
    (7, "begins", "at  once", "at once"),
    (9, "value", "'-5 %", None),
    (9, "value", "+5 %", "5 %"),
    (10, "says", "Climb", None),
    (10, "says", "descend", '"descend"'),
    (10, "repeated", "every 30 s", "every 30 s"),
    (11, "then replaced by", "8, 7", "entry 8, entry 7"),
    (12, "lower end", "\u2212100%", None),
    (13, "once stale", "MUST READ 0 m", "must read 0 m"),
    (13, "shows", "-20 m to 400 m", None),
]


@pytest.mark.parametrize(("number", "label", "said", "stands"), ONE)
def test_one_field(number: int, label: str, said: str, stands: str | None) -> None:
    found = read(text(entering({(number, label): said})(table(LISTING))), LISTING)
    assert list(found.changed.values()) == ([] if stands is None else [stands])
    assert not found.unread


@pytest.mark.parametrize("word", ["ok", "Same", "as listed", "\N{CHECK MARK}", "x"])
def test_words_for_the_same(word: str) -> None:
    found = read(text(entering(dict.fromkeys(FIELDS[:5], word))(table(LISTING))), LISTING)
    assert (found.changed, found.unread) == ({}, frozenset())


def test_in_place() -> None:
    """The listed column, or the text, may be changed instead."""
    rows = [["8", *r[1:LISTED], "10 %", *r[LISTED + 1 :]] if r[ENTRY] == "8" and r[FIELD] == "value" else r
            for r in table(LISTING)]  # fmt: skip
    assert list(read(text(rows), LISTING).changed.values()) == ["10 %"]
    written = listing_text.render(LISTING)
    changed = written.replace("BELOW 30 m (98 ft)", "BELOW 3,5 m (11 ft)").replace("  4 [ ] ", "  4 [x] ")
    found = read(changed, LISTING)
    assert list(found.changed.values()) == ["BELOW 3.5 m"]
    assert {n for n, _ in found.unread} == {x.number for x in LISTING.entries} - {4}


def test_what_is_missing_is_said_so() -> None:
    found = read(text(entering({(8, "kind"): "missing", (6, "or reset when"): "Not there"})(table(LISTING))), LISTING)
    assert (found.gone, found.absent) == ((8,), frozenset({(6, 2)}))
    assert read(text(leaving_out(8)(table(LISTING))), LISTING).gone == (8,)


# ---------- refused


def test_a_formula_is_refused_with_its_place() -> None:
    for said in ("=1+1", "@SUM(A1)", "+A1", "-2+3+cmd|' /C calc'!A0", "=HYPERLINK(1)", "\uff1d1+1"):
        rows = entering({(4, "true after"): said})(table(LISTING))
        found = refused(text(rows), LISTING)
        line = next(i for i, r in enumerate(rows, 1) if r[ENTRY] == "4" and r[FIELD] == "true after")
        assert (found.line, found.column) == (line, "as entered")
        assert "formula" in found.message
        assert found.repair


OTHER = build(
    rules(
        "switch guard positions off, on\nchannel motor 1 { rests at 0 % from 0 % to 100 % }\n"
        "rule r while guard is on { drive motor to 9 % }"
    )
)
WRONG: list[tuple[str, str, str]] = [
    ("another listing", text(table(OTHER)), "another listing"),
    ("no words", text(r for r in table(LISTING) if r[ENTRY] != "fingerprint"), "which listing"),
    ("cut at the end", text(table(LISTING)[:-4]), "end of the form"),
    ("a row cut", text(leaving_out(4, "true after")(table(LISTING))), "entry 4, true after: this row is missing"),
    ("a row twice", text([*table(LISTING)[:30], table(LISTING)[29], *table(LISTING)[30:]]), "stands here twice"),
    ("an unknown entry", text([["77", *r[1:]] if r[ENTRY] == "9" else r for r in table(LISTING)]), "no entry 77"),
    ("an unknown field", text([[*r[:2], "treu after", *r[3:]] if r[FIELD] == "true after" else r
                               for r in table(LISTING)]), "no field `treu after`"),
    ("two places", text([*(t := table(LISTING))[:24], t[40], *t[24:40], *t[41:]]), "two places"),
    ("no number", text([["", *r[1:]] if r[ENTRY] == "9" else r for r in table(LISTING)]), "no number of an entry"),
    ("a strange tick", text([[*r[:6], "no idea"] if is_field(r) else r for r in table(LISTING)]), "no tick"),
    ("no table", "hello\nworld\n", "no form"),
    ("empty", "", "empty"),
    ("two columns", text([[*r, "as entered"] if r[ENTRY] == "entry" else r for r in table(LISTING)]), "two columns"),
    ("a quotation mark", listing_csv.render(LISTING).replace("\n4,", '\n4,"', 1), ""),
    ("unit", text(entering({(1, "is"): "BELOW 30"})(table(LISTING))), "in which unit"),
    ("thousands", text(entering({(4, "true after"): "1,500 s"})(table(LISTING))), "two ways"),
    ("a stick that is none", text(entering({(3, "input 1"): "entry"})(table(LISTING))), "no state"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "said"), [pytest.param(d, s, id=name) for name, d, s in WRONG])
def test_refused(data: str, said: str) -> None:
    found = refused(data, LISTING)
    assert said in found.message
    assert found.repair


def test_rubbish_and_size() -> None:
    assert "not text" in refused(b"PK\x03\x04\x00\x00rubbish", LISTING).message
    assert "not text" in refused(bytes(range(256)) * 4, LISTING).message
    assert "bytes" in refused(b"x" * (MOST_BYTES + 1), LISTING).message
    assert "rows" in refused(text([*table(LISTING), *[["9"]] * 30_000]), LISTING).message
    assert refused(text(entering({(4, "true after"): "9" * 1_999})(table(LISTING))), LISTING).repair
    assert refused(text(entering({(4, "true after"): "9" * 2_001})(table(LISTING))), LISTING).repair


# ---------- never a fault

EDITS = st.lists(
    st.tuples(
        st.integers(0, 110), st.integers(0, 6),
        st.one_of(
            st.text(max_size=30),
            st.sampled_from(["8", "kind", "", "missing", "entry 4 true", "99999999999 m", "-5", "BELOW",
                             "ALL of these (and)", "1,5 s", "entry 99 true", "3 passes", "none", "=1", "at once", "0"]),
        ),
    ), min_size=1, max_size=6,
)  # fmt: skip


@given(EDITS, st.sampled_from([",", ";", "\t"]), st.booleans())
@settings(max_examples=150, deadline=None)
def test_whatever_is_typed_is_read_or_refused(
    edits: list[tuple[int, int, str]], separator: str, all_ticked: bool
) -> None:
    rows = [list(r) for r in (ticked(table(LISTING)) if all_ticked else table(LISTING))]
    for i, k, said in edits:
        rows[i % len(rows)][k] = said
    check(form(text(rows, separator).encode("utf-8", "replace"), LISTING))


@given(st.binary(max_size=300))
@settings(max_examples=100, deadline=None)
def test_whatever_bytes(data: bytes) -> None:
    check(form(data, LISTING))


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 40), st.text(max_size=8)), max_size=5))
@settings(max_examples=60, deadline=None)
def test_whatever_is_done_to_the_text(edits: list[tuple[int, int, str]]) -> None:
    written = listing_text.render(LISTING)
    for at, length, said in edits:
        at %= len(written)
        written = written[:at] + said + written[at + length :]
    check(form(written.encode("utf-8", "replace"), LISTING))


def check(found: Form | tuple[Refused, ...]) -> None:
    if isinstance(found, tuple):
        assert found
        assert all(x.message for x in found)
