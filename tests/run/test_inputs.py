"""Tables of inputs: what is read, what is refused and where."""

from fractions import Fraction

import pytest

from latchproof.machine.model import Machine
from latchproof.run.cells import MOST_COLUMNS, MOST_ROWS
from latchproof.run.inputs import Inputs, at_rest, read_inputs
from latchproof.run.interpreter import Interpreter, valid_inputs
from latchproof.source import Source
from latchproof.source.read import decode
from tests.show.tales import machine_of

RULES = """
cycle from 10 ms to 20 ms assumed "a guess"
switch guard positions off, on
switch flaps positions up, half, down
button rescue
stick throttle from 0 % to 100 %
knob trimmer from 10 % to 50 %
sensor height { from -20 m to 300 m  step 0.1 m  error 1 m assumed  changes from -15 m/s to 5 m/s assumed }
signal low = height is below 30 m and guard is on and flaps is half and rescue is pressed
"""


@pytest.fixture(scope="module")
def machine() -> Machine:
    return machine_of(RULES)


def worlds(machine: Machine, text: str, every: Fraction | None = None) -> Inputs:
    inputs, found = read_inputs(Source("t.csv", text), machine, every)
    assert inputs is not None, found
    return inputs


def faults(machine: Machine, text: str, every: Fraction | None = None) -> list[tuple[str, str]]:
    """Code and the marked text of each message."""
    _, found = read_inputs(Source("t.csv", text), machine, every)
    return [(d.code, text[d.labels[0].span.start : d.labels[0].span.end]) for d in found]


def test_a_table(machine: Machine) -> None:
    rows = ("1,off,up,released,20,", "1.02,on,half,pressed,20.5 %,12.5", "1.04,,,0,,")
    text = "\n".join(("time,guard,flaps,rescue,throttle,height", *rows)) + "\n"
    inputs = worlds(machine, text)
    assert inputs.start == 1
    assert [w.dt for w in inputs.worlds] == [Fraction(1, 50)] * 3
    first, second, third = (w.inputs for w in inputs.worlds)
    assert (first["guard@1"], first["flaps@1"], first["flaps@2"], first["rescue"]) == (False, False, False, False)
    assert (first["throttle"], first["height@frame"]) == (20, False)
    assert (second["guard@1"], second["flaps@1"], second["flaps@2"], second["rescue"]) == (True, True, False, True)
    assert (second["height@frame"], second["height@reading"]) == (True, Fraction(25, 2))
    assert second["throttle"] == Fraction(41, 2)
    assert (third["guard@1"], third["flaps@1"], third["rescue"], third["height@frame"]) == (True, True, False, False)
    assert all(valid_inputs(machine, w) == () for w in inputs.worlds)


def test_what_has_no_column_rests(machine: Machine) -> None:
    (world,) = worlds(machine, "time\n0\n").worlds
    assert world.inputs == at_rest(machine)
    assert world.inputs["trimmer"] == 10
    assert world.inputs["height@reading"] == 0
    assert not world.inputs["height@frame"]


def test_the_truth_follows_the_reading_unless_it_has_a_column(machine: Machine) -> None:
    guessed = worlds(machine, "time,height\n0,40\n0.02,\n")
    assert [w.inputs["height@truth"] for w in guessed.worlds] == [40, 40]
    assert guessed.guessed == {"height"}
    told = worlds(machine, "time,height,height.truth\n0,40,39.5\n0.02,,39.4\n")
    assert [w.inputs["height@truth"] for w in told.worlds] == [Fraction("39.5"), Fraction("39.4")]
    assert told.guessed == frozenset()


def test_units(machine: Machine) -> None:
    inputs = worlds(machine, "time [ms];height [ft];throttle (%)\n0;100;30\n20;500 ft;50\n40;30 m;\n")
    assert [w.dt for w in inputs.worlds] == [Fraction(1, 50)] * 3
    assert [w.inputs["height@reading"] for w in inputs.worlds] == [Fraction("30.48"), Fraction("152.4"), 30]
    assert [w.inputs["throttle"] for w in inputs.worlds] == [30, 50, 50]


