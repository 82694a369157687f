"""What stands on the cards: cautions first, the way out last, every channel, stage and role in its place."""

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.cards.build import build
from latchproof.cards.model import Card, Cards, Say, Step, Table, texts
from latchproof.cards.warn_only import Left
from latchproof.hazards.model import Finding, Procedure
from latchproof.hazards.report import outcomes
from latchproof.listing.plain import word
from latchproof.rules.model import Accepted
from tests.cards.cases import NAMES, cards, given, site_of
from tests.layout.test_words import DEVELOPERS_ONLY


def card(x: Cards, kind: str) -> Card:
    return next(c for c in x.cards if c.kind == kind)


def said(c: Card) -> str:
    return "\n".join(t for p in c.parts for t in (p.head, *(s for b in p.blocks for s in texts(b))) if t)


@pytest.mark.parametrize("name", NAMES)
def test_five_cards_with_pilots_words(name: str) -> None:
    x = cards(name)
    assert [c.kind for c in x.cards] == ["before-flight", "failsafe", "first-flight", "officer", "voids"]
    for c in x.cards:
        assert all(p.blocks for p in c.parts)
        names = repr(site_of(name).rules).lower()
        assert [m.group() for m in DEVELOPERS_ONLY.finditer(said(c)) if m.group().lower() not in names] == []


@pytest.mark.parametrize("name", NAMES)
def test_the_cautions_stand_on_all_of_them(name: str) -> None:
    whole = " ".join(cards(name).cautions)
    for needed in ("propeller is OFF", "failsafe", "helper beside you", "safety officer come first", "link is lost"):
        assert needed in whole


@pytest.mark.parametrize("name", NAMES)
def test_before_flight_ends_with_the_way_out(name: str) -> None:
    x = cards(name)
    last = card(x, "before-flight").parts[-1]
    assert "way out" in last.head
    assert any(x.way_out.action in t for b in last.blocks for t in texts(b))
    for text in x.way_out.still:
        assert any(f"NOT stopped by it: {text}" == t for b in last.blocks for t in texts(b))


@pytest.mark.parametrize("name", NAMES)
def test_before_flight_asks_for_each_fact_and_each_sensor(name: str) -> None:
    rules = site_of(name).rules
    text = said(card(cards(name), "before-flight"))
    for fact in rules.facts:
        assert f"\n{fact.name.replace('_', ' ')}: " in text
    for a in rules.assumptions:
        assert (a.sentence or a.text) in text


@pytest.mark.parametrize("name", NAMES)
def test_failsafe_takes_the_propeller_off_before_anything(name: str) -> None:
    c = card(cards(name), "failsafe")
    first = c.parts[0].blocks[0]
    assert isinstance(first, Say)
    assert first.warning
    assert first.text.startswith("PROPELLER OFF")
    back = [p.head for p in c.parts if "propeller goes back on" in said(replace(c, parts=(p,)))]
    assert back == [c.parts[-1].head]


@pytest.mark.parametrize("name", NAMES)
def test_failsafe_looks_at_every_channel(name: str) -> None:
    rules = site_of(name).rules
    c = card(cards(name), "failsafe")
    table = next(b for p in c.parts for b in p.blocks if isinstance(b, Table))
    assert len(table.rows) == len(rules.channels)
    looks = [b.do for p in c.parts for b in p.blocks if isinstance(b, Step) and b.do.startswith("Look at ")]
    assert len(looks) == len(rules.channels)
    for x in rules.channels:
        assert any(x.name.replace("_", " ") in t for t in looks)


@pytest.mark.parametrize("name", NAMES)
def test_every_step_that_only_a_person_can_do_stands_somewhere(name: str) -> None:
    """Dangers that no rule closes; the failsafe's own step is taken apart on its card."""
    x = cards(name)
    whole = "\n".join(map(said, x.cards))
    for p in outcomes(site_of(name)):
        if isinstance(p, Procedure) and p.hazard != "H34":
            assert p.step in whole


@pytest.mark.parametrize("name", NAMES)
def test_stages_come_in_order_and_say_how_to_break_off(name: str) -> None:
    site = site_of(name)
    c = card(cards(name), "first-flight")
    stages = [p for p in c.parts if p.head.startswith("Stage ")]
    order = sorted(site.rules.stages, key=lambda s: not s.warn_only)
    assert [p.head.split(":")[0] for p in stages] == [f"Stage {s.name.replace('_', ' ')}" for s in order]
    assert c.parts[-1].head == ("The full rules" if order else "The rules, for the first time")
    for p in (*stages, c.parts[-1]):
        whole = said(replace(c, parts=(p,)))
        assert "Break off at once when" in whole
        assert "To break off:" in whole
        assert "log is running" in whole
    if not any(s.warn_only for s in order):
        assert "no stage that only warns" in said(c)


