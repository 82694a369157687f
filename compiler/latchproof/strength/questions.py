"""Whether things can happen at all: many questions at once, most of them answered by a flight that is known already."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Literal

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import system_for
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.found import Found
from latchproof.prove.prover import prove
from latchproof.prove.replay import replay
from latchproof.prove.tasks import Bounded
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim, RuleSet
from latchproof.strength.flights import Flight, flight, reached

SHALLOW = 5
"""Moments that a search for all that is left looks ahead; what needs more is asked for by itself."""

Answer = Literal["yes", "no", "open"]


@dataclass(frozen=True)
class Questions:
    """`can` claims, by name, with the answer to each once `ask` is through."""

    rules: RuleSet
    asked: tuple[Claim, ...]
    workers: Workers
    time_limit: float
    at_once: int

    def ask(self, flights: Sequence[Flight]) -> dict[str, Answer]:
        machine, _ = compile_rules(replace(self.rules, claims=self.asked))
        assert machine is not None, "claims add nothing that could go round in a circle"
        left = {p.name: p for p in machine.properties if p.kind == "reach"}
        for f in flights:
            _strike(left, machine, f)
        for f in self._searched(machine, left):
            _strike(left, machine, f)
        answers: dict[str, Answer] = {c.name: "yes" for c in self.asked}
        claims = {c.name: c for c in self.asked}
        with ThreadPoolExecutor(max_workers=self.at_once) as threads:
            jobs = {
                name: threads.submit(prove, machine, p, claims[name], self.workers, self.time_limit)
                for name, p in left.items()
            }
            for name, job in jobs.items():
                match job.result().answer:
                    case "refuted":
                        answers[name] = "no"
                    case "unknown":
                        answers[name] = "open"
                    case "proved":
                        pass
        return answers

    def _searched(self, machine: Machine, left: dict[str, Property]) -> Iterator[Flight]:
        """Flights, each to something that none before has shown, as long as a short search finds one."""
        while left:
            groups = {frozenset(c.why for c in p.arriving) for p in left.values()}
            found = False
            for group in sorted(groups, key=sorted):
                some = [p for p in left.values() if frozenset(c.why for c in p.arriving) == group]
                if not some:
                    continue
                whole = Property("any of them", "reach", machine.terms.any(*(p.signal for p in some)), some[0].arriving)
                flat = flatten(system_for(machine, whole.name, "reach", whole.signal, whole.arriving))
                answer = self.workers.run(Bounded(flat, True, SHALLOW, self.time_limit / 2), self.time_limit)
                if not isinstance(answer, Found) or answer.stretches is None:
                    continue
                made = replay(replace(machine, properties=(whole,)), whole, None, answer)
                count = len(left)
                if made.trace is not None:
                    yield flight(made.trace)
                found = found or len(left) < count
            if not found:
                return


def _strike(left: dict[str, Property], machine: Machine, f: Flight) -> None:
    for name in reached(replace(machine, properties=tuple(left.values())), f):
        del left[name]
