"""Checks that stand in the suite for themselves, cut down to what a planted fault needs. Each raises AssertionError."""

from collections.abc import Callable, Sequence
from fractions import Fraction
from functools import partial
from random import Random

from latchproof.machine.cone import cone
from latchproof.machine.flat import FlatSystem, flatten
from latchproof.prove import tasks
from latchproof.prove.found import Answer, Found
from latchproof.prove.prover import prove
from latchproof.prove.replay import replay
from latchproof.prove.verdicts import Verdict
from latchproof.run.interpreter import Interpreter, World
from latchproof.run.program import Exact
from tests.faults import guard
from tests.fuzz import engines as engine_module
from tests.fuzz.agreement import check_monitors, check_solver
from tests.helpers.child import Forked
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import machine_of
from tests.helpers.worlds import live
from tests.machine import test_elements as elements
from tests.prove import test_smtlib

CLAIMS = {**guard.TRUE, **guard.FALSE}
DEEPEST = 6
SECONDS = 20.0
"""For a verdict; none takes a tenth of it."""


def models(*names: str) -> None:
    """The interpreter against the models written by hand, on tapes that are always the same."""
    for name in names:
        text, model = elements.CASES[name]
        machine = machine_of(elements.HEAD + text + "\n")
        inputs = {i.name for i in machine.inputs}
        start: dict[str, Exact] = {s.name: Fraction(0) for s in machine.states if s.initial is None}
        for seed in range(40):
            tape = _tape(Random(seed))
            world = [World(w.dt, {n: v for n, v in w.inputs.items() if n in inputs}) for w in tape.world()]
            records = Interpreter(machine).run(world, {}, start)
            for what, values in model(tape).items():
                assert [r.values[what] for r in records] == values, f"{name}: {what}"


def _tape(rng: Random) -> elements.Tape:
    n = 24

    def column(values: Sequence[Exact], stays: int) -> tuple[Exact, ...]:
        made: list[Exact] = []
        while len(made) < n:
            made += [rng.choice(values)] * rng.randint(1, stays)
        return tuple(made[:n])

    def numbers(values: Sequence[Fraction], stays: int) -> tuple[Fraction, ...]:
        return tuple(Fraction(v) for v in column(values, stays))

    def flags(stays: int) -> tuple[bool, ...]:
        return tuple(bool(v) for v in column((False, True), stays))

    return elements.Tape(
        numbers(elements.CYCLE_TIMES, 4), flags(8), flags(4), flags(4), numbers(elements.WAITS, 12),
        numbers(elements.STICKS, 5), flags(2), numbers(elements.READINGS, 2),
    )  # fmt: skip


def solver() -> None:
    """Interpreter and encoding on runs of the little guard, in one of which the world does not do as is assumed."""
    machine = machine_of(guard.text(guard.FORMS))
    for lawless in (False, True):
        life = live(machine, Random(1), 60, lawless=lawless)
        assert len(life.records) == 60, "the world comes to a stand"
        check_solver(machine, life)


def direct() -> None:
    """Monitors and direct reading of the claims."""
    machine = machine_of(guard.text(guard.FORMS))
    for seed in range(8):
        check_monitors(machine, live(machine, Random(seed), 100))


def as_text() -> None:
    """The three questions' text and the interpreter."""
    for seed in (500, 503, 507):
        test_smtlib.test_start_and_step_as_text_say_what_the_interpreter_does(seed)


def engines(*names: str) -> None:
    """All engines on some claims."""
    machine = machine_of(guard.text({name: CLAIMS[name] for name in names}))
    for property_ in machine.properties:
        engine_module.opinions(machine, property_, second=False, explicit=False, seconds=4)


def verdicts(*names: str) -> None:
    """Some claims have the verdicts that are known to be right, and these stand the six assertions."""
    machine = machine_of(guard.text({name: CLAIMS[name] for name in names}))
    with Forked() as workers:
        for name, p, c in zip(names, machine.properties, machine.rules.claims, strict=True):
            verdict = prove(machine, p, c, workers, SECONDS)
            assert verdict.answer == right(name), f"{name}: {verdict.answer}"
            check_verdict(machine, p, c, verdict, workers, cycles=40)


COUNTABLE = """rules "Countable" version "1"
cycle from 10 ms to 10 ms
switch lever positions off, on
claim late: never lever is on for 30 ms
claim short: length of (lever is on pulsed 30 ms) at most 30 ms
"""


def counted() -> None:
    """Engines beside a count of all states, which also knows the fewest cycles."""
    machine = machine_of(COUNTABLE)
    for property_ in machine.properties:
        made = engine_module.opinions(machine, property_, second=False, explicit=True, seconds=4)
        assert "counting: all" in made.notes


def free_steps(*names: str) -> None:
    """Free steps prove what they are known to prove, and what they prove passes the check."""
    for name, flat in _flat(*names):
        with Forked() as workers:
            answer = workers.run(tasks.Horn(flat, "free"), SECONDS)
            assert isinstance(answer, Answer), f"{name}: {answer}"
            assert (answer.invariant is not None) == (name in guard.TRUE), f"{name}: {answer}"
            if answer.invariant is not None:
                assert workers.run(tasks.Recheck(flat, answer.invariant), SECONDS) is True, name


def refused(*names: str) -> None:
    """Of a claim that is false there is no proof: what pretends to be one does not pass."""
    for name, flat in _flat(*names):
        with Forked() as workers:
            assert workers.run(tasks.Recheck(flat, "true"), SECONDS) is False, name


def paths_run(*names: str) -> None:
    """What a bounded search finds with holds runs in the interpreter as it is; of what never happens it finds none."""
    machine = machine_of(guard.text({name: CLAIMS[name] for name in names}))
    for name, p, c in zip(names, machine.properties, machine.rules.claims, strict=True):
        with Forked() as workers:
            found = workers.run(tasks.Bounded(flatten(cone(machine, p)), True, DEEPEST, SECONDS), SECONDS)
        assert isinstance(found, Found), f"{name}: {found}"
        if name in guard.TRUE and p.kind == "safe":
            assert found.stretches is None, f"{name}: a path"
            continue
        assert found.stretches is not None, f"{name}: no path"
        run = replay(machine, p, c, found)
        assert run.trace is not None, f"{name}: {run.reason}"


def _flat(*names: str) -> list[tuple[str, FlatSystem]]:
    machine = machine_of(guard.text({name: CLAIMS[name] for name in names}))
    return [(name, flatten(cone(machine, p))) for name, p in zip(names, machine.properties, strict=True)]


def right(name: str) -> str:
    return "proved" if name in guard.TRUE else "refuted"


def given(*names: str) -> list[Verdict]:
    """What the prover says of some claims."""
    machine = machine_of(guard.text({name: CLAIMS[name] for name in names}))
    with Forked() as workers:
        pairs = zip(machine.properties, machine.rules.claims, strict=True)
        return [prove(machine, p, c, workers, SECONDS) for p, c in pairs]


def never_wrong(*names: str) -> None:
    """Each verdict is the right one or "unknown"."""
    for name, verdict in zip(names, given(*names), strict=True):
        assert verdict.answer in {right(name), "unknown"}, f"{name}: {verdict.answer} by {verdict.engine}"


Check = Callable[[], None]


def of(check: Callable[..., None], *given: object) -> Check:
    return partial(check, *given)
