"""The helper itself: each of its six assertions fails when what it looks at is broken on purpose."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.machine.model import Machine, Property
from latchproof.prove.prover import prove
from latchproof.prove.verdicts import Certificate, Trace, Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim
from latchproof.run.interpreter import World
from latchproof.run.program import Exact
from tests.helpers import proofs
from tests.helpers.rules import machine_of
from tests.prove.small import text

HOLDS, FAILS, CAN = "never saving while guard is off", "never saving provided height keeps arriving", "can saving"


@pytest.fixture(scope="module")
def machine() -> Machine:
    return machine_of(text(HOLDS, FAILS, CAN))


@pytest.fixture(scope="module")
def verdicts(machine: Machine, workers: Workers) -> list[Verdict]:
    claims = machine.rules.claims
    made = [prove(machine, p, c, workers, 60) for p, c in zip(machine.properties, claims, strict=True)]
    assert [v.answer for v in made] == ["proved", "refuted", "proved"]
    return made


@pytest.fixture
def trace(verdicts: list[Verdict]) -> Trace:
    found = verdicts[1].trace
    assert found is not None
    return found


def refused(message: str, machine: Machine, number: int, verdict: Verdict, workers: Workers) -> None:
    with pytest.raises(AssertionError, match=message):
        proofs.check_verdict(machine, machine.properties[number], machine.rules.claims[number], verdict, workers)


def test_good_ones_pass(machine: Machine, verdicts: list[Verdict], workers: Workers) -> None:
    for p, c, v in zip(machine.properties, machine.rules.claims, verdicts, strict=True):
        proofs.check_verdict(machine, p, c, v, workers)


# ---------- a


@pytest.mark.parametrize(
    ("number", "change", "message"),
    [
        (0, {"answer": "refuted"}, "refuted does not agree with the trace"),
        (0, {"certificate": None}, "proved does not agree with the certificate"),
        (0, {"answer": "unknown", "reason": "why"}, "undecided, yet there is a certificate"),
        (0, {"claim": "another"}, "about another claim"),
        (1, {"answer": "proved"}, "proved does not agree with the trace"),
        (1, {"trace": None}, "refuted does not agree with the trace"),
        (1, {"certificate": Certificate("true")}, "refuted does not agree with the certificate"),
        (1, {"answer": "unknown", "reason": "why"}, "undecided, yet there is a trace"),
        (2, {"answer": "refuted"}, "refuted does not agree with the trace"),
        (2, {"trace": None, "certificate": Certificate("true")}, "proved does not agree with the trace"),
    ],
)
def test_answer_and_what_comes_with_it(
    number: int, change: dict[str, object], message: str, machine: Machine, verdicts: list[Verdict], workers: Workers
) -> None:
    refused(message, machine, number, replace(verdicts[number], **change), workers)  # type: ignore[arg-type]


def test_undecided_needs_a_reason(machine: Machine, verdicts: list[Verdict], workers: Workers) -> None:
    refused("no reason", machine, 0, replace(verdicts[0], answer="unknown", certificate=None, reason=None), workers)


# ---------- b


def changed(trace: Trace, cycle: int, dt: Fraction | None = None, **inputs: Exact) -> Trace:
    world = list(trace.world)
    w = world[cycle]
    world[cycle] = World(dt or w.dt, {**w.inputs, **{k.replace("__", "@"): v for k, v in inputs.items()}})
    return replace(trace, world=tuple(world))


def silent(trace: Trace) -> Trace:
    w = trace.world[-1]
    quiet = World(w.dt, {**w.inputs, "height@frame": False})
    return replace(trace, world=(*trace.world, *[quiet] * 21))


BROKEN: dict[str, tuple[Callable[[Trace], Trace], str]] = {
    "long cycle": (lambda t: changed(t, 0, dt=Fraction(51, 1000)), "cycle 0 takes"),
    "short cycle": (lambda t: changed(t, 0, dt=Fraction(9, 1000)), "cycle 0 takes"),
    "out of range": (lambda t: changed(t, 0, height__reading=Fraction(101), height__frame=True), "outside its range"),
    "off the grid": (lambda t: changed(t, 0, height__reading=Fraction(1, 3), height__frame=True), "cannot show 1/3"),
    "wrong sort": (lambda t: changed(t, 0, guard__1=Fraction(1)), "wrong sort"),
    "no such input": (lambda t: changed(t, 0, wing=True), "not an input"),
    "tune against a require": (lambda t: replace(t, parameters={**t.parameters, "release": Fraction(35)}), "tunes"),
    "tune out of range": (lambda t: replace(t, parameters={**t.parameters, "floor": Fraction(10)}), "tunes"),
    "frames stop": (silent, "does not keep arriving"),
    "nothing at all": (lambda t: replace(t, world=()), "empty"),
}


@pytest.mark.parametrize("what", BROKEN)
def test_trace_is_a_valid_input(
    what: str, machine: Machine, verdicts: list[Verdict], trace: Trace, workers: Workers
) -> None:
    tamper, message = BROKEN[what]
    refused(message, machine, 1, replace(verdicts[1], trace=tamper(trace)), workers)


# ---------- c


def test_trace_keeps_the_facts(machine: Machine, verdicts: list[Verdict], trace: Trace, workers: Workers) -> None:
    """The true height jumps, further than it changes in a cycle."""
    jump = changed(trace, len(trace.world) - 1, height__truth=Fraction(100), height__frame=False)
    refused("breaks a fact", machine, 1, replace(verdicts[1], trace=jump), workers)


def test_trace_replays(machine: Machine, verdicts: list[Verdict], trace: Trace, workers: Workers) -> None:
    """What the verdict says that happened is not what happens."""
    record = trace.records[0]
    false = replace(record, values={**record.values, "saving": True})
    told = replace(trace, records=(false, *trace.records[1:]))
    refused("saving in cycle 0 is another", machine, 1, replace(verdicts[1], trace=told), workers)


# ---------- d


def test_claim_is_broken_on_it(machine: Machine, verdicts: list[Verdict], trace: Trace, workers: Workers) -> None:
    short = replace(trace, world=trace.world[:-1], records=trace.records[:-1])
    refused("read directly, claim_1 holds", machine, 1, replace(verdicts[1], trace=short), workers)


def test_claim_is_broken_in_the_last_cycle(machine: Machine, trace: Trace) -> None:
    whole = proofs.assert_replays(machine, machine.properties[1], trace)
    longer = replace(whole, records=(*whole.records, whole.records[-1]))
    with pytest.raises(AssertionError, match="already"):
        proofs.assert_decides(machine, machine.properties[1], machine.rules.claims[1], longer)


def test_unwritten_property_is_broken_on_it(machine: Machine, trace: Trace) -> None:
    other = replace(machine.properties[1], name="one_driver.motor.climb.shine")
    whole = proofs.assert_replays(machine, machine.properties[1], trace)
    with pytest.raises(AssertionError, match="holds on it"):
        proofs.assert_decides(machine, other, None, whole)


# ---------- e


@pytest.mark.parametrize("invariant", ["false", "|saving|", "(not |saving|)", "(< |low@elapsed| (- 1.0))"])
def test_certificate_is_checked(invariant: str, machine: Machine, workers: Workers) -> None:
    """Not true at the start; nor kept; nor enough: of the refuted claim there can be none."""
    with pytest.raises(AssertionError, match="does not pass"):
        proofs.assert_certified(machine, machine.properties[1], invariant, workers)


def test_certificate_that_excludes_nothing(machine: Machine, workers: Workers) -> None:
    with pytest.raises(AssertionError, match="does not pass"):
        proofs.assert_certified(machine, machine.properties[1], "true", workers)


def test_wrong_proof_is_caught(machine: Machine, verdicts: list[Verdict], workers: Workers) -> None:
    wrong = replace(verdicts[1], answer="proved", trace=None, certificate=Certificate("true"))
    refused("does not pass", machine, 1, wrong, workers)


# ---------- f

ONE, TWO = "(guard is on for 1 cycle)", "(guard is on for 2 cycles)"
AT_LONGEST = f"never ({ONE} begins) and (guard is on for 50 ms)"
AT_SHORTEST = f"never ({ONE} begins) and not (guard is on for 11 ms)"
JITTERED = f"never ({TWO} begins) and (guard is on for 21 ms) and not (guard is on for 99 ms)"


@pytest.mark.parametrize(
    ("claim", "pace"), [(AT_LONGEST, "longest"), (AT_SHORTEST, "shortest"), (JITTERED, "jittered")]
)
def test_runs_at_every_pace_are_looked_at(claim: str, pace: str) -> None:
    """Claims that only one of the paces (or it before the others) can break."""
    made = machine_of(text(claim))
    p, c = made.properties[0], made.rules.claims[0]
    with pytest.raises(AssertionError, match=f"at {pace} cycles"):
        proofs.assert_never_met(made, p, c, cycles=300, seed=1)


def test_monitor_and_direct_reading_are_both_looked_at(machine: Machine) -> None:
    made = machine_of(text("never guard is on", HOLDS))
    (broken, fine), (said, kept) = made.properties, made.rules.claims
    assert_met(made, broken, kept, "is met in cycle")
    assert_met(made, fine, said, "read directly, is met")
    proofs.assert_never_met(made, fine, kept, cycles=100, seed=1)


def assert_met(machine: Machine, property_: Property, claim: Claim, message: str) -> None:
    with pytest.raises(AssertionError, match=message):
        proofs.assert_never_met(machine, property_, claim, cycles=100, seed=1)
