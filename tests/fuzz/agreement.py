"""What must agree on any rule set: the text and its layout, interpreter and solver, monitors and direct reading, proofs
and random runs. Each check raises AssertionError."""

from dataclasses import dataclass
from pathlib import Path
from random import Random

import z3

from latchproof.machine.model import DT, Machine
from latchproof.prove.encode import Encoder, constant, encode
from latchproof.prove.prover import prove_all
from latchproof.prove.workers import Workers
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, Record, World
from latchproof.run.judge import judge
from latchproof.run.program import Exact
from latchproof.source import Source
from latchproof.syntax import parse
from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.format import format_file
from tests.helpers.generate import generate
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import machine_of
from tests.helpers.solver import at, numeral, whole_system
from tests.helpers.worlds import Life, live

CYCLES = 50
NOWHERE = Path("/nowhere")


@dataclass(frozen=True, slots=True)
class Checked:
    """What a look at one rule set came to: how many claims were broken in a run, and the answers of the prover."""

    seed: int
    cycles: int
    met: int
    answers: tuple[str, ...] = ()


def check_seed(seed: int, *, workers: Workers | None = None, time_limit: float = 4) -> Checked:
    """Everything that is checked of one random rule set; with workers also what the prover says of it.

    Raises AssertionError where two things disagree; whatever else is raised is a crash of the program.
    """
    text = generate(seed)
    check_layout(text)
    machine = machine_of(text, NOWHERE)
    cycles, met = check_runs(machine, seed)
    answers = () if workers is None else check_proofs(machine, workers, time_limit)
    return Checked(seed, cycles, met, answers)


def check_runs(machine: Machine, seed: int, *, every: int = 1) -> tuple[int, int]:
    """Random runs of the machine: cycles, and claims decided in them. The solver is asked of every so-manieth cycle."""
    rng = Random(f"life {seed}")
    life = live(machine, rng, CYCLES)
    check_solver(machine, life, every=every)
    met = check_monitors(machine, life)
    if machine.assumed:
        check_monitors(machine, live(machine, rng, CYCLES, rng.choice(("shortest", "longest")), lawless=True))
    return len(life.records), met


# ---------- text


def check_layout(text: str) -> None:
    """Laid out and read again, a file says the same; laid out twice, it is the same text."""
    source = Source("made.latch", text)
    tree, found = parse(source)
    assert tree is not None, [d.title for d in found]
    new = Source("made.latch", format_file(tree, source))
    again, found = parse(new)
    assert again is not None, [d.title for d in found]
    assert again == split_alternatives(tree), "the new layout does not say the same"
    assert format_file(again, new) == new.text, "laid out twice, it is another text"


# ---------- interpreter and solver


def check_solver(machine: Machine, life: Life, *, every: int = 1) -> None:
    """The solver's reading of each cycle gives the interpreter's values: memory, definitions, monitors, facts."""
    states = (*machine.states, *machine.watching)
    facts = (*machine.constraints, *(a.constraint for a in machine.assumed))
    encoder = Encoder(whole_system(machine, machine.terms.true))
    before, inputs = encoder.state(""), encoder.inputs("@in")
    frame = encoder.frame(before, inputs, z3.Real(DT))
    environment = {**encoder.parameters, **before, **inputs, DT: z3.Real(DT)}
    names = tuple(machine.definitions)
    others = encode(
        [*machine.definitions.values(), *(p.signal for p in machine.properties), *(f.term for f in facts)], environment
    )
    made = [*frame.after.values(), *others, frame.allowed]
    variables = [*encoder.parameters.values(), *before.values(), *inputs.values(), z3.Real(DT)]
    wanted = [constant(f"wanted {k}", "bool" if z3.is_bool(x) else "number") for k, x in enumerate(made)]
    agree = z3.And(*(x == w for x, w in zip(made, wanted, strict=True)))
    values: dict[str, Exact] = {p.name: life.parameters.get(p.name, p.value) for p in machine.parameters}
    state: dict[str, Exact] = Interpreter(machine).start(life.parameters, life.start)
    first = z3.And(encoder.tuned(), encoder.initial(before))
    assert _holds(first, variables[: -1 - len(inputs)], [*values.values(), *state.values()]), "the start differs"
    for number, r in enumerate(life.records):
        told: list[Exact] = [*(r.after[s.name] for s in states), *(r.values[n] for n in names)]
        told += [p.name in r.broken for p in machine.properties] + [f.why not in r.violated for f in facts]
        given = [*values.values(), *state.values(), *(r.inputs[n] for n in inputs), r.dt]
        if number % every == 0 and not _holds(agree, [*variables, *wanted], [*given, *told, not r.violated]):
            told_of = [f"{s.name} afterwards" for s in states] + [*names] + [p.name for p in machine.properties]
            told_of += [*(f.why for f in facts), "all facts"]
            checked = zip(made, [*told, not r.violated], told_of, strict=True)
            wrong = [what for x, value, what in checked if not _holds(x == numeral(value), variables, given)]
            raise AssertionError(f"cycle {number}: the solver has other values of {wrong}")
        state = dict(r.after)