def test_a_stage_shows_its_numbers() -> None:
    c = card(cards("mended"), "first-flight")
    high = next(p for p in c.parts if p.head.startswith("Stage high floor"))
    table = next(b for b in high.blocks if isinstance(b, Table))
    assert ("floor", "66 m", "42 m") in table.rows
    assert ("power", "45 %", "the same") in table.rows


def with_left(left: Left | None) -> str:
    g = given(site_of("mended"))
    stages = tuple(replace(s, left=left) if s.stage.warn_only else s for s in g.stages)
    return said(card(build(replace(g, stages=stages)), "first-flight"))


def test_the_warning_stage_says_what_is_proved_of_it() -> None:
    assert "NOT PROVED YET that this stage leaves every channel to you" in with_left(None)
    assert "NOT PROVED that this stage leaves these to you: motor" in with_left(Left(("elevator",), ("motor",)))
    fine = with_left(Left(("motor", "elevator"), ()))
    assert "PROVED: motor, elevator are left to you" in fine
    assert "NOT PROVED" not in fine


def test_a_motor_stop_that_is_gone_is_told_plainly() -> None:
    assert "THE MOTOR STOP OF THESE RULES IS OUT IN THIS STAGE (rule cut)" in with_left(None)


def test_the_officer_is_told_that_it_is_no_permission() -> None:
    for name in NAMES:
        first = card(cards(name), "officer").parts[0].blocks[0]
        assert isinstance(first, Say)
        assert first.warning
        assert "no permission and no approval" in first.text


def test_the_officer_reads_every_rule_that_acts() -> None:
    for name in NAMES:
        site = site_of(name)
        table = next((b for p in card(cards(name), "officer").parts for b in p.blocks if isinstance(b, Table)), None)
        rows = () if table is None else table.rows
        assert [r[0].split(" ", 1)[1] for r in rows] == [word(x.name) for x in site.acting]


def test_never_touched_is_said_only_of_what_is_out_of_reach() -> None:
    """The elevons follow sticks that are acted on before they are mixed."""
    assert "It never touches" not in said(card(cards("elevon_wing"), "officer"))
    assert "It never touches: flaps, left aileron, right aileron." in said(card(cards("brakes"), "officer"))


def test_a_length_is_told_only_where_it_is_proved() -> None:
    g = given(site_of("mended"))
    table = next(b for p in card(build(g), "officer").parts for b in p.blocks if isinstance(b, Table))
    assert [r[3] for r in table.rows] == [
        "as long as that is so: no limit is proved",
        "as long as the motor stop is in",
    ]
    g = replace(g, bounds={"climb": Fraction(71, 10)})
    table = next(b for p in card(build(g), "officer").parts for b in p.blocks if isinstance(b, Table))
    assert table.rows[0][3] == "at most 7.1 s (proved)"


def test_the_officer_reads_what_is_accepted_and_what_was_not_looked_for() -> None:
    g = given(site_of("mended"))
    text = said(card(build(g), "officer"))
    assert "accepted: the guard interferes with a launch" in text
    assert "were not looked for when this page was printed" in text
    steps = tuple(Finding(p) for p in g.procedures)
    text = said(card(build(replace(g, findings=steps)), "officer"))
    assert "left to a person, on the cards" in text
    assert "were not looked for" not in text


def test_an_accepted_danger_is_not_counted_as_proved() -> None:
    site = site_of("mended")
    seen = next(x for x in outcomes(site) if not isinstance(x, Procedure) and x.hazard == "H30")
    line = Accepted("H30", None, "a reason", span=site.rules.channels[0].span)
    text = said(card(build(replace(given(site), findings=(Finding(seen, accepted=line),))), "officer"))
    assert "Of 1 known dangers of such rules: 1 accepted." in text


def test_what_is_assumed_is_told_in_full() -> None:
    text = said(card(cards("mended"), "officer"))
    for needed in ("ASSUMED, no figure from the maker", "ASSUMED, six dives", "ASSUMED, the hedge"):
        assert needed in text


def test_only_some_cards() -> None:
    g = given(site_of("boat"))
    assert [c.kind for c in build(g, only=("officer",)).cards] == ["officer"]


FOREIGN = re.compile(r"\b(?!H\d\d\b)[A-Z]{1,3}\d+\b|[←→↑↓⇧⇩△Δ|]|\b(weight|offset|GV|CH\d|SA|SB)\b")


@pytest.mark.parametrize("name", NAMES)
def test_nothing_looks_borrowed(name: str) -> None:
    for c in cards(name).cards:
        assert FOREIGN.findall(said(c)) == []
