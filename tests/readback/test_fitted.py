"""Every example on each built-in transmitter: a listing proved to do what the rules do, or why it does not fit."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest

from latchproof.fit.fit import fit
from latchproof.fit.words import misfit
from latchproof.listing import build
from latchproof.prove.verdicts import Answer, Verdict
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Equal, compared
from latchproof.readback.pair import pair
from latchproof.readback.raised import raised
from latchproof.readback.sheet import as_shown, fitted_into, on_device
from latchproof.rules import RuleSet
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.model import Hand, Has
from tests.listing.cases import EXAMPLES, load


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers() as made:
        yield made


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_listing_or_why_not(path: Path, name: str, workers: Workers) -> None:
    case, t = load(path), generic(name)
    fitted = fitted_into(case, t)
    if fitted.misfits:
        assert all(len(misfit(x)) > 20 for x in fitted.misfits)
        return
    there = as_shown(fitted.rules, t)
    listing = build(there, None, "", t, case)
    back = raised(listing.entries, there, t)
    assert isinstance(back, RuleSet), back
    both = pair(fitted.rounded, back)
    # Most are the same step by step, which takes no solver; with it they are proved by the command's own tests.
    assert both.settled or isinstance(compared(both, workers, 200), Equal)
    told = on_device(listing, t, case, fitted, "").on
    assert told is not None
    assert len(told.rounded) == len(fitted.roundings)


def test_most_fit_somewhere() -> None:
    fits = {p.stem for p in EXAMPLES for name in NAMES if not fitted_into(load(p), generic(name)).misfits}
    assert len(fits) == len(EXAMPLES)


THROTTLE_CUT = next(p for p in EXAMPLES if p.stem == "throttle_cut")


@pytest.mark.parametrize("answer", get_args(Answer))
def test_what_to_find_out_is_told_where_promises_are_not_proved(answer: Answer) -> None:
    case, t = load(THROTTLE_CUT), replace(generic("typical"), unknown=frozenset({"reads"}), starts="any")
    fitted = fitted_into(case, t)
    verdicts = tuple(Verdict(c.name, answer, "", 0.0) for c in case.claims)
    told = on_device(build(as_shown(fitted.rules, t), verdicts, "", t, case), t, case, fitted, "").on
    assert told is not None
    if answer == "proved":
        assert not told.to_do
        return
    assert "does not say" in told.to_do[0]
    assert [x.split(",")[0] for x in told.to_do[:2]] == ["`reads`", "`starts`"]
    assert any("--every-device" in x for x in told.to_do)


def test_what_stops_the_motor_stays_until_the_listing_is_tried() -> None:
    cut = Has("throttle cut", "old cut", (1, 2), ())
    case, t = load(THROTTLE_CUT), replace(generic("typical"), has=(cut,))
    fitted = fitted_into(case, t)
    told = on_device(build(as_shown(fitted.rules, t), None, "", t, case), t, case, fitted, "").on
    assert told is not None
    (kept,) = told.instead
    assert kept.startswith("old cut: keep it until every promise of this list is proved")
    assert "before the entries" not in kept


def test_what_the_description_knows_of_hands_is_only_to_be_confirmed() -> None:
    lever = Hand("switch", "big lever", ("away", "middle", "towards"), serves="motor_stop", means=(("run", "away"),))
    case, t = load(THROTTLE_CUT), replace(generic("typical"), hands=(lever,))
    there = as_shown(fitted_into(case, t).rules, t)
    stop = next(f for f in build(there, None, "", t, case).fill_in_first if f.subject.startswith("motor stop")).asks
    assert [a.question for a in stop[:3]] == ["is big lever", '"run" is away', '"stop" is']
    assert stop[0].choices == stop[1].choices == ("yes", "no: ________")
    assert stop[2].choices == ("away", "towards")
    before = next(f for f in build(there).fill_in_first if f.subject.startswith("motor stop")).asks
    assert before[0].question == "is"


def test_an_entry_that_reads_a_later_one_is_completed_afterwards() -> None:
    for name, said in (("rich", False), ("small", True)):
        t = generic(name)
        listing = build(as_shown(fit(load(THROTTLE_CUT), t).rules, t), None, "", t)
        ahead = [e.number for e in listing.entries if any(r.entry > e.number for r in e.reads if r.when == "earlier")]
        assert bool(ahead) == said
        told = [x for x in listing.reading if "further down: leave that input empty" in x]
        assert [[int(n) for n in re.findall(r"\d+", x)] for x in told] == ([ahead] if ahead else [])
