"""A run of the rules on a table of inputs, and what it showed: promises broken on it, facts it went against."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from latchproof.machine.model import Machine
from latchproof.rules.model import Can, Claim, StartsAtMost, StepOf
from latchproof.run.expressions import Reader
from latchproof.run.inputs import Inputs
from latchproof.run.interpreter import Interpreter, Record
from latchproof.run.judge import judge


@dataclass(frozen=True)
class Recording:
    """`start` is what the table calls the time of the first cycle."""

    records: tuple[Record, ...]
    start: Fraction = Fraction(0)
    parameters: Mapping[str, Fraction] = field(default_factory=dict)
    guessed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Broken:
    """The first time at which a promise or a fact was broken, in the time of the table."""

    what: str
    time: Fraction


def record(machine: Machine, inputs: Inputs) -> Recording:
    """Runs the rules as they are written: every tune at its value."""
    return Recording(Interpreter(machine).run(inputs.worlds), inputs.start, {}, inputs.guessed)


def promises_broken(machine: Machine, run: Recording) -> tuple[tuple[Claim, Broken], ...]:
    """Claims that the run breaks, in the order of the text. That a claim is not among them proves nothing."""
    return tuple(
        (claim, Broken(claim.name, run.records[at].time + run.start))
        for claim in machine.rules.claims
        if not isinstance(claim.form, Can) and (at := _first(machine, claim, run)) is not None
    )


def facts_broken(run: Recording) -> tuple[Broken, ...]:
    """Facts and assumptions that the inputs go against, each where it first happened."""
    first: dict[str, Fraction] = {}
    for r in run.records:
        for why in r.violated:
            first.setdefault(why, r.time + run.start)
    about_truth = {f"{kind} of {sensor}" for sensor in run.guessed for kind in ("change", "error")}
    return tuple(Broken(why, time) for why, time in first.items() if why not in about_truth)


def _first(machine: Machine, claim: Claim, run: Recording) -> int | None:
    """A window may start in any cycle, so claims about windows are read directly; the others have their monitor."""
    if isinstance(claim.form, StartsAtMost | StepOf):
        finding = judge(claim, Reader(machine, run.records, run.parameters))
        return None if finding is None else finding.cycle
    return next((k for k, r in enumerate(run.records) if claim.name in r.broken), None)
