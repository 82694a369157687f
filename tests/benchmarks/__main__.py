"""The measurements: `python -m tests.benchmarks [WHAT ...]`. Ratios within one run; nothing here is asserted.

commands  whole commands, cold: `check` beside loading the libraries it needs; `prove`, `hazards` and `strength` on the
          mended floor guard
large     `prove` on a file of 300 rules and 60 claims
delays    the same claims with delays of 0.3 s, 3 s, 30 s and 300 s
peer      the same claims beside z3's Horn engine on ordinary steps alone (`peer.py` writes them as SMT-LIB)
scale     families of rule sets that grow, with memory, beside the same peer (`scale.py`)
limits    how long a claim takes that is not decided within its time limit
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import cone
from latchproof.machine.model import Machine
from latchproof.pipeline import check_text
from latchproof.prove.prover import prove, prove_all
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.source import Source
from tests.benchmarks.families import FAMILIES, guards, nested
from tests.benchmarks.guard import guard
from tests.benchmarks.peer import peer_seconds
from tests.benchmarks.scale import LIMIT, scale
from tests.helpers.rules import machine_of

ROOT = Path(__file__).resolve().parents[2]
IGNORED = 0.2
"""Seconds below which two engine times count as equal."""
PEER_LIMIT = 30.0


def whole_command(*argv: str, times: int = 5) -> float:
    """Seconds on the wall for a command, the middle of several."""
    taken = []
    for _ in range(times):
        started = time.monotonic()
        subprocess.run([sys.executable, *argv], cwd=ROOT, capture_output=True, check=False)
        taken.append(time.monotonic() - started)
    return sorted(taken)[times // 2]


def machine_for(delay: Fraction) -> Machine:
    checked = check_text(Source("guard.latch", guard(delay)), ROOT)
    assert checked.rules is not None, checked.diagnostics
    machine, problems = compile_rules(checked.rules)
    assert machine is not None, problems
    return machine


def verdicts(machine: Machine, workers: Workers) -> dict[str, Verdict]:
    return {v.claim: v for v in prove_all(machine, workers, time_limit=60, at_once=1)}


def with_workers(measure: Callable[[Workers], None]) -> Callable[[], None]:
    def measured() -> None:
        with Workers() as workers:
            workers.warm_up()
            measure(workers)

    return measured


def commands() -> None:
    libraries = whole_command("-c", "import lark, rich")
    check = whole_command("-m", "latchproof", "check", "examples/floor_guard/mended.latch")
    prove = whole_command("-m", "latchproof", "prove", "examples/floor_guard/mended.latch", times=3)
    guarded = "examples/floor_guard/mended.latch"
    hazards = whole_command("-m", "latchproof", "hazards", "--no-cache", guarded, times=1)
    strength = whole_command("-m", "latchproof", "strength", guarded, times=1)
    print(f"import lark, rich       {libraries:7.2f} s")
    print(f"check, cold             {check:7.2f} s   {check / libraries:.1f} times that")
    print(f"prove, cold             {prove:7.2f} s")
    print(f"hazards, cold           {hazards:7.2f} s")
    print(f"strength                {strength:7.2f} s")


def large() -> None:
    """Seconds on the wall, and of all processors: on a machine of its own the first is half of the second."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "large.latch"
        file.write_text(guards(300), encoding="utf-8")
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        started = time.monotonic()
        command = [sys.executable, "-m", "latchproof", "prove", "--no-cache", "--time-limit", "60", str(file)]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
        taken = time.monotonic() - started
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(
        f"\n300 rules, 60 claims    {taken:7.2f} s on the wall, {spent:.2f} s of its processors, exit {done.returncode}"
    )
    print(f"                        {done.stdout.count('proved')} lines that say proved")


def delays(workers: Workers) -> None:
    spans = [Fraction("0.3"), Fraction(3), Fraction(30), Fraction(300)]
    results = [verdicts(machine_for(d), workers) for d in spans]
    print(f"\n{'claim':12} {'answer':9}" + "".join(f"{float(d):>9} s" for d in spans) + "   slowest / fastest")
    for name in results[0]:
        answers = {r[name].answer for r in results}
        taken = [r[name].seconds for r in results]
        ratio = max(max(taken), IGNORED) / max(min(taken), IGNORED)
        cells = "".join(f"{t:9.2f} s" for t in taken)
        print(f"{name:12} {'/'.join(sorted(answers)):9}{cells}   {ratio:.1f}")


def beside_the_peer(workers: Workers) -> None:
    machine = machine_for(Fraction(3))
    ours = verdicts(machine, workers)
    print(
        f"\n{'claim':12} {'ours':>9} {'peer':>9}   peer / ours   (delays of 3 s, peer ended after {PEER_LIMIT:.0f} s)"
    )
    totals = [0.0, 0.0]
    for p in machine.properties:
        answer, taken = peer_seconds(cone(machine, p), PEER_LIMIT)
        mine = ours[p.name]
        totals = [totals[0] + mine.seconds, totals[1] + taken]
        more = "more than " if answer == "no answer" else ""
        ratio = f"{more}{taken / mine.seconds:.1f}"
        print(f"{p.name:12} {mine.seconds:7.2f} s {taken:7.2f} s   {ratio}   {mine.answer}, {answer}")
    print(f"{'all':12} {totals[0]:7.2f} s {totals[1]:7.2f} s   {totals[1] / totals[0]:.1f}")


def limits(workers: Workers) -> None:
    """Seconds on the wall for an example that is too far away to be found, under several time limits. The first of them
    also waits until the workers are loaded."""
    machine = machine_of(nested(100))
    claims = {c.name: c for c in machine.rules.claims}
    far = machine.properties[-1]
    print(f"\n{'limit':>8} {'taken':>10} {'over':>9}   answer of {far.name}")
    for limit in (0.3, 0.3, 1.0, 3.0, 8.0):
        load = os.getloadavg()[0]
        started = time.monotonic()
        answer = prove(machine, far, claims.get(far.name), workers, limit).answer
        taken = time.monotonic() - started
        kept = "kept" if taken - limit <= max(0.5, limit / 10) else "not kept"
        print(f"{limit:6.1f} s {taken:8.2f} s {taken - limit:+7.2f} s   {answer}; {kept}; load {load:.1f}")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("what", nargs="*", choices=[*PARTS, []], help="all, unless some are named")
    parser.add_argument("--sizes", default="10,30,100,300,1000", help="for scale")
    parser.add_argument("--family", choices=FAMILIES, help="for scale: this one alone")
    parser.add_argument("--limit", type=float, default=LIMIT, help="for scale: seconds on the wall for a claim")
    chosen = parser.parse_args()
    load = ", ".join(f"{x:.1f}" for x in os.getloadavg())
    print(f"{os.cpu_count()} cores; load before: {load}")
    for what in chosen.what or PARTS:
        if what == "scale":
            sizes = [int(size) for size in chosen.sizes.split(",")]
            scale([chosen.family] if chosen.family else tuple(FAMILIES), sizes, chosen.limit)
        else:
            PARTS[what]()
    print(f"load after: {', '.join(f'{x:.1f}' for x in os.getloadavg())}")


PARTS: dict[str, Callable[[], None]] = {
    "commands": commands,
    "large": large,
    "delays": with_workers(delays),
    "peer": with_workers(beside_the_peer),
    "scale": scale,
    "limits": with_workers(limits),
}


if __name__ == "__main__":
    main()
