"""What every verdict of the prover must stand, whatever the test is about.

`check_verdict` makes six assertions, each of them a function of its own:

a  the answer agrees with what comes with it: a certificate or a trace (for `can` claims the other way round);
b  the trace is a valid input: tunes, cycle times, ranges, readings that a sensor can show, frames that keep arriving;
c  it replays in the interpreter of the whole machine at ordinary cycles, and breaks no fact;
d  read directly on it, the claim is broken (a `can` claim fulfilled) in its last cycle and not before;
e  the certificate of a proof passes the check against the ordinary step in a fresh solver, and in one by others;
f  no random run at shortest, longest and jittered cycle times contradicts the answer.
"""

from collections.abc import Sequence
from fractions import Fraction
from random import Random

from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.least import decided_by
from latchproof.prove.smtlib import three_queries
from latchproof.prove.solvers import ask
from latchproof.prove.statement import from_engine
from latchproof.prove.tasks import Recheck
from latchproof.prove.verdicts import Trace, Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, World, valid_inputs, valid_parameters, valid_start
from latchproof.run.judge import judge
from tests.helpers.worlds import PACES, Life, live

SECONDS = 60.0
"""For a certificate's check; it takes a fraction of one."""


def check_verdict(
    machine: Machine,
    property_: Property,
    claim: Claim | None,
    verdict: Verdict,
    workers: Workers,
    *,
    cycles: int = 120,
    runs: int = 1,
    seed: int = 1,
) -> None:
    """All six, of the machine whose claims allow for what the verdict says. `cycles` and `runs` are the size of the
    simulation at each of three paces."""
    if verdict.allowance:
        machine = decided_by(machine, verdict)
        property_ = next(p for p in machine.properties if p.name == property_.name)
    assert_agrees(property_, verdict)
    if verdict.trace is not None:
        assert_valid(machine, property_, verdict.trace)
        whole = assert_replays(machine, property_, verdict.trace)
        assert_decides(machine, property_, claim, whole)
    if verdict.certificate is not None:
        assert_certified(machine, property_, verdict.certificate.invariant, workers)
        for run in range(runs):
            assert_never_met(machine, property_, claim, cycles=cycles, seed=seed + run)


def assert_agrees(property_: Property, verdict: Verdict) -> None:
    """a: proved with a certificate or refuted with a trace; unknown with neither and with a reason."""
    assert verdict.claim == property_.name, "the verdict is about another claim"
    if verdict.answer == "unknown":
        assert verdict.trace is None, "undecided, yet there is a trace"
        assert verdict.certificate is None, "undecided, yet there is a certificate"
        assert verdict.reason, "undecided, and no reason is given"
        return
    by_trace = (verdict.answer == "proved") == (property_.kind == "reach")
    assert (verdict.trace is not None) == by_trace, f"{verdict.answer} does not agree with the trace"
    assert (verdict.certificate is not None) != by_trace, f"{verdict.answer} does not agree with the certificate"


def assert_valid(machine: Machine, property_: Property, trace: Trace) -> None:
    """b, as far as it can be seen from the trace alone. Facts are seen in the replay."""
    wrong = valid_parameters(machine, trace.parameters)
    assert not wrong, f"tunes: {wrong[0]}"
    wrong = valid_start(machine, trace.parameters, Interpreter(machine).start(trace.parameters, trace.start))
    assert not wrong, f"memory at power-up: {wrong[0]}"
    assert trace.world, "the trace is empty"
    inputs = {i.name: i for i in (*machine.inputs, *machine.picks)}
    sensors = {s.name: s for s in machine.rules.sensors}
    for number, w in enumerate(trace.world):
        unknown = w.inputs.keys() - inputs.keys()
        assert not unknown, f"not an input of the machine: {min(unknown)}"
        for name, value in w.inputs.items():
            i = inputs[name]
            assert isinstance(value, bool) == (i.sort == "bool"), f"{name} is of the wrong sort"
            assert i.low is None or i.high is None or i.low <= value <= i.high, f"{name} is outside its range"
            sensor, _, kind = name.partition("@")
            if kind == "reading" and i.grid and w.inputs[f"{sensor}@frame"]:
                steps = (Fraction(value) - sensors[sensor].low) / i.grid
                assert steps.denominator == 1, f"{sensor} cannot show {value}"
        shortest, longest = machine.rules.cycle.shortest, machine.rules.cycle.longest
        assert shortest <= w.dt <= longest, f"cycle {number} takes {w.dt} s"
    assert_arriving(machine, property_, trace.world)


