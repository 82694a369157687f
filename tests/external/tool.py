"""Rule texts through the whole program: read, run in the interpreter, proved."""

from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache

from latchproof.machine.model import Machine
from latchproof.prove.prover import prove_all
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, Record, World, valid_inputs
from latchproof.run.judge import judge
from latchproof.run.program import Exact
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import machine_of as compiled

Setting = bool | int | str | Fraction
"""What a cycle gives to a button (pressed or not), a stick (its value), or a switch (the name of a position)."""

SECONDS = 'rules "A published table" version "1"\ncycle from 1 s to 1 s  assumed "the table counts whole seconds"\n'
"""The head of a rule set for a table in ticks of one second."""

LIMIT = 60.0
"""Seconds for one claim: generous, the proofs need about one."""

SIMULATED = 40
"""Cycles of each random run that must not contradict a proof."""

AT_ONCE = 3
"""Claims that are proved at the same time."""


machine_of = cache(compiled)


def worlds(machine: Machine, cycles: Iterable[Mapping[str, Setting]], dt: Fraction) -> tuple[World, ...]:
    """Inputs of every cycle. What a cycle does not name is released, in its first position, at zero."""
    made = tuple(World(dt, _inputs(machine, cycle)) for cycle in cycles)
    assert [w for one in made for w in valid_inputs(machine, one)] == []
    return made


def _inputs(machine: Machine, cycle: Mapping[str, Setting]) -> dict[str, Exact]:
    given: dict[str, Exact] = {}
    for name, setting in cycle.items():
        if isinstance(setting, str):
            positions = next(s.positions for s in machine.rules.switches if s.name == name)
            given |= {f"{name}@{k}": k == positions.index(setting) for k in range(1, len(positions))}
        else:
            given[name] = setting if isinstance(setting, bool) else Fraction(setting)
    known = {i.name for i in machine.inputs}
    assert given.keys() <= known, given.keys() - known
    rest = {i.name: False if i.sort == "bool" else Fraction(0) for i in (*machine.inputs, *machine.picks)}
    return {**rest, **given}


def run(text: str, cycles: Iterable[Mapping[str, Setting]], dt: Fraction = Fraction(1)) -> tuple[Record, ...]:
    machine = machine_of(text)
    return Interpreter(machine).run(worlds(machine, cycles, dt))


def column(records: Iterable[Record], name: str) -> list[Exact]:
    return [r.values[name] for r in records]


def broken_at(text: str, records: tuple[Record, ...]) -> dict[str, int | None]:
    """By claim: the first cycle in which the direct reading of the whole run finds it broken."""
    machine = machine_of(text)
    reader = Reader(machine, records, {})
    findings = {c.name: judge(c, reader) for c in machine.rules.claims}
    return {name: None if f is None else f.cycle for name, f in findings.items()}


@dataclass
class Prover:
    """Proves each claim of a text once a session."""

    workers: Workers
    done: dict[tuple[str, str], Verdict] = field(default_factory=dict)

    def verdicts(self, text: str, only: Iterable[str] = ()) -> dict[str, Verdict]:
        """By name; of all claims, or of some."""
        machine = machine_of(text)
        names = {p.name for p in machine.properties}
        wanted = set(only) or names
        assert wanted <= names, wanted - names
        todo = tuple(p for p in machine.properties if p.name in wanted and (text, p.name) not in self.done)
        for v in prove_all(replace(machine, properties=todo), self.workers, time_limit=LIMIT, at_once=AT_ONCE):
            self._check(machine, v)
            self.done[text, v.claim] = v
        return {name: self.done[text, name] for name in sorted(wanted)}

    def _check(self, machine: Machine, v: Verdict) -> None:
        """What every verdict must stand, see tests/helpers/proofs.py."""
        property_ = next(p for p in machine.properties if p.name == v.claim)
        claim = next(c for c in machine.rules.claims if c.name == v.claim)
        check_verdict(machine, property_, claim, v, self.workers, cycles=SIMULATED)

    def prove_ahead(self, texts: Iterable[str]) -> None:
        """All claims of several texts, a few texts at a time: small ones would otherwise wait for each other."""
        with ThreadPoolExecutor(AT_ONCE) as threads:
            list(threads.map(self.verdicts, texts))

    def answers(self, text: str, only: Iterable[str] = ()) -> dict[str, str]:
        return {name: v.answer for name, v in self.verdicts(text, only).items()}


def replayed(machine: Machine, v: Verdict) -> tuple[Record, ...]:
    """The story of a verdict run anew in the whole machine; what it leaves out stays at rest."""
    assert v.trace is not None
    rest = _inputs(machine, {})
    world = tuple(World(w.dt, {**rest, **w.inputs}) for w in v.trace.world)
    assert [w for one in world for w in valid_inputs(machine, one)] == []
    return Interpreter(machine).run(world, v.trace.parameters, v.trace.start)
