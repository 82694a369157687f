"""Which moments of a trace are told, and why a signal is as it is: data, without words."""

from fractions import Fraction

import pytest

from latchproof.prove.moments import Event
from latchproof.prove.reasons import Seen, reasons
from latchproof.prove.story import MOST_ROWS, Story, tell
from latchproof.rules import expressions as e
from latchproof.run.expressions import Reader
from tests.show.tales import tale

RULES = """
cycle from 10 ms to 20 ms assumed "a guess"
switch guard positions off, on
switch flaps positions up, half, down
switch unrelated positions a, b
stick throttle from 0 % to 100 %
stick pitch from -100 % to 100 %
knob trimmer from 0 % to 100 %
sensor height { from 0 m to 300 m  stale after 60 s  once stale keeps value }
sensor volts { from 0 V to 20 V }
tune floor = 30 m from 20 m to 50 m
channel motor 1 { follows throttle from 0 % to 100 % }
channel elevator 2 { follows pitch from -100 % to 100 % }
latch low { set when height is below floor and guard is on  reset when guard is off }
rule climb while low { drive motor to 60 % ramp up 100 %/s }
rule other while volts is below 10 V { announce tone "volts" }
claim slow: never motor is above 50 % and low
"""
HEAD = "time,guard,throttle,height,unrelated,pitch,volts\n"


def story(rows: str, claim: str = "slow", rules: str = RULES, **tunes: int) -> Story:
    made = tale(rules, HEAD + rows, claim, Fraction(1, 50), {n: Fraction(v) for n, v in tunes.items()})
    return tell(made.machine, made.property_, made.trace)


def told(s: Story) -> list[tuple[Fraction, set[str]]]:
    return [(row.time, {f"{x.kind} {x.name}" for x in (*row.world, *row.rules)}) for row in s.rows]


def test_only_what_the_claim_depends_on() -> None:
    found = story("0,on,0,60,a,0,12\n0.5,,,,b,50,9\n1,,,29,,,\n2,,,,a,,\n")
    names = {x.name for row in found.rows for x in (*row.world, *row.rules)}
    assert names == {"guard", "throttle", "height", "motor", "low"}


def test_a_reading_is_told_when_it_crosses_something() -> None:
    found = story("0,on,0,60,,,\n0.2,,,50,,,\n0.4,,,40,,,\n0.6,,,29,,,\n0.7,,,20,,,\n2,,,,,,\n")
    readings = [(row.time, x.value) for row in found.rows for x in row.world if x.kind == "reading"]
    assert readings == [(0, 60), (Fraction("0.6"), 29)]
    named = RULES + "claim here: never height is below 10 m\n"
    found = story("0,on,0,60,,,\n0.7,,,20,,,\n0.8,,,9,,,\n", "here", named)
    assert [(row.time, x.value) for row in found.rows for x in row.world if x.kind == "reading"] == [
        (0, 60), (Fraction("0.8"), 9),
    ]  # fmt: skip


def test_the_first_row_is_how_things_stand() -> None:
    found = story("0,on,10,29,,,\n2,,,,,,\n")
    assert told(found)[0] == (0, {"position guard", "control throttle", "reading height", "on low", "channel motor"})
    unheard = story("0,on,10,,,,\n2,,,,,,\n")
    (event,) = [x for x in unheard.rows[0].world if x.name == "height"]
    assert event == Event("unheard", "height", Fraction(0))


def test_a_ramp_is_told_where_it_sets_out_and_arrives() -> None:
    rules = RULES + "claim late: never guard is off and motor is equal to 0 %\n"
    found = story("0,on,0,60,,,\n0.2,,,29,,,\n1.5,off,,,,,\n", "late", rules)
    motor = [(row.time, x.value, x.going) for row in found.rows for x in row.rules if x.kind == "channel"]
    assert motor == [(0, 0, 0), (Fraction("0.2"), 2, 1), (Fraction("0.78"), 60, 0), (Fraction("1.5"), 0, 0)]


def test_tunes_away_from_what_is_written() -> None:
    found = story("0,on,0,45,,,\n2,,,,,,\n", floor=50)
    assert Event("tune", "floor", Fraction(50)) in found.rows[0].world
    written = story("0,on,0,29,,,\n2,,,,,,\n", floor=30)
    assert not [x for x in written.rows[0].world if x.kind == "tune"]


def test_the_last_row_says_where_the_named_things_stand() -> None:
    found = story("0,on,55,60,,,\n0.5,,,29,,,\n2,,,,,,\n")
    assert [x for x in found.rows[-1].rules if x.name == "low"] == [Event("on", "low", True)]
    later = story("0,on,0,29,,,\n2,,,,,,\n")
    assert Event("on", "low", True, still=True) in later.rows[-1].rules


def test_a_long_story_is_cut_in_the_middle() -> None:
    lines = [f"{(n + 1) * 4 / 100:.2f},{'on' if n % 2 else 'off'},0,60,,," for n in range(101)]
    found = story("\n".join([*lines, "4.2,on,55,29,,,", "5,,,,,,"]) + "\n")
    assert len(found.rows) == MOST_ROWS
    assert found.left_out > 50
    assert found.rows[found.gap - 1].time < found.rows[found.gap].time - 1


# ---------- reasons


def reader_and(signal: str) -> tuple[Reader, e.Signal]:
    rules = RULES + f"signal asked = {signal}\nclaim seen: never guard is on\n"
    made = tale(rules, HEAD + "0,on,20,40,,,\n", "seen")
    found = next(s.signal for s in made.machine.rules.signals if s.name == "asked")
    return Reader(made.machine, made.trace.records, {}), found


@pytest.mark.parametrize(
    ("signal", "expected"),
    [
        ("guard is on and height is below 30 m", [(False, (40, 30))]),
        ("guard is on and height is above 30 m", [(True, (1,)), (True, (40, 30))]),
        ("guard is off or height is above 30 m", [(True, (40, 30))]),
        ("guard is off or height is below 30 m", [(False, (1,)), (False, (40, 30))]),
        ("not (guard is on and flaps is up)", [(True, (1,)), (True, (0,))]),
        ("flaps is half", [(False, (0,))]),
        ("motor is free", [(True, (20, 20))]),
        ("height is fresh", [(True, ())]),
        ("low", [(False, ())]),
        ("guard is on and guard is on", [(True, (1,))]),
    ],
)
def test_reasons(signal: str, expected: list[tuple[bool, tuple[int, ...]]]) -> None:
    reader, asked = reader_and(signal)
    found = reasons(asked, reader, 0)
    assert [(s.holds, s.values) for s in found] == expected
    assert all(isinstance(s, Seen) for s in found)
