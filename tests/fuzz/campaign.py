"""Random rule sets by the thousand, each held to what must agree on any rule set.

    python -m tests.fuzz.campaign --count 20000                  texts, interpreter, solver, monitors (`agreement.py`)
    python -m tests.fuzz.campaign --count 20000 --search         and a bounded search for each claim, its paths run
    python -m tests.fuzz.campaign --count 20000 --prove-every 20 every 20th also through the whole prover
    python -m tests.fuzz.campaign --engines --count 2000         all engines on each claim, one by one (`engines.py`)
    python -m tests.fuzz.campaign --seed 4711 --count 1 --show   one rule set again, with its text

With `--log FILE` a run that was ended goes on where it was. Prints how far it is to standard error (on a terminal), and
at the end what was checked and every seed that failed. Ends with 1 if one did. The same seeds give the same rule sets
and the same runs.
"""

import argparse
import json
import multiprocessing
import os
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Literal

ROOT = Path(__file__).resolve().parents[2]
PORTION = 10
"""Rule sets that a process takes at a time."""


Kind = Literal["runs", "search", "engines"]


@dataclass(frozen=True, slots=True)
class Task:
    seeds: tuple[int, ...]
    prove_every: int
    time_limit: float
    kind: Kind = "runs"


@dataclass(slots=True)
class Outcome:
    """Of one or many portions: rule sets, cycles and claims decided in runs, the prover's answers, what failed."""

    sets: int = 0
    cycles: int = 0
    met: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    said: Counter[str] = field(default_factory=Counter)
    failures: list[tuple[int, str]] = field(default_factory=list)

    def add(self, other: "Outcome") -> None:
        self.sets += other.sets
        self.cycles += other.cycles
        self.met += other.met
        self.answers += other.answers
        self.said += other.said
        self.failures += other.failures

    def summary(self) -> str:
        lines = [f"{self.sets} rule sets"]
        if self.cycles:
            lines[0] += f", {self.cycles} cycles compared, {self.met} claims decided in their runs"
        lines += [f"{count:7} {what}" for what, count in sorted(self.said.items())]
        if self.answers:
            lines.append("verdicts: " + ", ".join(f"{n} {answer}" for answer, n in sorted(self.answers.items())))
        lines += [f"FAILED seed {seed}: {what}" for seed, what in sorted(self.failures)]
        return "\n".join([*lines, f"{len(self.failures)} failures"])


def look(task: Task) -> Outcome:
    """One portion, in a process of its own. A proof's workers are started only where some are needed."""
    from tests.fuzz.agreement import check_seed
    from tests.helpers.pool import pool

    made = Outcome()
    if task.kind != "runs":
        from tests.fuzz.engines import check_engines, check_search

        check = check_search if task.kind == "search" else check_engines
        for seed in task.seeds:
            _one(made, seed, lambda s: check(s, task.time_limit))
        return made
    proving = [seed for seed in task.seeds if task.prove_every and seed % task.prove_every == 0]
    if not proving:
        for seed in task.seeds:
            _one(made, seed, lambda s: check_seed(s))
        return made
    with pool() as workers:
        for seed in task.seeds:
            with_prover = workers if seed in proving else None
            _one(made, seed, lambda s, w=with_prover: check_seed(s, workers=w, time_limit=task.time_limit))
    return made


def _one(made: Outcome, seed: int, check) -> None:  # type: ignore[no-untyped-def]
    made.sets += 1
    try:
        checked = check(seed)
    except Exception as error:  # a campaign goes on after a crash, and tells of it
        place = traceback.extract_tb(error.__traceback__)[-1]
        what = f"{type(error).__name__}: {' '.join(str(error).split())[:300]}"
        made.failures.append((seed, f"{what} ({Path(place.filename).name}:{place.lineno})"))
        return
    if isinstance(checked, Counter):
        made.said += checked
        return
    made.cycles += checked.cycles
    made.met += checked.met
    made.answers.update(checked.answers)


