"""What can be entered next to a number, against all that can be entered."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from latchproof.fit.steps import Grid
from latchproof.rules.units import UNITS
from latchproof.transmitter.model import Steps

F = Fraction
M, FT = UNITS["m"], UNITS["ft"]


def everything(g: Grid) -> list[tuple[Fraction, Fraction]]:
    """(entered, kept) of every number of the field, one by one."""
    found = []
    starts = [(g.steps.low, g.steps.step), *g.steps.wider]
    ends = [s for s, _ in g.steps.wider] + [g.steps.high]
    for (start, step), end in zip(starts, ends, strict=True):
        x = start
        while x <= end:
            entered = x * g.shown.factor
            kept = entered
            if g.kept is not None and g.kept_step is not None:
                step_kept = g.kept_step * g.kept.factor
                below = (entered / step_kept).__floor__() * step_kept
                kept = below if entered - below < step_kept / 2 else below + step_kept
            found.append((entered, kept))
            x += step
    return found


@st.composite
def grids(draw: st.DrawFn) -> Grid:
    low = draw(st.integers(-20, 20))
    first, second = draw(st.integers(1, 20)), draw(st.integers(1, 20))
    step = F(draw(st.integers(1, 6)), draw(st.sampled_from((1, 2, 5))))
    wider = ((F(low + first), step * draw(st.integers(1, 4))),) if draw(st.booleans()) else ()
    steps = Steps(F(low), F(low + first + second), step, wider)
    if draw(st.booleans()):
        return Grid(steps, M)
    return Grid(steps, FT, M, F(draw(st.integers(1, 4)), draw(st.sampled_from((1, 2)))))


@given(grids(), st.fractions(-30, 70, max_denominator=50))
def test_chosen_is_the_best_of_all(g: Grid, wanted: Fraction) -> None:
    all_ = everything(g)
    kept = sorted({k for _, k in all_})
    nearest = g.chosen(wanted, "nearest")
    assert (nearest.entered, nearest.kept) in all_
    assert abs(nearest.kept - wanted) == min(abs(k - wanted) for k in kept)
    down, up = g.chosen(wanted, "down"), g.chosen(wanted, "up")
    assert down.kept == max((k for k in kept if k <= wanted), default=kept[0])
    assert up.kept == min((k for k in kept if k >= wanted), default=kept[-1])
    for x in (down, up):
        assert (x.entered, x.kept) in all_


@given(grids(), st.fractions(-30, 70, max_denominator=50))
def test_what_is_typed_is_the_nearest_that_gives_the_number(g: Grid, wanted: Fraction) -> None:
    x = g.chosen(wanted, "nearest")
    same = [entered for entered, kept in everything(g) if kept == x.kept]
    assert abs(x.entered - wanted) == min(abs(y - wanted) for y in same)


@given(grids(), st.fractions(-30, 70, max_denominator=50), st.integers(1, 6))
def test_next_to(g: Grid, wanted: Fraction, count: int) -> None:
    kept = {k for _, k in everything(g)}
    below, above = sorted(k for k in kept if k < wanted)[-count:], sorted(k for k in kept if k > wanted)[:count]
    assert set(g.next_to(wanted, count)) == {*below, *above, *(k for k in kept if k == wanted)}


def test_feet_kept_as_metres() -> None:
    g = Grid(Steps(F(0), F(1500), F(10)), FT, M, F(1))
    x = g.chosen(F(42), "nearest")
    assert x.entered == 140 * F("0.3048")
    assert x.kept == 43
    assert g.works_with(F("1.5")) == 2


@pytest.mark.parametrize(
    ("wanted", "reached"), [(F(0), True), (F("-0.4"), True), (F(-1), False), (F("10.4"), True), (F(11), False)]
)
def test_reaches(wanted: Fraction, reached: bool) -> None:
    assert Grid(Steps(F(0), F(10), F(1)), M).reaches(wanted) is reached


def test_a_field_is_never_walked_through() -> None:
    g = Grid(Steps(F(-(10**9)), F(10**9), F(1, 10**6)), M)
    assert g.chosen(F(1, 3), "up").kept == F(333334, 10**6)
