"""Worker processes: one a query, ended when late or no longer wanted, and none left behind."""

import os
import time

import pytest

from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.prove.tasks import Bounded, Induct, Recheck
from latchproof.prove.workers import Failed, Workers
from tests.helpers.pool import pool
from tests.helpers.rules import example, machine_of
from tests.prove.small import PROVED, text


def task(claim: str) -> Induct:
    machine = machine_of(text(claim))
    return Induct(flatten(cone(machine, machine.properties[0])))


def slow() -> Bounded:
    """A search that goes on for long: nothing is to be found."""
    machine = example("floor_guard/mended.latch")
    property_ = next(p for p in machine.properties if p.name == "off_means_off")
    return Bounded(flatten(cone(machine, property_)), holds=True, deepest=10_000, seconds=600)


def alive(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    return True


def running(workers: Workers) -> list[int]:
    return [p.pid for p in workers._running if p.pid is not None]


def test_a_late_worker_is_ended(workers: Workers) -> None:
    started = time.monotonic()
    assert isinstance(workers.run(slow(), 1.0), Failed)
    assert time.monotonic() - started < 10
    assert not running(workers)


def test_leaving_a_race_ends_the_others(workers: Workers) -> None:
    race = workers.race([slow(), task(PROVED["never"])], 60)
    first = next(race)
    assert first.index == 1
    others = running(workers)
    assert others
    race.close()
    assert not running(workers)
    assert not any(alive(p) for p in others)


def test_leaving_the_pool_ends_all() -> None:
    with pool() as mine:
        race = mine.race([slow(), task(PROVED["never"])], 60)
        next(race)
        left = running(mine)
        assert left
    assert not any(alive(p) for p in left)
    with pytest.raises(RuntimeError):
        mine.run(task(PROVED["never"]), 1)


def test_every_query_meets_a_fresh_solver(workers: Workers) -> None:
    """The same task, asked again and again, is answered the same."""
    assert len({repr(workers.run(task(PROVED["never"]), 60)) for _ in range(3)}) == 1


def test_the_check_of_a_certificate(workers: Workers) -> None:
    machine = machine_of(text(PROVED["tunes"]))
    flat = flatten(cone(machine, machine.properties[0]))
    assert workers.run(Recheck(flat, "true"), 60) is True
    assert workers.run(Recheck(flat, "false"), 60) is False