def _holds(formula: z3.BoolRef, variables: list[z3.ExprRef], values: list[Exact]) -> bool:
    return z3.is_true(at(formula, variables, values))


# ---------- monitors and direct reading


def check_monitors(machine: Machine, life: Life) -> int:
    """Each monitor first speaks where direct reading finds the claim decided. Returns how many claims were decided.

    A monitor of windows watches those that the input `pick` starts: with the window of the finding it must speak there,
    with windows chosen by chance never before.
    """
    reader = Reader(machine, life.records, life.parameters)
    decided = 0
    for claim in machine.rules.claims:
        finding = judge(claim, reader)
        spoken = _spoken(life.records, claim.name)
        pick = f"claim {claim.name}@pick"
        if any(i.name == pick for i in machine.picks):
            assert spoken is None or (finding is not None and finding.cycle <= spoken), (
                f"{claim.name}: {spoken}, {finding}"
            )
            if finding is not None:
                records = _picked(machine, life, pick, finding.since)
                spoken = _spoken(records, claim.name)
        assert spoken == (finding and finding.cycle), f"{claim.name}: monitor {spoken}, direct reading {finding}"
        decided += finding is not None
    for assumption in machine.rules.assumptions:
        finding, why = judge(assumption, reader), f"assumption {assumption.name}"
        broken = next((k for k, r in enumerate(life.records) if why in r.violated), None)
        if f"assume {assumption.name}@pick" in {i.name for i in machine.picks}:
            assert broken is None or (finding is not None and finding.cycle <= broken), f"{why}: {broken} {finding}"
        else:
            assert broken == (finding and finding.cycle), f"{why}: {broken} {finding}"
    return decided


def _spoken(records: tuple[Record, ...], name: str) -> int | None:
    return next((k for k, r in enumerate(records) if name in r.broken), None)


def _picked(machine: Machine, life: Life, pick: str, since: int) -> tuple[Record, ...]:
    world = [World(w.dt, {**w.inputs, pick: k == since}) for k, w in enumerate(life.world)]
    return Interpreter(machine).run(world, life.parameters, life.start)


# ---------- proofs


def check_proofs(machine: Machine, workers: Workers, time_limit: float) -> tuple[str, ...]:
    """Every verdict stands the six assertions, with two random runs at each pace."""
    properties = {p.name: p for p in machine.properties}
    claims = {c.name: c for c in machine.rules.claims}
    answers = []
    for verdict in prove_all(machine, workers, time_limit=time_limit, at_once=1):
        name = verdict.claim
        check_verdict(machine, properties[name], claims.get(name), verdict, workers, cycles=CYCLES, runs=2)
        answers.append(verdict.answer)
    return tuple(answers)
