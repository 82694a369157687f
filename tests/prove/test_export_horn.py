"""Exported Horn clauses, given as text to z3's Horn engine, agree with our verdicts.

That engine is not asked for what it cannot do: where it gives no answer in its time there is nothing to compare. Each
test counts the answers that there were, so that none passes on silence.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
import z3

from latchproof.machine.cone import cone
from latchproof.machine.model import DT, Machine
from latchproof.prove.export_horn import horn_clauses, horn_file
from latchproof.prove.formulas import trees
from latchproof.prove.prover import prove_all
from latchproof.prove.smtlib import plain
from latchproof.prove.workers import Workers
from latchproof.run.interpreter import Interpreter
from latchproof.run.program import Exact
from tests.helpers.generate import generate
from tests.helpers.proofs import arriving
from tests.helpers.rules import example, machine_of
from tests.helpers.solver import numeral
from tests.helpers.worlds import live
from tests.prove.small import HEAD, PROVED, REFUTED, text

EFFORT = 3_000_000
"""The solver's own small steps, about half a second; the same on every machine, so that the counts are as well."""

ANSWERS = {"sat": False, "unsat": True}
"""Whether the goal can be reached."""


def reached(clauses: str) -> bool | None:
    """By the Horn engine; None when it does not say."""
    solver = z3.SolverFor("HORN", ctx=z3.Context())
    solver.set("rlimit", EFFORT)
    solver.from_string(clauses)
    return ANSWERS.get(str(solver.check()))


def compared(machine: Machine, workers: Workers, names: Iterable[str] | None = None) -> Counter[str]:
    """How many claims both find reachable, or not; how many one of them leaves open. They never contradict."""
    count: Counter[str] = Counter()
    properties = {p.name: p for p in machine.properties}
    if names is not None:
        machine = replace(machine, properties=tuple(properties[name] for name in names))
    for verdict in prove_all(machine, workers, time_limit=20, at_once=2):
        ours = {"proved": False, "refuted": True}.get(verdict.answer)
        if ours is not None and properties[verdict.claim].kind == "reach":
            ours = not ours
        theirs = reached(horn_clauses(cone(machine, properties[verdict.claim])))
        if ours is None or theirs is None:
            count["open"] += 1
            continue
        assert ours == theirs, f"{verdict.claim}: {verdict.answer}, the Horn engine says {theirs}"
        count["reached" if ours else "never"] += 1
    return count


@pytest.mark.parametrize(
    ("path", "names"),
    [
        ("floor_guard/mended.latch", ("off_means_off", "stop_wins", "still_on_the_ground", "release_above")),
        ("floor_guard/first_attempt.latch", ("asleep_when_off", "off_means_off", "stop_wins", "modest_power", "works")),
        ("tow_release/tow_release.latch", ("stays_open", "not_by_itself", "stick_low_first")),
    ],
)
def test_examples(workers: Workers, path: str, names: tuple[str, ...]) -> None:
    count = compared(example(path), workers, names)
    print(path, dict(count))
    assert count["never"] + count["reached"] >= 2


def test_every_form_of_claim(workers: Workers) -> None:
    chosen = [PROVED[n] for n in ("never", "always", "whenever", "before", "quiet", "tunes")]
    chosen += [REFUTED[n] for n in ("never", "always", "whenever", "before", "least", "can", "truth", "tunes")]
    count = compared(machine_of(text(*chosen)), workers)
    print(dict(count))
    assert count["never"] >= 3
    assert count["reached"] >= 3


def test_random_rule_sets(workers: Workers) -> None:
    count: Counter[str] = Counter()
    for seed in range(700, 712):
        count += compared(machine_of(generate(seed), Path("/nowhere")), workers)
    print(dict(count))
    assert count["never"] >= 3
    assert count["reached"] >= 3


def test_a_claim_about_frames_that_keep_arriving_takes_them_for_granted(workers: Workers) -> None:
    machine = machine_of(HEAD + "claim c: never height is stale and height is heard provided height keeps arriving\n")
    property_ = next(p for p in machine.properties if p.name == "c")
    assert "Taken for granted: height keeps arriving" in horn_file(machine, property_, "the tests")
    assert compared(machine, workers, ("c",))["never"] == 1