def assert_arriving(machine: Machine, property_: Property, world: Sequence[World]) -> None:
    """Frames that the claim takes for granted. A sensor of which the trace does not speak arrives in the replay."""
    for sensor in machine.rules.sensors:
        if sensor.name not in arriving(property_) or f"{sensor.name}@frame" not in world[0].inputs:
            continue
        gap, time, heard = Fraction(0), Fraction(0), False
        waits = machine.rules.device.no_frame_before
        for k, w in enumerate(world):
            heard, time = heard or bool(w.inputs[f"{sensor.name}@frame"]), time + w.dt if k else Fraction(0)
            gap = Fraction(0) if w.inputs[f"{sensor.name}@frame"] else gap + w.dt
            fine = sensor.frame_every is None or gap <= sensor.frame_every
            if waits is not None and sensor.frame_every is not None and not heard:
                fine = fine or time <= waits + sensor.frame_every
            assert fine, f"{sensor.name} does not keep arriving"


def arriving(property_: Property) -> frozenset[str]:
    """The sensors that a claim takes to keep arriving."""
    return frozenset(c.why.removesuffix(" keeps arriving") for c in property_.arriving)


def assert_replays(machine: Machine, property_: Property, trace: Trace) -> Life:
    """c: what the trace does not speak of is filled in; where both machines have a value, they agree."""
    whole = live(
        machine, Random(0), len(trace.world),
        arriving=arriving(property_), fixed=trace.world, parameters=trace.parameters, start=trace.start,
    )  # fmt: skip
    assert len(whole.records) == len(trace.world), f"cycle {len(whole.records)} breaks a fact"
    for number, (w, r, told) in enumerate(zip(whole.world, whole.records, trace.records, strict=True)):
        assert not valid_inputs(machine, w), valid_inputs(machine, w)
        assert not r.violated, f"cycle {number} breaks a fact: {r.violated[0]}"
        assert r.time == told.time, f"cycle {number} is at another time"
        for name, value in told.values.items():
            assert r.values[name] == value, f"{name} in cycle {number} is another"
    assert_arriving(machine, property_, whole.world)
    return whole


def assert_decides(machine: Machine, property_: Property, claim: Claim | None, whole: Life) -> None:
    """d: the claim by direct reading; a property that nobody wrote by the machine's own signal."""
    if claim is None:
        reached = [k for k, r in enumerate(whole.records) if property_.name in r.broken]
        assert reached == [len(whole.records) - 1], f"{property_.name} holds on it"
        return
    finding = judge(claim, Reader(machine, whole.records, whole.parameters))
    assert finding is not None, f"read directly, {claim.name} holds on it"
    assert finding.cycle == len(whole.records) - 1, f"{claim.name} is decided in cycle {finding.cycle} already"


def assert_certified(machine: Machine, property_: Property, invariant: str, workers: Workers) -> None:
    """e: three queries, made by the separate path, in a process of their own; then before a solver by other people."""
    system = cone(machine, property_)
    holds = workers.run(Recheck(flatten(system), invariant), SECONDS)
    assert holds is True, f"the certificate of {property_.name} does not pass: {holds}"
    for query in three_queries(system, from_engine(system, invariant)):
        said = ask("cvc5", query.script())
        assert said == "unsat", f"cvc5 says {said} of the {query.asks} of the certificate of {property_.name}"


def assert_never_met(machine: Machine, property_: Property, claim: Claim | None, *, cycles: int, seed: int) -> None:
    """f: by the monitor and by direct reading, no random run meets what was proved impossible."""
    for pace in PACES:
        life = live(machine, Random(f"{property_.name} {pace} {seed}"), cycles, pace, arriving=arriving(property_))
        met = next((k for k, r in enumerate(life.records) if property_.name in r.broken), None)
        assert met is None, f"{property_.name} is met in cycle {met} of a run at {pace} cycles, seed {seed}"
        if claim is not None:
            finding = judge(claim, Reader(machine, life.records, life.parameters))
            assert finding is None, f"{claim.name}, read directly, is met in {finding} at {pace} cycles, seed {seed}"
