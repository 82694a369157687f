"""Runs of a table: moments, all cycles, comma-separated text, and what broke."""

import csv
import io
from fractions import Fraction

import pytest

from latchproof.machine.model import Machine
from latchproof.run.inputs import read_inputs
from latchproof.run.recording import Recording, facts_broken, promises_broken, record
from latchproof.show.runs import changes, cycles, notes
from latchproof.show.runs_csv import as_csv, safe
from latchproof.show.style import Style
from latchproof.show.visible import width
from latchproof.source import Source
from tests.show.tales import machine_of

RULES = """
cycle from 10 ms to 20 ms assumed "a guess"
switch guard positions off, on
stick pitch from -100 % to 100 %
sensor height {
  from -20 m to 300 m step 0.1 m stale after 1 s once stale keeps value  error 1 m assumed
  changes from -15 m/s to 5 m/s assumed
}
channel elevator 2 { follows pitch from -100 % to 100 % up is positive }
latch low { set when height is below 30 m  reset when guard is off }
rule flare while low { move elevator up by 5 % ramp up 10 %/s announce voice "low" }
claim calm "the elevator does not jump": step of elevator at most 2 % in 100 ms
claim quiet: never low
"""
TABLE = "time,guard,pitch,height\n5,on,-10,60\n5.1,,,28\n5.2,off,-20,\n5.3,,,\n"


@pytest.fixture(scope="module")
def machine() -> Machine:
    return machine_of(RULES)


def ran(machine: Machine, table: str = TABLE, every: Fraction | None = Fraction(1, 50)) -> Recording:
    inputs, found = read_inputs(Source("t.csv", table), machine, every)
    assert inputs is not None, found
    return record(machine, inputs)


def test_changes(machine: Machine) -> None:
    assert changes(machine, ran(machine)) == """\
  time    you and the air                     the rules
  ------  ----------------------------------  ----------------------------------
  5 s     guard on, pitch -10 %,              elevator -10 %
          height shows 60 m
  5.1 s   height shows 28 m                   low sets, flare says "low",
                                              elevator -9.8 % and rising
  5.18 s                                      elevator -9 %
  5.2 s   guard off, pitch -20 %              low resets, flare falls silent,
                                              elevator -20 %"""


def test_all_cycles(machine: Machine) -> None:
    table = "time,guard,height\n0,on,28\n0.02,off,\n"
    assert cycles(machine, ran(machine, table, None)) == """\
the same in every cycle: pitch 0 %, height 28 m

time  guard  height frame [m]  low  flare  flare.voice  elevator [%]
----  -----  ----------------  ---  -----  -----------  ------------
0     on     28                yes  yes    yes          0.2
0.02  off                      no   no     no           0"""


@pytest.mark.parametrize(("columns", "blocks"), [(50, 3), (80, 2), (100, 1)])
def test_wide_tables_are_cut_into_blocks(machine: Machine, columns: int, blocks: int) -> None:
    text = cycles(machine, ran(machine), Style(columns))
    assert max(map(width, text.split("\n"))) <= columns
    assert f"\n{text}".count("\ntime") == blocks


def test_comma_separated(machine: Machine) -> None:
    run = ran(machine)
    rows = list(csv.reader(io.StringIO(as_csv(machine, run))))
    assert rows[0] == [
        *("time [s]", "guard", "pitch [%]", "height frame [m]", "height [m]"),
        *("low", "flare", "flare.voice", "elevator [%]"),
    ]
    assert len(rows) == len(run.records) + 1
    assert rows[1] == ["5", "on", "-10", "60", "60", "no", "no", "no", "-10"]
    assert rows[6] == ["5.1", "on", "-10", "28", "28", "yes", "yes", "yes", "-9.8"]
    short = list(csv.reader(io.StringIO(as_csv(machine, run, only_changes=True))))
    assert 1 < len(short) < len(rows)
    assert [r for r in rows if r in short] == short


FORMULAS = ("=1+1", "+1", "-x", "@SUM(A1)", "\t=1", '=HYPERLINK("x")', "\r=1", "a,b", 'say "x"')


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_is_worked_out(text: str) -> None:
    (row,) = csv.reader(io.StringIO(safe(text)))
    assert len(row) == 1
    assert not row[0].startswith(("=", "+", "-", "@", "\t", "\r"))


def test_what_broke(machine: Machine) -> None:
    run = ran(machine)
    assert [(c.name, b.time) for c, b in promises_broken(machine, run)] == [
        ("calm", Fraction("5.2")), ("quiet", Fraction("5.1")),
    ]  # fmt: skip
    assert notes(machine, run) == (
        "broken at 5.2 s: calm: the elevator does not jump\nbroken at 5.1 s: quiet: never low"
    )
    fine = ran(machine, "time,guard,height\n0,on,31\n0.1,off,\n")
    assert notes(machine, fine) == ""


def test_facts_that_the_table_goes_against(machine: Machine) -> None:
    assert facts_broken(ran(machine)) == ()  # without a column for the truth nothing can be said
    told = ran(machine, "time,height,height.truth\n0,60,60\n0.02,,30\n0.04,40,30\n", None)
    assert [(f.what, f.time) for f in facts_broken(told)] == [
        ("change of height", Fraction(0)), ("error of height", Fraction("0.04")),
    ]  # fmt: skip
    assert "goes against a fact of the rules" in notes(machine, told)
