"""Verdicts as JSON, schema `latchproof.verdicts/1`.

Times are seconds as strings, exact: a decimal (`"0.025"`) or a fraction (`"1/3"`). A trace has a row for each stretch
in which the world does one thing: `time` is its first cycle, `until` its last; inputs and values are those of the first
cycle, and a stretch of several cycles is followed by a row for its last one.
"""

import json
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import assert_never

from latchproof.machine.allowance import longest_time
from latchproof.machine.model import Machine
from latchproof.prove.assumed import Fact
from latchproof.prove.least import is_least
from latchproof.prove.story import tell
from latchproof.prove.verdicts import Trace, Verdict
from latchproof.rules.model import (
    Always,
    Before,
    Can,
    Form,
    LengthOf,
    Never,
    QuietAfter,
    RuleSet,
    StartsAtMost,
    StepOf,
    Whenever,
)  # fmt: skip
from latchproof.run.interpreter import Record
from latchproof.show import stuck
from latchproof.show.device import told
from latchproof.show.facts import what
from latchproof.show.quantities import decimal
from latchproof.show.verdicts import claim_of, sentence
from latchproof.show.wording import Wording

SCHEMA = "latchproof.verdicts/1"

Row = dict[str, object]


def as_json(files: Iterable[tuple[str, Machine | None, Iterable[Verdict]]]) -> str:
    """Of each file its name, its machine (None when the rules have an error) and its verdicts."""
    rows = [
        {"file": name, "claims": [] if machine is None else [claim_row(v, machine) for v in verdicts]}
        for name, machine, verdicts in files
    ]
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps({"schema": SCHEMA, "files": rows}, indent=2, ensure_ascii=True)


def claim_row(verdict: Verdict, machine: Machine) -> Row:
    claim = claim_of(verdict, machine)
    return {
        "name": verdict.claim,
        "text": sentence(verdict, machine) if claim is None else " ".join(claim.text.split()),
        "kind": "unwritten" if claim is None else kind(claim.form),
        "verdict": verdict.answer,
        "engine": verdict.engine,
        "seconds": round(verdict.seconds, 3),
        "allowance": allowance_row(verdict, machine),
        "never_put_to_the_test": verdict.untested,
        "rests_on": None if verdict.rests_on is None else list(verdict.rests_on),
        "sticks": None if verdict.stuck is None else stuck.sentence(verdict.stuck, machine.rules),
        "assumed": [_fact_row(f, machine.rules) for f in verdict.assumed],
        "device": device_rows(verdict, machine),
        "trace": None if verdict.trace is None else trace_rows(verdict.trace, machine),
    }


def device_rows(verdict: Verdict, machine: Machine) -> list[str]:
    """In words, on what kind of device the trace happens: who reads whom late, what memory held at power-up."""
    if verdict.trace is None:
        return []
    property_ = next(p for p in machine.properties if p.name == verdict.claim)
    story = tell(machine, property_, verdict.trace)
    return list(told(machine.rules.device, story.late, story.begun, Wording.of(machine.rules)))


def allowance_row(verdict: Verdict, machine: Machine) -> Row | None:
    """By how much the claim may be late; None where it may not. `least`: with less it is known to fail."""
    cycles = verdict.allowance
    if not cycles:
        return None
    return {
        "cycles": cycles,
        "seconds": decimal(longest_time(cycles, machine.rules)),
        "least": verdict.answer == "proved" and is_least(verdict),
    }


def kind(form: Form) -> str:
    """The word a claim of this form begins with."""
    match form:
        case Never():
            return "never"
        case Always():
            return "always"
        case Whenever():
            return "whenever"
        case Before():
            return "before"
        case StartsAtMost():
            return "starts"
        case QuietAfter():
            return "for"
        case LengthOf():
            return "length"
        case StepOf():
            return "step"
        case Can():
            return "can"
        case _:
            assert_never(form)


def trace_rows(trace: Trace, machine: Machine) -> list[Row]:
    rows = []
    for moment in trace.moments:
        first, last = trace.records[moment.first], trace.records[moment.first + moment.cycles - 1]
        span = {"time": decimal(first.time), "until": decimal(last.time), "cycles": moment.cycles}
        rows.append({**span, "inputs": inputs_row(first, machine), "values": values_row(first, machine)})
        if moment.cycles > 1:
            span = {"time": decimal(last.time), "until": decimal(last.time), "cycles": 1}
            rows.append({**span, "inputs": inputs_row(last, machine), "values": values_row(last, machine)})
    return rows


def inputs_row(record: Record, machine: Machine) -> Row:
    """By name: the position of a switch, whether a button is pressed, a number, for a sensor the reading that
    arrives."""
    row: Row = {}
    given = record.inputs
    for switch in machine.rules.switches:
        bits = [f"{switch.name}@{k}" for k in range(1, len(switch.positions))]
        if any(bit in given for bit in bits):
            row[switch.name] = switch.positions[next((k for k in range(len(bits), 0, -1) if given.get(bits[k - 1])), 0)]
    for button in machine.rules.buttons:
        if button.name in given:
            row[button.name] = bool(given[button.name])
    for control in machine.rules.controls:
        if control.name in given:
            row[control.name] = decimal(given[control.name] / control.unit.factor)
    for sensor in machine.rules.sensors:
        name, per = sensor.name, sensor.unit.factor
        if f"{name}@frame" in given:
            arrives = bool(given[f"{name}@frame"]) and f"{name}@reading" in given
            row[name] = decimal(given[f"{name}@reading"] / per) if arrives else None
        if f"{name}@truth" in given:
            row[f"{name}.truth"] = decimal(given[f"{name}@truth"] / per)
    return row


def values_row(record: Record, machine: Machine) -> Row:
    """Everything the rules name, numbers in the unit they are declared in."""
    units = _units(machine.rules)
    row: Row = {}
    for name, value in record.values.items():
        if "@" in name:
            continue
        row[name] = value if isinstance(value, bool) else decimal(Fraction(value) / units.get(name, Fraction(1)))
    return row


def _units(rules: RuleSet) -> Mapping[str, Fraction]:
    return {
        **{s.name: s.unit.factor for s in rules.sensors},
        **{c.name: c.unit.factor for c in rules.channels},
        **{v.name: v.unit.factor for v in rules.values},
        **{s.name: s.unit.factor for s in rules.samples},
    }


def _fact_row(f: Fact, rules: RuleSet) -> Row:
    basis = f.basis
    return {
        "fact": what(f, rules),
        "basis": "assumed" if basis is None else basis.kind,
        "date": None if basis is None else basis.date,
        "note": None if basis is None else basis.note,
    }
