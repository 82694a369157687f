"""Flights that an earlier run kept: the same again when read, flown only if they can be, believed only when flown."""

import json
from dataclasses import replace
from fractions import Fraction
from random import Random

import pytest

from latchproof.run.interpreter import World
from latchproof.strength.flights import Flight, reached
from latchproof.strength.kept_flights import flyable, read, written
from tests.helpers.rules import machine_of
from tests.helpers.worlds import live
from tests.prove.small import text

MACHINE = machine_of(text("never saving", "never lamp is driven", "never saving and test is pressed"))


def flights(count: int = 4) -> tuple[Flight, ...]:
    lives = (live(MACHINE, Random(seed), 60, "longest") for seed in range(count))
    return tuple(Flight(one.parameters, one.start, one.world) for one in lives)


def test_read_again_they_are_the_same() -> None:
    some = flights()
    assert read(written(some)) == some
    assert all(flyable(MACHINE, f) for f in some)
    assert {name for f in some for name in reached(MACHINE, f)} >= {"claim_1"}


def test_long_ones_are_left_out() -> None:
    short, long = flights(2)
    long = replace(long, world=long.world * 400)
    assert read(written((long, short))) == (short,)


@pytest.mark.parametrize("kind", ["dt", "input", "range", "sort", "grid", "tune", "start", "nothing"])
def test_what_is_no_flight_is_not_flown(kind: str) -> None:
    """Otherwise a file could show that something can happen which cannot."""
    f = flights(1)[0]
    w = f.world[5]
    match kind:
        case "dt":
            wild = replace(f, world=(World(Fraction(1, 1000), w.inputs),))
        case "input":
            wild = replace(f, world=(World(w.dt, {**w.inputs, "height@reading": Fraction(101)}),))
        case "range":
            wild = replace(f, world=(World(w.dt, {**w.inputs, "throttle": Fraction(-1)}),))
        case "sort":
            wild = replace(f, world=(World(w.dt, {**w.inputs, "test": Fraction(1)}),))
        case "grid":
            inputs = {**w.inputs, "height@frame": True, "height@reading": Fraction(1, 3), "height@truth": Fraction(0)}
            wild = replace(f, world=(World(w.dt, inputs),))
        case "tune":
            wild = replace(f, parameters={**f.parameters, "floor": Fraction(99)})
        case "start":
            wild = replace(f, start={name: Fraction(-1) for name in f.start})
        case _:
            wild = replace(f, world=())
    assert flyable(MACHINE, f)
    assert not flyable(MACHINE, wild)


def test_damage_is_no_trouble() -> None:
    good, random = written(flights(2)), Random(3)
    for _ in range(300):
        place = random.randrange(len(good))
        with_damage = good[:place] + random.choice(["", "9", '"', "true", "null", "-"]) + good[place + 1 :]
        for f in read(with_damage):
            if flyable(MACHINE, f):
                reached(MACHINE, f)


@pytest.mark.parametrize("row", [None, 1, [], {"flights": []}, {"schema": "latchproof.flights/1", "flights": [1]}])
def test_other_files_are_none(row: object) -> None:
    assert read(json.dumps(row)) == ()
