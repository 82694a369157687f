"""The bench test's card as a page: all of it, in the order of its text, and nothing in it that could act."""

import re

import pytest

from latchproof.bench.card import Card, CardStep, Look, PutBack, SlipLine, Totals
from latchproof.show import bench_html, bench_text
from latchproof.show.visible import visible
from tests.show.pages import find_in_order, flat, read
from tests.show.test_listing import HOSTILE


def card(text: str = "a text") -> Card:
    """One of each, with this text wherever a stranger can put one."""
    slip = SlipLine(3, f"entry 3, value: 9 m instead of 6 m, {text}", ("read back",))
    return Card(
        text, text, text, ("walnut", "kettle"), "a substitute", ("PROPELLER OFF. Really.", f"Hold it, {text}"),
        (f"entry 2, compare: a knob, {text}",), (f"guard is off, {text}",),
        (
            CardStep(1, f"guard to on, {text}", "wait 2 s", (f"motor to 45 %, {text}", "a tone"), (Look(4, ("is",)),)),
            CardStep(2, f"guard to off, {text}", "wait 1 s", ("motor goes to 0 %",), (Look(0, ()),)),
        ),
        (PutBack(f"entry 2, compare: the height again, {text}", 2),), (slip,), (slip,), (), ("a row skipped",), (slip,),
        Totals(9, 5, 1, 1, 1, 1, 2, 7, None, 1),
    )  # fmt: skip


def told(x: Card) -> list[str]:
    found = [x.first[0], bench_text.counted(x), *x.first[1:], *x.substitute, *x.start]
    for s in x.steps:
        found += [f"{s.do}; {s.wait}", "; ".join(s.expect), bench_text.looks(s.if_not)]
    found += [bench_text.VOID, *(b.text for b in x.put_back), *bench_text.LAST]
    return [*found, *(s.text for s in (*x.not_here, *x.nothing_today)), *x.otherwise, *(s.text for s in x.by_nothing)]


def test_it_is_sound_and_in_the_order_of_the_text() -> None:
    x = card()
    page = read(bench_html.render(x))
    page.assert_sound()
    assert page.levels.count(1) == 1
    body = page.text[page.text.index("Bench test: ", len(page.head)) :]
    assert find_in_order(body, told(x)) is None
    assert find_in_order(flat(bench_text.render(x)), told(x)) is None


def test_propeller_off_stands_on_every_sheet_and_before_anything() -> None:
    page = read(bench_html.render(card()))
    assert "PROPELLER OFF" in page.head
    assert "walnut kettle" in page.head
    assert bench_text.VOID in page.foot
    assert page.text.index("PROPELLER OFF") < page.text.index("guard to on")


@pytest.mark.parametrize("text", HOSTILE)
def test_a_strangers_text_stays_text(text: str) -> None:
    made = bench_html.render(card(text))
    page = read(made)
    page.assert_sound()
    assert flat(visible(text)) in page.text
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f\u202a-\u202e\u2028\u2029]", made)