def campaign(
    seeds: Sequence[int],
    *,
    jobs: int | None = None,
    prove_every: int = 0,
    time_limit: float = 4,
    kind: Kind = "runs",
    log: Path | None = None,
) -> Iterator[Outcome]:
    """What has come of it so far, after each portion. Portions that stand in the `log` are not looked at again."""
    portions = [tuple(seeds[k : k + PORTION]) for k in range(0, len(seeds), PORTION)]
    so_far, known = Outcome(), _logged(log)
    for portion in portions:
        if portion in known:
            so_far.add(known[portion])
    tasks = [Task(portion, prove_every, time_limit, kind) for portion in portions if portion not in known]
    jobs = max(1, min(jobs or os.cpu_count() or 1, len(tasks)))
    paths = (str(ROOT), str(ROOT / "compiler"), os.environ.get("PYTHONPATH", ""))
    yield so_far
    with ProcessPoolExecutor(
        jobs, mp_context=multiprocessing.get_context("spawn"), initializer=_find, initargs=(paths,)
    ) as processes:
        waiting = {processes.submit(look, task): task for task in tasks}
        for done in as_completed(waiting):
            so_far.add(done.result())
            if log is not None:
                with log.open("a", encoding="utf-8") as file:
                    line = {"seeds": waiting[done].seeds, "outcome": vars_of(done.result())}
                    file.write(json.dumps(line) + "\n")
            yield so_far


def vars_of(outcome: Outcome) -> dict[str, object]:
    return {f.name: getattr(outcome, f.name) for f in fields(outcome)}


def _logged(log: Path | None) -> dict[tuple[int, ...], Outcome]:
    """Portions of an earlier run."""
    if log is None or not log.exists():
        return {}
    known = {}
    for line in log.read_text(encoding="utf-8").splitlines():
        entry = json.loads(line)
        told = entry["outcome"]
        failures = [(seed, what) for seed, what in told["failures"]]
        counters = {name: Counter(told[name]) for name in ("answers", "said")}
        known[tuple(entry["seeds"])] = Outcome(**{**told, **counters, "failures": failures})
    return known


def _find(paths: tuple[str, ...]) -> None:
    sys.path[:0] = [path for path in paths if path]


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--count", type=int, default=20_000, help="how many rule sets (20000)")
    parser.add_argument("--seed", type=int, default=0, help="the first seed; the others follow it (0)")
    parser.add_argument("--jobs", type=int, default=None, help="processes at a time (one a core)")
    parser.add_argument("--prove-every", type=int, default=0, help="prove the claims of every so-manieth as well")
    parser.add_argument("--time-limit", type=float, default=4, help="seconds for each claim, or each engine (4)")
    parser.add_argument("--search", action="store_true", help="a bounded search for each claim beside the runs")
    parser.add_argument("--engines", action="store_true", help="all engines on each claim, one by one")
    parser.add_argument("--log", type=Path, help="a file that keeps what was done, to go on from")
    parser.add_argument("--show", action="store_true", help="print the rule sets first")
    chosen = parser.parse_args(arguments)
    seeds = range(chosen.seed, chosen.seed + chosen.count)
    if chosen.show:
        _find((str(ROOT), str(ROOT / "compiler")))
        from tests.fuzz.engines import text_of
        from tests.helpers.generate import generate

        for seed in seeds:
            print(f"# seed {seed}\n{text_of(seed) if chosen.engines else generate(seed)}")
    started, told = time.monotonic(), Outcome()
    kind: Kind = "engines" if chosen.engines else "search" if chosen.search else "runs"
    limits = {"jobs": chosen.jobs, "prove_every": chosen.prove_every, "time_limit": chosen.time_limit}
    for told in campaign(seeds, **limits, kind=kind, log=chosen.log):
        if sys.stderr.isatty():
            seconds = time.monotonic() - started
            print(
                f"\r{told.sets} of {chosen.count}, {len(told.failures)} failures, {seconds:.0f} s",
                end="",
                file=sys.stderr,
            )
    if sys.stderr.isatty():
        print(file=sys.stderr)
    print(told.summary())
    print(f"{time.monotonic() - started:.0f} s")
    return 1 if told.failures else 0


if __name__ == "__main__":
    raise SystemExit(main())
