"""The exact interpreter: times, records, memory at power-up, and what is wrong with inputs and tunes."""

from fractions import Fraction

import pytest

from latchproof.machine.model import Machine
from latchproof.run.interpreter import Interpreter, World, valid_inputs, valid_parameters
from tests.helpers.rules import machine_of

THIRD = Fraction(1, 3)


@pytest.fixture(scope="module")
def machine() -> Machine:
    return machine_of(
        """rules "Run" version "1"
        cycle from 10 ms to 500 ms
        button test
        stick x from 0 % to 100 %
        sensor height { from 20 m to 100 m  error 1 m  changes from -10 m/s to 10 m/s }
        tune floor = 30 m from 25 m to 40 m
        tune extra = 10 m from 10 m to 30 m in steps of 10 m
        require floor is at least extra + 15 m
        channel motor { follows x from 0 % to 100 % }
        rule r while test is pressed { drive motor to 100 %  ramp more 30 %/s }
        latch seen { set when height is below floor  reset when test is pressed }
        claim c: never seen
        assume calm: never test is pressed and x is above 50 %
        """
    )


def world(dt: Fraction, **inputs: bool | int) -> World:
    """One cycle: all at rest at 60 m unless said otherwise; `height_at_frame` stands for `height@frame`."""
    given: dict[str, bool | int] = {
        "test": False,
        "x": 0,
        "height@frame": False,
        "height@reading": 60,
        "height@truth": 60,
    }
    given |= {name.replace("_at_", "@"): value for name, value in inputs.items()}
    return World(dt, {k: v if isinstance(v, bool) else Fraction(v) for k, v in given.items()})


CALM = {"height@was": Fraction(60), "height@last": Fraction(60)}


def test_time_begins_with_the_first_cycle(machine: Machine) -> None:
    records = Interpreter(machine).run([world(THIRD), world(THIRD), world(Fraction(1, 10))], {}, CALM)
    assert [r.time for r in records] == [0, THIRD, THIRD + Fraction(1, 10)]
    assert [r.dt for r in records] == [THIRD, THIRD, Fraction(1, 10)]


def test_numbers_are_exact(machine: Machine) -> None:
    """Three thirds of a ramp of 30 %/s are 30 %, nothing more or less."""
    records = Interpreter(machine).run([world(THIRD, test=True)] * 3, {}, CALM)
    assert [r.values["motor"] for r in records] == [10, 20, 30]
    assert all(isinstance(r.values["motor"], Fraction) for r in records)


def test_memory_at_power_up_is_as_given_else_nearest_to_nothing(machine: Machine) -> None:
    run = Interpreter(machine)
    assert run.start({}, {})["height@last"] == 20
    assert run.start({}, {"height@last": Fraction(50)})["height@last"] == 50
    low = run.run([world(THIRD)], {}, {**CALM, "height@last": Fraction(22)})
    assert low[0].values["seen"] is True
    assert low[0].broken == ("c",)
    high = run.run([world(THIRD)], {}, CALM)
    assert high[0].values["seen"] is False
    assert high[0].broken == ()


def test_tunes_may_be_given(machine: Machine) -> None:
    start = {**CALM, "height@last": Fraction(35)}
    run = Interpreter(machine)
    assert run.run([world(THIRD)], {}, start)[0].values["seen"] is False
    assert run.run([world(THIRD)], {"floor": Fraction(36)}, start)[0].values["seen"] is True


def test_memory_is_handed_on(machine: Machine) -> None:
    start = {**CALM, "height@last": Fraction(22)}
    seen = world(THIRD)
    heard = world(THIRD, height_at_frame=True)
    freed = world(THIRD, test=True)
    records = Interpreter(machine).run([seen, heard, freed, heard], {}, start)
    assert [r.values["seen"] for r in records] == [True, True, False, False]
    assert [r.after["seen"] for r in records] == [True, True, False, False]


def test_broken_facts_are_told(machine: Machine) -> None:
    run = Interpreter(machine)
    jump = world(THIRD, height_at_truth=70)
    records = run.run([world(THIRD), jump, jump], {}, CALM)
    assert [r.violated for r in records] == [(), ("change of height",), ()]
    assert run.run([world(THIRD, test=True, x=60)], {}, CALM)[0].violated == ("assumption calm",)
    wrong = world(THIRD, height_at_frame=True, height_at_reading=62)
    assert run.run([wrong], {}, CALM)[0].violated == ("error of height",)
    within = world(THIRD, height_at_frame=True, height_at_reading=61)
    assert run.run([within], {}, CALM)[0].violated == ()


def test_an_input_without_a_value_is_refused(machine: Machine) -> None:
    with pytest.raises(KeyError, match="height@frame"):
        Interpreter(machine).run([World(THIRD, {})])


def test_inputs_of_one_cycle(machine: Machine) -> None:
    assert valid_inputs(machine, world(THIRD)) == ()
    assert valid_inputs(machine, world(Fraction(1))) == ("cycle time 1 s",)
    assert valid_inputs(machine, world(Fraction(1, 200))) == ("cycle time 1/200 s",)
    assert valid_inputs(machine, world(THIRD, x=101)) == ("x is outside its range",)
    assert "test is missing" in valid_inputs(machine, World(THIRD, {}))


def test_choices_of_tunes(machine: Machine) -> None:
    def wrong(**tunes: int) -> tuple[str, ...]:
        return valid_parameters(machine, {name: Fraction(value) for name, value in tunes.items()})

    assert wrong() == ()
    assert wrong(floor=24) == ("floor is outside its range", machine.requires[0].why)
    assert wrong(floor=41) == ("floor is outside its range",)
    assert wrong(extra=15, floor=40) == ("extra is outside its range",)
    assert wrong(floor=30, extra=20) == (machine.requires[0].why,)
    assert wrong(floor=35, extra=20) == ()
