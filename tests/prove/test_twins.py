"""Facts that are offered of large systems: cells that are always equal, and cells that read one another."""

from random import Random

import pytest

from latchproof.machine.cone import cone
from latchproof.prove.candidates import neighbours
from latchproof.prove.encode import Encoder
from latchproof.prove.induction import with_facts
from latchproof.prove.recheck import certificate_holds
from latchproof.prove.twins import twins
from tests.benchmarks.families import chained, timers
from tests.helpers.generate import generate
from tests.helpers.rules import machine_of
from tests.helpers.worlds import live

HEAD = 'rules "Twins" version "1"\nbutton a  button b\n'


def test_delays_of_one_signal_are_twins() -> None:
    machine = machine_of(
        HEAD + "signal x = a is pressed for 1 s\nsignal y = a is pressed for 2 s\nsignal z = b is pressed for 1 s\n"
    )
    assert twins(machine.states) == [("x@for1@ran", "y@for1@ran"), ("x@for1@elapsed", "y@for1@elapsed")]


def test_the_same_way_of_changing_is_not_enough() -> None:
    """Two latches set by each other's opposite: they differ in what they read."""
    machine = machine_of(
        HEAD
        + "latch x { set when a is pressed  reset when b is pressed }\n"
        + "latch y { set when b is pressed  reset when a is pressed }\n"
    )
    assert twins(machine.states) == []


@pytest.mark.parametrize("seed", range(600, 640))
def test_twins_are_equal_in_every_run(seed: int) -> None:
    machine = machine_of(generate(seed))
    classes = twins((*machine.states, *machine.watching))
    for record in live(machine, Random(seed), 60).records:
        for names in classes:
            assert len({record.after[name] for name in names}) == 1, names


def test_many_timers_are_proved_by_them() -> None:
    machine = machine_of(timers(40))
    system = cone(machine, machine.properties[0])
    invariant = with_facts(Encoder(system))
    assert invariant is not None
    assert certificate_holds(system, invariant)


def test_neighbours_read_one_another() -> None:
    machine = machine_of(chained(5))
    pairs = {tuple(sorted(pair)) for pair in neighbours(machine.states)}
    assert pairs == {(f"link_{k}", f"link_{k + 1}") for k in range(4)}


def test_long_chains_are_proved_by_them() -> None:
    machine = machine_of(chained(60))
    system = cone(machine, machine.properties[0])
    invariant = with_facts(Encoder(system))
    assert invariant is not None
    assert certificate_holds(system, invariant)
