"""Random rule sets by the thousand, each held to what must agree on any rule set (`agreement.py`).

    python tests/fuzz/campaign.py --count 20000                 the longer run, about half an hour on two cores
    python tests/fuzz/campaign.py --count 20000 --prove-every 20   every 20th also through the prover: some hours
    python tests/fuzz/campaign.py --seed 4711 --count 1 --show  one rule set again, with its text

Prints how far it is to standard error (on a terminal), and at the end what was checked and every seed that failed.
Ends with 1 if one did. The same seeds give the same rule sets and the same runs.
"""

import argparse
import multiprocessing
import os
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PORTION = 10
"""Rule sets that a process takes at a time."""


@dataclass(frozen=True, slots=True)
class Task:
    seeds: tuple[int, ...]
    prove_every: int
    time_limit: float


@dataclass(slots=True)
class Outcome:
    """Of one or many portions: rule sets, cycles and claims decided in runs, the prover's answers, what failed."""

    sets: int = 0
    cycles: int = 0
    met: int = 0
    answers: Counter[str] = field(default_factory=Counter)
    failures: list[tuple[int, str]] = field(default_factory=list)

    def add(self, other: "Outcome") -> None:
        self.sets += other.sets
        self.cycles += other.cycles
        self.met += other.met
        self.answers += other.answers
        self.failures += other.failures

    def summary(self) -> str:
        lines = [f"{self.sets} rule sets, {self.cycles} cycles compared, {self.met} claims decided in their runs"]
        if self.answers:
            lines.append("verdicts: " + ", ".join(f"{n} {answer}" for answer, n in sorted(self.answers.items())))
        lines += [f"FAILED seed {seed}: {what}" for seed, what in sorted(self.failures)]
        return "\n".join([*lines, f"{len(self.failures)} failures"])


def look(task: Task) -> Outcome:
    """One portion, in a process of its own. A proof's workers are started only where some are needed."""
    from tests.fuzz.agreement import check_seed
    from tests.helpers.pool import pool

    made = Outcome()
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
    made.cycles += checked.cycles
    made.met += checked.met
    made.answers.update(checked.answers)


def campaign(
    seeds: Sequence[int], *, jobs: int | None = None, prove_every: int = 0, time_limit: float = 4
) -> Iterator[Outcome]:
    """What has come of it so far, after each portion."""
    tasks = [Task(tuple(seeds[k : k + PORTION]), prove_every, time_limit) for k in range(0, len(seeds), PORTION)]
    jobs = min(jobs or os.cpu_count() or 1, len(tasks))
    paths = (str(ROOT), str(ROOT / "compiler"), os.environ.get("PYTHONPATH", ""))
    so_far = Outcome()
    with ProcessPoolExecutor(
        jobs, mp_context=multiprocessing.get_context("spawn"), initializer=_find, initargs=(paths,)
    ) as processes:
        for done in as_completed([processes.submit(look, task) for task in tasks]):
            so_far.add(done.result())
            yield so_far


def _find(paths: tuple[str, ...]) -> None:
    sys.path[:0] = [path for path in paths if path]


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("--count", type=int, default=20_000, help="how many rule sets (20000)")
    parser.add_argument("--seed", type=int, default=0, help="the first seed; the others follow it (0)")
    parser.add_argument("--jobs", type=int, default=None, help="processes at a time (one a core)")
    parser.add_argument("--prove-every", type=int, default=0, help="prove the claims of every so-manieth as well")
    parser.add_argument("--time-limit", type=float, default=4, help="seconds for each claim (4)")
    parser.add_argument("--show", action="store_true", help="print the rule sets first")
    chosen = parser.parse_args(arguments)
    seeds = range(chosen.seed, chosen.seed + chosen.count)
    if chosen.show:
        _find((str(ROOT), str(ROOT / "compiler")))
        from tests.helpers.generate import generate

        for seed in seeds:
            print(f"# seed {seed}\n{generate(seed)}")
    started, told = time.monotonic(), Outcome()
    options = {"jobs": chosen.jobs, "prove_every": chosen.prove_every, "time_limit": chosen.time_limit}
    for told in campaign(seeds, **options):
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
