"""The bench test shows what it claims to show, needs every step, and says what it cannot show."""

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.bench.can_do import Way
from latchproof.bench.card import PROPELLER, Card, card
from latchproof.bench.flown import flown
from latchproof.bench.observe import Sight
from latchproof.bench.position import shown_by
from latchproof.bench.trial import Trial, copies, trial
from latchproof.listing import build
from latchproof.prove.workers import Workers
from latchproof.rules import RuleSet
from tests.bench.played import noticed
from tests.layout.house import ROOT

CUT = ROOT / "examples/throttle_cut/throttle_cut.latch"
GUARD = ROOT / "examples/floor_guard/first_attempt.latch"
MENDED = ROOT / "examples/floor_guard/mended.latch"


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers() as made:
        yield made


def rules_of(path: Path) -> RuleSet:
    rules = pipeline.check(str(path)).rules
    assert rules is not None
    return rules


TRIALS: dict[tuple[Path, str], tuple[Trial, Card]] = {}


def tried(path: Path, way: str, workers: Workers) -> tuple[Trial, Card]:
    if (path, way) not in TRIALS:
        TRIALS[path, way] = made(path, way, workers)
    return TRIALS[path, way]


def made(path: Path, way: str, workers: Workers) -> tuple[Trial, Card]:
    rules = rules_of(path)
    listing = build(rules, None, "")
    c = copies(rules, listing.entries)
    ways = {s.name: Way(way, Fraction(5)) for s in rules.sensors}  # type: ignore[arg-type]
    t = trial(c, listing.entries, ways, Sight(), workers, seconds=5, at_once=2)
    unseen = {n: r for n, (f, r) in enumerate(zip(t.fates, c.rules, strict=True))
              if f.state in ("unseen", "not decided") and not isinstance(r, str)}  # fmt: skip
    return t, card(listing, rules, t, ways, flown(c.right, unseen))


CASES = [(CUT, "knob"), (GUARD, "knob"), pytest.param(MENDED, "knob", marks=pytest.mark.long)]


@pytest.mark.parametrize(("path", "way"), CASES)
def test_the_interpreter_sees_every_slip_that_is_called_shown(path: Path, way: str, workers: Workers) -> None:
    t, _ = tried(path, way, workers)
    assert noticed(t, 0) is None
    missed = [
        t.fates[n].slip for k, n in enumerate(t.machines, 1) if t.fates[n].state == "shown" and noticed(t, k) is None
    ]
    assert missed == []
    assert sum(f.state == "shown" for f in t.fates) > len(t.fates) // 2


@pytest.mark.parametrize(("path", "way"), CASES)
def test_no_step_can_be_left_out(path: Path, way: str, workers: Workers) -> None:
    t, _ = tried(path, way, workers)
    steps = [d.step for d in t.steps]
    shown = [k for k, n in enumerate(t.machines, 1) if t.fates[n].state == "shown"]
    for k in range(len(steps)):
        _, found = t.table.all(steps[:k] + steps[k + 1 :], shown)
        assert len(shown_by(found, len(t.table.manners))) < len(shown), steps[k]


@pytest.mark.parametrize("way", ["stuck", "knob"])
def test_every_slip_is_shown_by_some_check(way: str, workers: Workers) -> None:
    t, c = tried(GUARD, way, workers)
    assert c.by_nothing == ()
    assert len(c.not_here) == sum(f.state in ("unseen", "not decided") for f in t.fates)
    assert all(x.shown_by for x in c.not_here)
    states = [f.state for f in t.fates]
    total = c.totals
    assert (total.slips, total.shown) == (len(states), states.count("shown"))
    assert total.shown + total.nothing + total.unseen + total.not_decided + total.refused == total.slips


def test_a_sensor_that_lies_still_leaves_more_untested(workers: Workers) -> None:
    stuck, still = tried(GUARD, "stuck", workers)
    moved, _ = tried(GUARD, "knob", workers)

    def unseen(t: Trial) -> set[object]:
        return {(f.slip.code, f.slip.entry, f.slip.field, f.slip.stands) for f in t.fates if f.state == "unseen"}

    assert len(unseen(stuck)) > len(unseen(moved))
    assert any("flight that only warns" in x.shown_by for x in still.not_here)


@cache
def _steps(path: Path) -> tuple[object, ...]:
    with Workers() as several:
        return tuple(d.step for d in made(path, "knob", several)[0].steps)


def test_the_same_rules_give_the_same_test(workers: Workers) -> None:
    t, _ = tried(CUT, "knob", workers)
    assert _steps(CUT) == tuple(d.step for d in t.steps)


def test_the_propeller_comes_first(workers: Workers) -> None:
    _, c = tried(CUT, "knob", workers)
    assert c.first[0] == PROPELLER


def test_what_was_put_in_place_is_put_back(workers: Workers) -> None:
    _, c = tried(GUARD, "knob", workers)
    changed = [text.split(":")[0] for text in c.substitute if text.startswith("entry")]
    assert changed
    assert changed == [b.text.split(":")[0] for b in c.put_back if b.entry]


def test_a_wrong_answer_points_to_the_slip(workers: Workers) -> None:
    t, c = tried(CUT, "knob", workers)
    for k, n in enumerate(t.machines, 1):
        if t.fates[n].state != "shown":
            continue
        step = noticed(t, k)
        assert step is not None
        assert t.fates[n].slip.entry in [x.entry for s in c.steps[: step + 1] for x in s.if_not]
