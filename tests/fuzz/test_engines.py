"""A share of the long run of all engines, with fixed seeds; and the counting of states held to known answers."""

from collections import Counter
from pathlib import Path

import pytest

from latchproof.machine.cone import cone
from tests.fuzz.campaign import campaign
from tests.fuzz.engines import check_engines, check_search
from tests.fuzz.explicit import complete, explore
from tests.helpers.rules import machine_of

HEAD = """rules "Countable" version "1"
cycle from 10 ms to 10 ms
switch lever positions off, on
sensor height { from 0 m to 3 m  step 1 m  stale after 30 ms  frame every 20 ms }
"""


@pytest.mark.parametrize("seed", range(7000, 7012))
def test_engines_agree(seed: int) -> None:
    counts = check_engines(seed, 1)
    assert counts["claims"]


def test_most_claims_are_decided_and_both_ways() -> None:
    counts: Counter[str] = Counter()
    for seed in range(7100, 7106, 2):
        counts += check_engines(seed, 1)
    assert counts["claims that were decided"] > counts["claims"] // 2
    assert counts["reached by counting"]


@pytest.mark.parametrize("seed", range(8000, 8020))
def test_what_a_bounded_search_finds_runs(seed: int) -> None:
    assert check_search(seed, 0.5)["claims"]


def test_a_run_goes_on_where_it_was(tmp_path: Path) -> None:
    log = tmp_path / "log.jsonl"
    *_, first = campaign(range(9000, 9010), jobs=1, log=log)
    *_, again = campaign(range(9000, 9020), jobs=1, log=log)
    assert (first.sets, again.sets) == (10, 20)
    assert len(log.read_text(encoding="utf-8").splitlines()) == 2
    *_, known = campaign(range(9000, 9020), jobs=1, log=log)
    assert known == again
    assert known.met >= first.met > 0


@pytest.mark.parametrize(
    ("claim", "cycles"),
    [
        ("never lever is on for 30 ms", 4),
        ("never lever is on for 31 ms", 5),
        ("never (lever is on) extended 20 ms and lever is off", 2),
        ("length of (lever is on pulsed 30 ms) at most 20 ms", 4),
        ("length of (lever is on pulsed 30 ms) at most 30 ms", None),
        ("never height is stale and height is heard", 4),
        ("never height is stale and height is heard provided height keeps arriving", None),
        ("can lever is on then lever is off then lever is on", 3),
        ("starts of lever is on at most 2 in 40 ms", 5),
        ("starts of lever is on at most 2 in 30 ms", None),
        ("whenever lever is on then lever is off within 20 ms", 4),
    ],
)
def test_states_are_counted(claim: str, cycles: int | None) -> None:
    """The fewest cycles by hand: cycles of 10 ms, the first at 0."""
    machine = machine_of(HEAD + f"claim c: {claim}\n")
    system = cone(machine, machine.properties[0])
    told = explore(system)
    assert complete(system)
    assert told.closed
    assert told.cycles == cycles


@pytest.mark.parametrize(
    "more",
    [
        "tune t = 20 ms from 10 ms to 30 ms\nclaim c: never lever is on for t",
        "stick s from 0 % to 100 %\nclaim c: never rate of s is above 100 %/s",
        "stick s from 0 % to 100 %\nchannel m { follows s  from 0 % to 100 % }\n"
        "rule r while lever is on { drive m to 50 % ramp up 100 %/s }\nclaim c: never m is equal to 37 %",
    ],
)
def test_what_is_left_out_is_known(more: str) -> None:
    machine = machine_of(HEAD + more + "\n")
    assert not complete(cone(machine, machine.properties[0]))
