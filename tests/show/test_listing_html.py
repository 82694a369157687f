"""A listing as a page: well-formed, whole, in the order of the text, with nothing in it that could act."""

import re

import pytest

from latchproof.listing.build import build
from latchproof.listing.model import Listing
from latchproof.rules import RuleSet
from latchproof.show import listing_html, listing_text
from latchproof.show.visible import visible
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules
from tests.show.pages import Page, find_in_order, flat, read
from tests.show.test_listing import HOSTILE, hostile

CASES = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]


def body(x: Listing) -> list[str]:
    """What a listing says, in the order in which its text says it."""
    found = [x.way_out.action, *x.way_out.still, *x.way_out.more, x.way_out.stop, x.state]
    found += [f"{f.text} ({f.standing})" for f in x.proved_if]
    found += [a.reason for a in x.accepted]
    found += x.cautions
    for f in x.fill_in_first:
        found += [f.subject, *(t for a in f.asks for t in (a.question, *a.choices))]
    found += x.reading
    for t in x.tunables:
        found += [t.name, t.value, t.allowed]
    for e in x.entries:
        found += [e.purpose, e.kind]
        for field in e.fields:
            found += [field.label, field.value]
        found += [e.start]
    for u in x.untouched:
        found += [u.channel, *(t for f in u.has for t in (f.label, f.value))]
    found += [*x.empty_rows, *x.discover]
    found += [s.text for s in x.sounds]
    found += x.left_out
    found += [*x.flight_phases, *x.voids]
    return [t for t in found if t and "________" not in t]


@pytest.mark.parametrize("case", CASES)
def test_its_structure(case: RuleSet) -> None:
    page = read(listing_html.render(build(case)))
    page.assert_sound()
    assert page.levels[0] == 1
    assert page.levels.count(1) == 1


@pytest.mark.parametrize("case", CASES)
def test_it_reads_in_the_order_of_the_text(case: RuleSet) -> None:
    """The page's head stands once before it, as on paper; then everything in its order, in both."""
    listing = build(case)
    texts = body(listing)
    page = read(listing_html.render(listing)).text
    assert find_in_order(page[page.index(flat(listing.title)) :], texts) is None
    assert find_in_order(flat(listing_text.render(listing)), texts) is None


@pytest.mark.parametrize("case", CASES)
def test_nothing_of_the_entries_is_left_out(case: RuleSet) -> None:
    listing = build(case)
    text = read(listing_html.render(listing)).text
    for e in listing.entries:
        for f in e.fields:
            for part in (f.label, f.value, f.other, f.words):
                assert flat(part.replace("________", " ")) in text


@pytest.mark.parametrize("case", CASES)
def test_what_stands_on_every_sheet(case: RuleSet) -> None:
    listing = build(case)
    page = read(listing_html.render(listing))
    for needed in (listing.title, listing.way_out.action, listing.state, *listing.fingerprint):
        assert flat(needed) in page.head
    for f in listing.proved_if:
        if f.standing.startswith("ASSUMED"):
            assert flat(f"{f.text} ({f.standing})") in page.head
    for needed in ("propeller is OFF", "failsafe", "helper", "safety officer", "link is lost"):
        assert needed in page.foot


@pytest.mark.parametrize("text", HOSTILE)
def test_a_strangers_text_stays_text(text: str) -> None:
    made = listing_html.render(hostile(text))
    page = read(made)
    page.assert_sound()
    assert flat(visible(text)) in page.text
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e\u2028\u2029]", made)


def test_a_box_for_each_entry() -> None:
    listing = build(load(EXAMPLES[0]))
    page: Page = read(listing_html.render(listing))
    heads = [h for h in page.headings if re.match(r"\d+\. ", h)]
    assert len(heads) == len(listing.entries)
    assert page.boxes_in_h3 == len(listing.entries)