@pytest.mark.parametrize(
    "data",
    [
        b"time,guard\r\n0,on\r\n",
        b"\xef\xbb\xbftime,guard\n0,on\n",
        b"time;guard\n0;on\n",
        b"time\tguard\n0\ton\n",
        b'"time","guard"\n"0","on"\n',
        b"\n\ntime , guard\n\n0 , on \n,,\n",
        b"Time,guard\n0,on,\n",
        b"guard,time\non,0\n",
    ],
)
def test_ways_of_writing_it(machine: Machine, data: bytes) -> None:
    source, found = decode("t.csv", data)
    assert source is not None, found
    inputs, found = read_inputs(source, machine)
    assert inputs is not None, found
    assert [w.inputs["guard@1"] for w in inputs.worlds] == [True]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("", [("table-empty", "")]),
        ("\n \n", [("table-empty", "")]),
        ("time,guard\n", [("table-empty", "time")]),
        ("time,gaurd\n0,on\n", [("table-header", "gaurd")]),
        ("time,guard,guard\n0,on,on\n", [("table-header", "guard")]),
        ("time,\n0,\n", [("table-header", "")]),
        ("guard\non\n", [("table-header", "guard")]),
        ("time,guard [m]\n0,on\n", [("table-header", "guard [m]")]),
        ("time,height [V]\n0,1\n", [("table-value", "height [V]")]),
        ("time,height [furlong]\n0,1\n", [("table-value", "height [furlong]")]),
        ("time,throttle.truth\n0,1\n", [("table-header", "throttle.truth")]),
        ("time,guard\n0,On!\n", [("table-value", "On!")]),
        ("time,rescue\n0,maybe\n", [("table-value", "maybe")]),
        ("time,throttle\n0,fast\n", [("table-value", "fast")]),
        ("time,throttle\n0,1e5\n", [("table-value", "1e5")]),
        ("time,throttle\n0,=1+1\n", [("table-value", "=1+1")]),
        ("time,throttle\n0,@cmd\n", [("table-value", "@cmd")]),
        ("time,throttle\n0,20 V\n", [("table-value", "20 V")]),
        ("time,throttle\n0,101\n", [("table-range", "101")]),
        ("time,throttle\n0,-1\n", [("table-range", "-1")]),
        ("time;throttle\n0;0,5\n", [("decimal-comma", "0,5")]),
        ("time,throttle\n0,0,5\n", [("table-row", "5")]),
        ("time,throttle,guard\n0,1\n", [("table-row", "0,1")]),
        ("time,throttle\n,1\n", [("table-value", "")]),
        ("time\n1\n1\n", [("table-time", "1")]),
        ("time\n1\n0.5\n", [("table-time", "0.5")]),
        ('time,guard\n0,"on\n', [("table-quote", '"on')]),
        ('time,guard\n0,"on"x\n', [("table-quote", "x")]),
        ("time,throttle\n0," + "9" * 300_000 + "\n", [("table-value", "9" * 300_000)]),
        ("time,gaurd,x\n0,1,2\n", [("table-header", "gaurd"), ("table-header", "x")]),
        ("time,throttle,rescue\n0,x,y\n0.02,z,1\n", [("table-value", t) for t in "xyz"]),
    ],
)
def test_refused(machine: Machine, text: str, found: list[tuple[str, str]]) -> None:
    assert faults(machine, text) == found


def test_many_faults_are_not_all_listed(machine: Machine) -> None:
    text = "time,throttle\n" + "".join(f"{n},x\n" for n in range(1000))
    _, found = read_inputs(Source("t.csv", text), machine)
    assert len(found) == 21
    assert found[-1].title == "and 980 more places like these"


def test_too_many_rows_and_columns(machine: Machine) -> None:
    long = "time\n" + "\n".join(map(str, range(MOST_ROWS + 1))) + "\n"
    assert [code for code, _ in faults(machine, long)] == ["table-too-long"]
    wide = "time" + ",x" * MOST_COLUMNS + "\n"
    assert [code for code, _ in faults(machine, wide)] == ["table-too-long"]


def test_rows_that_are_no_cycles(machine: Machine) -> None:
    inputs, found = read_inputs(Source("t.csv", "time\n0\n0.02\n0.5\n"), machine)
    assert inputs is not None
    assert [(d.code, d.severity) for d in found] == [("table-cycle", "warning")]
    assert found[0].title == "1 of 2 cycles are shorter or longer than 10 ms to 20 ms"


def test_cycles_between_rows(machine: Machine) -> None:
    text = "time,guard,height\n0,off,\n0.05,on,31\n0.1,off,\n"
    inputs = worlds(machine, text, Fraction(1, 50))
    assert len(inputs.worlds) == 6
    assert [w.inputs["guard@1"] for w in inputs.worlds] == [False, False, False, True, True, False]
    assert [w.inputs["height@frame"] for w in inputs.worlds] == [False, False, False, True, False, False]
    assert {w.dt for w in inputs.worlds} == {Fraction(1, 50)}
    records = Interpreter(machine).run(inputs.worlds)
    assert records[-1].time == Fraction(1, 10)


def test_rows_that_hide_one_another(machine: Machine) -> None:
    text = "time,rescue\n0,0\n0.011,1\n0.012,0\n"
    _, found = read_inputs(Source("t.csv", text), machine, Fraction(1, 50))
    assert [(d.code, d.severity) for d in found] == [("table-cycle", "warning")]


def test_too_many_cycles(machine: Machine) -> None:
    assert [code for code, _ in faults(machine, "time\n0\n1000000\n", Fraction(1, 50))] == ["table-too-long"]
