"""Random rule sets on every kind of device: interpreter, solver, monitors with allowances and direct reading agree, and
verdicts stand."""

from random import Random

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.workers import Workers
from tests.fuzz.agreement import CYCLES, check_layout, check_monitors, check_proofs, check_solver
from tests.helpers.generate import generate
from tests.helpers.rules import rules_of
from tests.helpers.worlds import live

COUNT = 60
PROVED = range(200_000, 200_008)


def machine_on(seed: int, *, allowance: bool = True) -> Machine:
    """Claims allow for some cycles."""
    rng, rules = Random(f"allowance {seed}"), rules_of(generate(seed, devices=True))
    allowances = {c.name: rng.randint(0, 3) for c in rules.claims} if allowance else {}
    machine, found = compile_rules(rules, allowances=allowances)
    assert machine is not None, found
    return machine


def test_interpreter_solver_and_monitors_agree() -> None:
    met = cycles = 0
    kinds = set()
    for seed in range(COUNT):
        check_layout(generate(seed, devices=True))
        machine = machine_on(seed)
        life = live(machine, Random(f"life {seed}"), CYCLES)
        check_solver(machine, life)
        met += check_monitors(machine, life)
        cycles += len(life.records)
        kinds.add((machine.rules.device.reads, machine.rules.device.starts))
    assert len(kinds) == 8
    assert cycles > 45 * COUNT
    assert met > COUNT // 5


@pytest.mark.parametrize("seed", PROVED)
def test_verdicts_stand(seed: int, workers: Workers) -> None:
    check_proofs(machine_on(seed, allowance=False), workers, 3)
