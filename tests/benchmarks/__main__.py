"""The measurements: `python -m tests.benchmarks`. Ratios within one run; nothing here is asserted.

1 whole commands, cold: `check` beside loading the libraries it needs, and `prove` on the mended floor guard
2 the same claims with delays of 0.3 s, 3 s, 30 s and 300 s
3 the same claims beside z3's Horn engine on ordinary steps alone (`peer.py` writes them as SMT-LIB)
"""

import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import cone
from latchproof.machine.model import Machine
from latchproof.pipeline import check_text
from latchproof.prove.prover import prove_all
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.source import Source
from tests.benchmarks.guard import guard
from tests.benchmarks.peer import peer_seconds

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


def commands() -> None:
    libraries = whole_command("-c", "import lark, rich")
    check = whole_command("-m", "latchproof", "check", "examples/floor_guard/mended.latch")
    prove = whole_command("-m", "latchproof", "prove", "examples/floor_guard/mended.latch", times=3)
    print(f"import lark, rich       {libraries:7.2f} s")
    print(f"check, cold             {check:7.2f} s   {check / libraries:.1f} times that")
    print(f"prove, cold             {prove:7.2f} s")


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


def main() -> None:
    commands()
    with Workers() as workers:
        workers.warm_up()
        delays(workers)
        beside_the_peer(workers)


if __name__ == "__main__":
    main()
