"""Two-hand control, types I to III: both hands within half a second, both off again before the next go.

Sources
- PLCopen Safety (TC5) Part 1, v2.01 (25 Feb 2020), SF_TwoHandControlTypeIII; read in vendor help pages and enum
  tables, and the title page of the specification itself. "Output TRUE only if both buttons go FALSE->TRUE with
  difference <= 500 ms (error if > 500 ms); a button TRUE at activation is an error; releasing either drops the
  output; both must be FALSE before the output can be TRUE again."
- Check table derived from it: dt 0 -> on; 500 ms -> on; 501 ms -> error; press 1, press 2, release 1, press 1 ->
  stays off until both released.
- EN 574:1996 / ISO 13851:2019: synchronous actuation <= 0.5 s only for types III A/B/C; re-initiation after releasing
  both for types II and III; type I neither. Read in the EN 574 table of a PLC maker's safety handbook p. 24 and in
  the ISO 13851:2019 contents list (5.4 cessation, 5.7 re-initiation, 5.8 and 6.3 synchronous actuation).
"""

from collections.abc import Iterator
from fractions import Fraction

import pytest

from tests.external.tool import Prover, Setting, run

MILLISECOND = Fraction(1, 1000)

HEAD = """
rules "Two hands" version "1"
switch active positions off, on
button left
button right
signal live = active is on
signal both = left is pressed and right is pressed
signal some = left is pressed or right is pressed
signal none = not some
latch given {
  set when both and not spoiled and live
  reset when not both
  reset when not live
}
latch spoiled {                                  # a hand was early, late, or still there: both must let go
  set when not live
  set when (live begins) and some
  reset when none and live
"""
SYNCHRONOUS = "  set when (some for {limit}) and not previous of given\n"
AGAIN = "  set when previous of given and not both\n"
CLAIMS = """
}}
claim stops:        never given and not both
claim synchronous:  never (given begins) and (some for 501 ms)
claim again:        before (given begins) comes none             since given ends
claim activation:   before given comes (none and live)           since live
claim power_up:     before given comes (none and live)
claim works:        whenever previous of none and previous of live and both and live then given
claim twice:        can given then not given then given
signal one_alone = exactly_one of (left is pressed, right is pressed)
claim late_is_told: always spoiled                               while live and (one_alone for {late})
"""
GRID = 'cycle from 1 ms to 1 ms  assumed "a table in whole milliseconds"\n'
UNEVEN = 'cycle from 5 ms to 30 ms  assumed "common practice, no source"\n'


def rules(
    cycle: str, *, synchronous: str = SYNCHRONOUS, again: str = AGAIN, limit: str = "500 ms", late: str = "501 ms"
) -> str:
    return HEAD + synchronous.format(limit=limit) + again + CLAIMS.format(late=late) + cycle


# In whole milliseconds "more than 500" is "501 or more". In uneven cycles the seen difference may be any number, and
# only a limit that is reached at 500 keeps every seen difference at or below it.
TYPE_III = rules(GRID, limit="501 ms")
TYPE_III_UNEVEN = rules(UNEVEN)
TYPE_II = rules(UNEVEN, synchronous="")
TYPE_I = rules(UNEVEN, synchronous="", again="")

ALL = {"stops", "synchronous", "again", "activation", "power_up", "works", "twice", "late_is_told"}


@pytest.mark.parametrize(
    ("text", "not_kept"),
    [
        pytest.param(TYPE_III, set(), id="III, 1 ms"),
        pytest.param(TYPE_III_UNEVEN, set(), id="III, uneven cycles"),
        pytest.param(TYPE_II, {"synchronous", "late_is_told"}, id="II"),
        pytest.param(TYPE_I, {"synchronous", "late_is_told", "again"}, id="I"),
    ],
)
def test_types(prover: Prover, text: str, not_kept: set[str]) -> None:
    assert prover.answers(text) == {name: "refuted" if name in not_kept else "proved" for name in ALL}


ALONE = "  set when (exactly_one of (left is pressed, right is pressed) for {limit}) and not previous of given\n"