COUNT = """rules "Count" version "1"
cycle from 1 s to 2 s
button go
latch on { set when go is pressed  reset when go is not pressed }
claim long: length of on at most 4 s
claim longer: length of on at most 5 s
claim ever: can on
claim not_both: can on while go is not pressed
"""


def test_what_sat_means_is_said(workers: Workers) -> None:
    """A claim about what can happen is the other way round, and its file says so."""
    machine = machine_of(COUNT)
    for p in machine.properties:
        made = horn_file(machine, p, "the tests")
        good = next(line for line in made.splitlines() if "the claim holds" in line)
        answer = "unsat" if reached(made) else "sat"
        verdict = next(v for v in prove_all(machine, workers, time_limit=20, at_once=1) if v.claim == p.name)
        assert good.startswith(f"; {answer}: ") == (verdict.answer == "proved"), p.name


def test_the_text_is_whole_and_its_names_are_declared() -> None:
    """One relation, three clauses, brackets that match; of each clause every name is bound."""
    for machine in (machine_of(text(*PROVED.values())), example("floor_guard/mended.latch"), machine_of(COUNT)):
        for p in machine.properties:
            made = horn_clauses(cone(machine, p))
            commands = trees("\n".join(line for line in made.splitlines() if not line.startswith(";")))
            heads = [c[0] for c in commands if isinstance(c, list)]
            assert heads == ["set-logic", "declare-fun", "assert", "assert", "assert", "check-sat"]
            assert max(map(len, made.splitlines())) <= 200
            z3.parse_smt2_string(made)


@pytest.mark.parametrize("seed", range(3))
def test_one_changed_number_is_noticed(seed: int) -> None:
    """The comparison itself: with the window turned into a shorter one the engine says otherwise."""
    machine = machine_of(COUNT.replace("5 s", f"{5 + seed} s"))
    bounded = machine_of(COUNT.replace("length of on at most 5 s", "never on and not on"))
    p = next(p for p in machine.properties if p.name == "longer")
    q = next(p for p in bounded.properties if p.name == "longer")
    assert reached(horn_clauses(cone(machine, p))) is True
    assert reached(horn_clauses(cone(bounded, q))) is False


def test_comments_end_with_their_line() -> None:
    machine = machine_of(HEAD + 'claim c "(assert false) ; |": never saving\n')
    p = next(p for p in machine.properties if p.name == "c")
    whole, bare = horn_file(machine, p, "the tests"), horn_clauses(cone(machine, p))
    assert "\n".join(line for line in whole.splitlines() if not line.startswith(";")) == "\n".join(
        line for line in bare.splitlines() if not line.startswith(";")
    )


def antecedent(clause: z3.QuantifierRef, values: dict[str, Exact]) -> z3.ExprRef:
    """What a clause asks for beside the relation, at these values of its variables."""
    names = [clause.var_name(k) for k in range(clause.num_vars())]
    given = [numeral(values[name]) for name in reversed(names)]
    asked = z3.substitute_vars(clause.body().arg(0), *given)
    return z3.simplify(z3.And(*(a for a in asked.children() if a.decl().name() != "reachable")))


def test_clauses_say_what_the_interpreter_does() -> None:
    """Every cycle of a run is a step of the clauses, with these values afterwards and no others; a cycle meets the goal
    when the interpreter says so."""
    machine = machine_of(text(PROVED["length"], REFUTED["step"], PROVED["truth"], REFUTED["never"]))
    met = 0
    for p in machine.properties:
        system = cone(machine, p)
        life = live(machine, Random(p.name), 120, "jittered", arriving=arriving(p))
        first, step, goal = z3.parse_smt2_string(horn_clauses(system))
        power_up = Interpreter(machine).start(life.parameters, life.start)
        assert z3.is_true(antecedent(first, {**life.parameters, **power_up}))
        before = power_up
        for w, r in zip(life.world, life.records, strict=True):
            values = {plain(n): v for n, v in {**life.parameters, **before, **w.inputs, DT: w.dt}.items()}
            after = {f"next {s.name}": r.after[s.name] for s in system.states}
            assert z3.is_true(antecedent(step, values | after))
            other = f"next {system.states[-1].name}"
            wrong = not after[other] if isinstance(after[other], bool) else after[other] + 1
            assert z3.is_false(antecedent(step, values | after | {other: wrong}))
            assert z3.is_true(antecedent(goal, values)) == (p.name in r.broken)
            met += p.name in r.broken
            before = dict(r.after)
    assert met
