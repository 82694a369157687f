"""Whether things can happen at all: many questions at once, most of them answered by a flight that is known already."""

import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import chain
from typing import Literal

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine, Property
from latchproof.prove.prover import prove
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim, RuleSet
from latchproof.strength.flights import Flight, flight, kept_arriving, reached
from latchproof.strength.kept_flights import flyable
from latchproof.strength.looking import SHALLOW, looked

Answer = Literal["yes", "no", "open"]

WORTHWHILE = 16
"""A search for any of many things goes on while each flight shows at least one in so many of those left."""


@dataclass(frozen=True)
class Questions:
    """`can` claims, by name, with the answer to each once `ask` is through.

    `time_limit` seconds are for all of them together: what is not settled by then stays open.
    """

    rules: RuleSet
    asked: tuple[Claim, ...]
    workers: Workers
    time_limit: float
    at_once: int

    def ask(
        self, flights: Sequence[Flight], kept: Sequence[Flight] = ()
    ) -> tuple[dict[str, Answer], tuple[Flight, ...]]:
        """The answers, and the flights beside `flights` that showed something. `kept` are from an earlier run."""
        ends = time.monotonic() + self.time_limit
        machine, _ = compile_rules(replace(self.rules, claims=self.asked))
        assert machine is not None, "claims add nothing that could go round in a circle"
        left = {p.name: p for p in machine.properties if p.kind == "reach"}
        for f in flights:
            _strike(left, machine, f)
            if any(p.arriving for p in left.values()):
                _strike(left, machine, kept_arriving(machine, f))
        told: list[Flight] = []
        for f in chain((k for k in kept if flyable(machine, k)), self._searched(machine, left, ends)):
            count = len(left)
            _strike(left, machine, f)
            told += [f] if len(left) < count else []
        answers: dict[str, Answer] = {c.name: "yes" for c in self.asked}
        claims = {c.name: c for c in self.asked}

        def settle(p: Property) -> Verdict | None:
            seconds = ends - time.monotonic()
            return prove(machine, p, claims[p.name], self.workers, seconds) if seconds > 0 else None

        with ThreadPoolExecutor(max_workers=self.at_once) as threads:
            jobs = {name: threads.submit(settle, p) for name, p in left.items()}
            for name, job in jobs.items():
                verdict = job.result()
                if verdict is None:
                    answers[name] = "open"
                    continue
                told += [flight(verdict.trace)] if verdict.trace is not None else []
                match verdict.answer:
                    case "refuted":
                        answers[name] = "no"
                    case "unknown":
                        answers[name] = "open"
                    case "proved":
                        pass
        return answers, tuple(told)

    def _searched(self, machine: Machine, left: dict[str, Property], ends: float) -> Iterator[Flight]:
        """Flights, each to something that none before has shown, as long as a short search finds enough."""
        for depth in (1, 2, SHALLOW):
            count, worth = len(left) + 1, 1
            while left and len(left) <= count - worth:
                count, worth = len(left), max(1, len(left) // WORTHWHILE)
                seconds = min(self.time_limit / 2, ends - time.monotonic())
                if seconds <= 0:
                    return
                yield from looked(machine, tuple(left.values()), self.workers, seconds, depth)


def _strike(left: dict[str, Property], machine: Machine, f: Flight) -> None:
    for name in reached(replace(machine, properties=tuple(left.values())), f):
        del left[name]
