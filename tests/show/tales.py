"""Traces for tests: a table of inputs is run through the interpreter until a promise breaks."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from latchproof import pipeline
from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine, Property
from latchproof.prove.verdicts import Moment, Trace
from latchproof.run.expressions import Reader
from latchproof.run.inputs import read_inputs
from latchproof.run.interpreter import Interpreter
from latchproof.run.judge import judge
from latchproof.source import Source


def machine_of(text: str) -> Machine:
    checked = pipeline.check_text(Source("tale.latch", text), Path())
    assert checked.rules is not None, checked.diagnostics
    machine, found = compile_rules(checked.rules)
    assert machine is not None, found
    return machine


@dataclass(frozen=True)
class Tale:
    machine: Machine
    property_: Property
    trace: Trace


def tale(
    rules: str, table: str, claim: str, every: Fraction | None = None, tunes: dict[str, Fraction] | None = None
) -> Tale:
    """The claim broken (or a `can` fulfilled) on the table."""
    machine = machine_of(rules)
    property_ = next(p for p in machine.properties if p.name == claim)
    inputs, found = read_inputs(Source("table.csv", table), machine, every)
    assert inputs is not None, found
    records = Interpreter(machine).run(inputs.worlds, tunes)
    written = next((c for c in machine.rules.claims if c.name == claim), None)
    if written is None:
        last = since = next(k for k, r in enumerate(records) if claim in r.broken)
    else:
        finding = judge(written, Reader(machine, records, tunes or {}))
        assert finding is not None, "the claim holds on this table"
        last, since = finding.cycle, finding.since
    worlds = inputs.worlds[: last + 1]
    trace = Trace(tunes or {}, {}, worlds, records[: last + 1], (Moment(0, last + 1),), since)
    return Tale(machine, property_, trace)
