"""Two runs give the same verdicts and the same traces, whatever the machine has to do beside them."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from latchproof.cli.prove import lined_up
from latchproof.machine.model import Machine
from latchproof.prove.prover import prove, prove_all
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from tests.cli.commands import environment
from tests.helpers.rules import machine_of
from tests.layout.house import ROOT
from tests.prove.small import HEAD, PROVED, REFUTED, text

ON_ONE_CORE = "import os, sys; os.sched_setaffinity(0, {min(os.sched_getaffinity(0))}); "
RUN = "from latchproof.cli.main import main; sys.exit(main(sys.argv[1:]))"


def proved(path: str, seed: str, *, one_core: bool) -> object:
    code = (ON_ONE_CORE if one_core else "import sys; ") + RUN
    done = subprocess.run(
        [sys.executable, "-c", code, "prove", path, "--format", "json", "--time-limit", "300"],
        env=environment(PYTHONHASHSEED=seed), cwd=ROOT, capture_output=True, text=True, timeout=580, check=False,
    )  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    found = json.loads(done.stdout)
    for row in found["files"][0]["claims"]:
        del row["seconds"]
    return found


@contextmanager
def load() -> Iterator[None]:
    """Twice as many busy processes as there are cores."""
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(2 * (os.cpu_count() or 1))]
    try:
        yield
    finally:
        for process in busy:
            process.kill()
            process.wait()


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="a process cannot be kept to one core here")
@pytest.mark.parametrize("name", ["tow_release/tow_release", "floor_guard/first_attempt"])
def test_load_and_hashes_decide_nothing(name: str) -> None:
    """One promise at a time or as many as there are cores, hashes of names that differ, other work beside it."""
    path = f"examples/{name}.latch"
    quiet = proved(path, "1", one_core=True)
    with load():
        busy = proved(path, "2", one_core=False)
    assert quiet == busy


def test_a_proof_without_facts_goes_before_one_with_them(workers: Workers) -> None:
    """Both can be had, and the second may well be there first."""
    rules = HEAD + "claim c: length of saving at most 3.05 s\n"
    machine = machine_of(rules)
    for at_once in (1, 2):
        verdict = next(v for v in prove_all(machine, workers, time_limit=60, at_once=at_once) if v.claim == "c")
        assert verdict.answer == "proved"
        assert verdict.certificate is not None
        assert not verdict.certificate.facts


def test_verdicts_stand_in_the_order_of_the_file(workers: Workers) -> None:
    machine = machine_of(text(*REFUTED.values()))
    names = [p.name for p in machine.properties]
    arriving = [Verdict(name, "unknown", "none", 0) for name in names]
    for order in (arriving, arriving[::-1], arriving[1::2] + arriving[::2]):
        assert [v.claim for v in lined_up(iter(order), machine)] == names


def test_a_verdict_is_told_as_soon_as_all_before_it_are_there() -> None:
    machine = machine_of(text(PROVED["never"], PROVED["always"], PROVED["length"]))
    names = [p.name for p in machine.properties]
    told: list[str] = []

    def arriving(machine: Machine) -> Iterator[Verdict]:
        later = [(name, k) for k, name in enumerate(names) if k > 2]
        for name, so_far in ((names[1], 0), (names[0], 0), (names[2], 2), *later):
            assert len(told) == so_far
            yield Verdict(name, "unknown", "none", 0)

    for verdict in lined_up(arriving(machine), machine):
        told += [verdict.claim]
    assert told == names


def latches(count: int) -> str:
    """A claim that takes longer than anybody waits."""
    parts = ['rules "Hard" version "1"', "cycle from 10 ms to 50 ms", "switch s positions off, on"]
    for k in range(count):
        parts += [f"button b{k}", f"latch l{k} {{", f"set when b{k} is pressed for {k + 3} s", "reset when s is off"]
        parts += [f"timeout {k + 7} s then blocked until s is off", "}"]
    some = " or ".join(f"l{k}" for k in range(count))
    return "\n".join([*parts, f"claim c: starts of ({some}) at most {count} in 3 s", ""])


LONG = HEAD + "claim c: length of (saving or guard is on) at most 3600 s\n"
"""Its trace has 72,000 cycles, which take longer to run than to find."""


@pytest.mark.parametrize("limit", [0.5, 2.0])
@pytest.mark.parametrize("rules", [latches(4), LONG], ids=["a search", "a replay"])
def test_the_time_limit_is_kept(workers: Workers, rules: str, limit: float) -> None:
    """Within a tenth or half a second where nothing else runs; the test allows for a machine that is busy."""
    machine = machine_of(rules)
    property_ = next(p for p in machine.properties if p.name == "c")
    claim = next(c for c in machine.rules.claims if c.name == "c")
    started = time.monotonic()
    verdict = prove(machine, property_, claim, workers, limit)
    taken = time.monotonic() - started
    print(f"{limit} s: {taken:.2f} s")
    assert (verdict.answer, verdict.reason) == ("unknown", "time ran out")
    assert taken <= limit + 1.5