@pytest.mark.parametrize(
    ("text", "broken"),
    [
        pytest.param(rules(UNEVEN, limit="600 ms"), {"synchronous", "late_is_told"}, id="600 ms"),
        pytest.param(rules(UNEVEN, synchronous=ALONE), {"synchronous"}, id="measures one hand alone"),
        pytest.param(rules(UNEVEN, again=""), {"again"}, id="one hand may stay"),
        pytest.param(
            rules(UNEVEN).replace("  set when (live begins) and some\n", "").replace("  set when not live\n", ""),
            {"activation", "power_up"}, id="tied down before activation",
        ),
        pytest.param(rules(UNEVEN).replace("reset when not both", "reset when none"), {"stops"}, id="one hand holds"),
    ],
)  # fmt: skip
def test_wrong_versions(prover: Prover, text: str, broken: set[str]) -> None:
    assert prover.answers(text, broken) == dict.fromkeys(broken, "refuted")


def test_a_limit_on_one_hand_alone_misses_the_time_between_two_looks(prover: Prover) -> None:
    """The second hand comes in the very cycle in which the first would be seen too long: none is ever seen so."""
    trace = prover.verdicts(rules(UNEVEN, synchronous=ALONE), ["synchronous"])["synchronous"].trace
    assert trace is not None
    pressed = [r.time for r in trace.records if r.inputs["left"] or r.inputs["right"]]
    assert trace.records[-1].time - pressed[0] > Fraction(1, 2)


# ---------- the check table, in milliseconds


def hands(*moves: tuple[int, str], until: int) -> Iterator[dict[str, Setting]]:
    """One cycle a millisecond. `moves`: at which millisecond what happens, as "+left", "-right", "+both"."""
    down: set[str] = set()
    for now in range(until + 1):
        for at, move in moves:
            if at == now:
                names = {"left", "right"} if move[1:] == "both" else {move[1:]}
                down = down | names if move[0] == "+" else down - names
        yield {"active": "on", "left": "left" in down, "right": "right" in down}


@pytest.mark.parametrize(
    ("first", "second"), [("+left", "+right"), ("+right", "+left")], ids=["left first", "right first"]
)
@pytest.mark.parametrize(("apart", "on"), [(0, True), (1, True), (499, True), (500, True), (501, False), (900, False)])
def test_check_table(apart: int, on: bool, first: str, second: str) -> None:
    records = run(TYPE_III, hands((10, first), (10 + apart, second), until=1000), MILLISECOND)
    assert records[-1].values["given"] is on
    assert records[-1].values["spoiled"] is not on
    assert [r.values["given"] for r in records].count(True) == (1000 - 10 - apart + 1 if on else 0)


def test_both_must_let_go() -> None:
    """press 1, press 2, release 1, press 1 -> stays off until both released."""
    moves = [(1, "+left"), (2, "+right"), (3, "-left"), (4, "+left"), (6, "-both"), (7, "+both")]
    given = [r.values["given"] for r in run(TYPE_III, hands(*moves, until=8), MILLISECOND)]
    assert given == [False, False, True, False, False, False, False, True, True]


@pytest.mark.parametrize("tied", ["left", "right", "both"])
def test_a_hand_there_at_activation_is_an_error(tied: str) -> None:
    cycles: list[dict[str, Setting]] = [{"active": "off", **dict.fromkeys(_names(tied), True)}] * 2
    cycles += [{"active": "on", **dict.fromkeys(_names(tied), True)}, {"active": "on", "left": True, "right": True}] * 2
    records = run(TYPE_III, cycles, MILLISECOND)
    assert not any(r.values["given"] for r in records)
    assert all(r.values["spoiled"] for r in records)


def _names(tied: str) -> list[str]:
    return ["left", "right"] if tied == "both" else [tied]


@pytest.mark.parametrize("cycle", [5, 7, 13, 30])
def test_in_longer_cycles_no_difference_above_half_a_second_is_accepted(cycle: int) -> None:
    """And every difference that is seen to be shorter than it is accepted."""
    for apart in range(400 // cycle, 600 // cycle):
        quiet: list[dict[str, Setting]] = [{"active": "on"}] * 2
        one: list[dict[str, Setting]] = [{"active": "on", "left": True}] * apart
        two: list[dict[str, Setting]] = [{"active": "on", "left": True, "right": True}]
        records = run(TYPE_III_UNEVEN, quiet + one + two, cycle * MILLISECOND)
        assert records[-1].values["given"] is (apart * cycle < 500), apart
