"""Every weakening of a rule set with what came of it: who notices, and what would if nobody does."""

from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import Literal

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import cone
from latchproof.machine.model import Machine
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.prover import prove
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim, RuleSet
from latchproof.strength.alike import Key, machine_key
from latchproof.strength.dangers import Danger, Dangers, Warned
from latchproof.strength.flights import Flight, flight, flights, kept_arriving, reached
from latchproof.strength.looking import looked
from latchproof.strength.notice import Known, Look, Looked, known
from latchproof.strength.side_by_side import side_by_side
from latchproof.strength.suggest import suggestion
from latchproof.strength.weaken import weakenings
from latchproof.strength.weakening import Weakening

TOGETHER = 8
"""Weakenings that are tested with the same flights; those that they add are for the next ones. The result must not
depend on how many run at once."""


@dataclass(frozen=True, slots=True)
class Nothing:
    """It is proved that there is no difference; `facts`: while the facts of the file hold."""

    facts: bool = False


State = Literal["noticed", "hazard", "unnoticed", "changes nothing", "not decided"]
"""`hazard`: no claim notices, but one of the dangers that are looked for in all rules is then there."""


@dataclass(frozen=True, slots=True)
class Tested:
    """`by`: the claim that notices; `danger`: the hazard that does where no claim does. `open` and `dangers`: claims
    and hazards of which it is not settled whether they do. `suggested`: a claim that would notice. `facts`: that it
    changes nothing is only so while the facts of the file hold; `beyond`: where they do not, it was seen to matter."""

    weakening: Weakening
    state: State
    by: str | None = None
    open: tuple[str, ...] = ()
    suggested: Claim | None = None
    danger: Danger | None = None
    dangers: tuple[Danger, ...] = ()
    facts: bool = False
    beyond: bool = False


def on_a_prompt_device(rules: RuleSet) -> RuleSet:
    """The same rules on a device that reads each cycle's values in that cycle and starts with all memory reset: what
    the rules say is weighed, not what a device makes of it."""
    return replace(rules, device=replace(rules.device, reads="this cycle", starts="reset"))


@dataclass
class Strength:
    """The work on one rule set. `verdicts` are those on the rules as they are, `flights` runs of them that are known
    beside the verdicts' own. `dangers`: the hazards of the rules, if they are to be asked too."""

    machine: Machine
    verdicts: Sequence[Verdict]
    workers: Workers
    time_limit: float
    at_once: int
    flights: list[Flight] = field(default_factory=list)
    dangers: Dangers | None = None
    noticed: Counter[str] = field(default_factory=Counter)

    def run(self) -> Iterator[Tested]:
        before = known(self.machine, self.verdicts)
        shown = (*flights(self.verdicts), *self.flights)
        self.flights = [*shown, *(kept_arriving(self.machine, f) for f in shown)]
        waiting = list(self._different())
        with ThreadPoolExecutor(max_workers=self.at_once) as threads:
            for start in range(0, len(waiting), TOGETHER):
                some = waiting[start : start + TOGETHER]
                known_flights, first = tuple(self.flights), self._first()
                jobs = [threads.submit(self._test, before, w, m, known_flights, first) for w, m in some]
                for job in jobs:
                    tested, result = job.result()
                    self.flights += result.flights
                    if tested.by is not None:
                        self.noticed[tested.by] += 1
                    yield tested

    def count(self) -> int:
        return len(list(self._different()))

    def _different(self) -> Iterator[tuple[Weakening, Machine]]:
        """Each other machine once; what goes round in a circle is not a rule set at all."""
        seen: set[Key] = {machine_key(self.machine)}
        for w in weakenings(self.machine.rules):
            machine, _ = compile_rules(w.rules)
            if machine is not None and (key := machine_key(machine)) not in seen:
                seen.add(key)
                yield w, machine

    def _first(self) -> tuple[str, ...]:
        """Claims in the order in which they are to be asked: who noticed most comes first."""
        names = [p.name for p in self.machine.properties]
        return tuple(sorted(names, key=lambda name: (-self.noticed[name], names.index(name))))

    def _test(
        self, before: Known, w: Weakening, machine: Machine, known_flights: Sequence[Flight], first: Sequence[str]
    ) -> tuple[Tested, Looked]:
        result = Look(before, machine, TimeGoesOn(self.workers), self.time_limit).run(known_flights, first)
        if result.by is not None:
            return Tested(w, "noticed", result.by), result
        flown = (*result.flights, *known_flights)
        both = side_by_side(self.machine, machine)
        same = both.properties[0].signal == both.terms.false
        warned = Warned() if same or self.dangers is None else self.dangers.glance(w.rules, flown)
        difference = Nothing() if same else None if warned.by is not None else self._difference(both, flown)
        if warned.by is None and self.dangers is not None and not isinstance(difference, Nothing):
            warned = self.dangers.look(w.rules, (*warned.new, *flown))
        if warned.by is not None:
            return Tested(w, "hazard", open=result.open, danger=warned.by), result
        if isinstance(difference, Nothing):
            beyond = difference.facts and self._differs_beyond(both)
            return Tested(w, "changes nothing", facts=difference.facts, beyond=beyond), result
        if difference is not None:
            result = replace(result, flights=(*result.flights, difference))
        suggested = suggestion(self.machine.rules, w, (*result.flights, *known_flights), self.workers, self.time_limit)
        state: State = "not decided" if result.open or warned.open else "unnoticed"
        return Tested(w, state, open=result.open, suggested=suggested, dangers=warned.open), result

    def _difference(self, both: Machine, flown: Sequence[Flight]) -> Flight | Nothing | None:
        """A flight that shows one; None if it is not settled whether there is any."""
        goal = both.properties[0]
        for f in flown:
            if reached(both, f):
                return f
        for f in looked(both, both.properties, self.workers, self.time_limit / 2):
            return f
        verdict = prove(both, goal, None, self.workers, self.time_limit)
        if verdict.answer == "proved":
            with_facts = verdict.certificate is not None and verdict.certificate.facts
            return Nothing(with_facts and bool(cone(both, goal).constraints))
        return None if verdict.trace is None else flight(verdict.trace)

    def _differs_beyond(self, both: Machine) -> bool:
        """Whether there is a difference in a world that keeps to no fact."""
        free = replace(both, constraints=(), assumed=())
        return any(True for _ in looked(free, free.properties, self.workers, self.time_limit / 2))
