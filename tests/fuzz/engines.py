"""All engines on the same claim, each by itself, and what may not happen between them.

A proof that passes its check against the ordinary step is a fact, and so is a path that the interpreter runs: these two
must never meet, and nothing that an engine says may contradict them. Free steps and holds allow more than ordinary
steps do; "reached" by these alone is no answer, and is counted.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import z3

from latchproof.machine.cone import System, cone
from latchproof.machine.model import Machine, Property
from latchproof.prove.encode import Encoder
from latchproof.prove.found import Answer, Found
from latchproof.prove.horn import horn
from latchproof.prove.induction import filtered_facts, one_step
from latchproof.prove.recheck import certificate_holds
from latchproof.prove.replay import replay
from latchproof.prove.search import search
from latchproof.prove.smtlib import three_queries
from latchproof.prove.solvers import Solver, ask
from latchproof.prove.statement import from_engine
from tests.benchmarks.peer import horn_clauses
from tests.fuzz.agreement import NOWHERE, check_runs
from tests.fuzz.explicit import complete, explore
from tests.fuzz.finite import finite
from tests.helpers.child import in_child
from tests.helpers.generate import generate
from tests.helpers.proofs import assert_decides, assert_replays, assert_valid
from tests.helpers.rules import machine_of

DEEPEST, SHALLOW = 8, 4
"""Moments of a bounded search: beside the other engines, and where it is the only one."""
PROVERS: dict[str, Callable[[System], Answer]] = {
    "induction": lambda s: Answer(one_step(Encoder(s))),
    "filter": lambda s: _filtered(s),
    "free": lambda s: horn(Encoder(s), "free"),
    "ordinary": lambda s: horn(Encoder(s), "ordinary"),
    "holds": lambda s: horn(Encoder(s), "ordinary and holds"),
}
EXACT = {"ordinary", "peer"}
"""Engines whose "reached" is an answer."""


@dataclass(slots=True)
class Opinions:
    """What each said of one claim. `proved` and `reached` name engines; `shortest` is the path in fewest cycles."""

    proved: list[str] = field(default_factory=list)
    reached: list[str] = field(default_factory=list)
    said_reached: list[str] = field(default_factory=list)
    silent: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def _filtered(system: System) -> Answer:
    facts, excluded = filtered_facts(Encoder(system))
    return Answer(z3.And(*facts).sexpr() if facts else "true", reached=not excluded)


def opinions(machine: Machine, property_: Property, *, second: bool, explicit: bool, seconds: float) -> Opinions:
    """Asks them all. `second`: proofs are also checked by the other solver; `explicit`: states are counted.

    Raises AssertionError where a proof does not pass, a path of ordinary cycles does not run, or two answers meet.
    """
    system, made = cone(machine, property_), Opinions()
    for name, engine in PROVERS.items():
        _ask_prover(name, engine, system, made, second=second, seconds=seconds)
    _ask_peer(system, made, seconds)
    depths = {
        holds: _ask_search(machine, property_, system, made, holds=holds, seconds=seconds) for holds in (False, True)
    }
    without, with_holds = depths[False], depths[True]
    if without is not None and without.stretches is not None and with_holds is not None:
        found = with_holds.stretches is not None
        assert found or with_holds.depth < without.depth, f"{property_.name}: holds lose a path of {without.depth}"
        assert not found or with_holds.depth <= without.depth, f"{property_.name}: holds make a path longer"
    if explicit:
        _count(system, made, without)
    assert not (made.proved and made.reached), f"{property_.name}: proved by {made.proved}, reached by {made.reached}"
    return made


def _ask_prover(
    name: str, engine: Callable[[System], Answer], system: System, made: Opinions, *, second: bool, seconds: float
) -> None:
    try:
        answer = in_child(lambda: engine(system), seconds)
    except TimeoutError:
        made.silent.append(name)
        return
    if name == "filter":
        _check_facts(system, answer, made, seconds)
        return
    if answer.invariant is not None:
        _check_proof(name, system, answer.invariant, made, second=second, seconds=seconds)
    elif answer.reached:
        (made.reached if name in EXACT else made.said_reached).append(name)
    else:
        made.silent.append(name)


def _check_proof(name: str, system: System, invariant: str, made: Opinions, *, second: bool, seconds: float) -> None:
    """By the text, in a fresh process; sometimes by the other solver as well."""
    try:
        holds = in_child(lambda: certificate_holds(system, invariant), 4 * seconds)
    except TimeoutError:
        holds = None
    assert holds is not False, f"{system.name}: the proof by {name} does not pass: {invariant[:200]}"
    if holds is None:
        made.notes.append(f"check of {name} undecided")
        return
    made.proved.append(name)
    if second:
        try:
            answers = in_child(lambda: asked("cvc5", system, invariant), 4 * seconds)
        except TimeoutError:
            made.notes.append("second solver out of time")
            return
        assert "sat" not in answers, f"{system.name}: the second solver does not accept the proof by {name}"
        made.notes.append("second solver agrees" if set(answers) == {"unsat"} else "second solver undecided")


def asked(solver: Solver, system: System, invariant: str, questions: int = 3) -> list[str]:
    """What a solver says to the questions that a proof stands on, the first so many of them."""
    queries = three_queries(system, from_engine(system, invariant))
    return [ask(solver, query.script()) for query in queries[:questions]]


def _check_facts(system: System, answer: Answer, made: Opinions, seconds: float) -> None:
    """What the filter keeps is true at the start and kept by every ordinary step; where it says so, it is a proof."""
    assert answer.invariant is not None
    facts = answer.invariant
    try:
        answers = in_child(lambda: asked("z3", system, facts, 2 if answer.reached else 3), 4 * seconds)
    except TimeoutError:
        made.silent.append("filter")
        return
    assert "sat" not in answers, f"{system.name}: the filter keeps what is not kept: {facts[:200]}"
    if not answer.reached and set(answers) == {"unsat"}:
        made.proved.append("filter")


def _ask_peer(system: System, made: Opinions, seconds: float) -> None:
    def ask() -> str:
        solver = z3.SolverFor("HORN")
        solver.from_string(horn_clauses(system))
        return str(solver.check())

    try:
        answer = in_child(ask, seconds)
    except TimeoutError:
        answer = "unknown"
    match answer:
        case "sat":
            made.proved.append("peer")
        case "unsat":
            made.reached.append("peer")
        case _:
            made.silent.append("peer")


def _ask_search(
    machine: Machine, property_: Property, system: System, made: Opinions, *, holds: bool, seconds: float
) -> Found | None:
    name = "search with holds" if holds else "search"
    try:
        found = in_child(lambda: search(Encoder(system), holds=holds, deepest=DEEPEST, seconds=seconds), 3 * seconds)
    except TimeoutError:
        made.silent.append(name)
        return None
    if found.stretches is None:
        return found
    claim = next((c for c in machine.rules.claims if c.name == property_.name), None)
    run = replay(machine, property_, claim, found)
    if run.trace is not None:
        made.reached.append(name)
    elif holds or "between two steps" in run.reason:
        made.said_reached.append(name)
        made.notes.append(f"{name}: no trace: {run.reason}")
    else:
        raise AssertionError(f"{property_.name}: a path of ordinary cycles does not run: {run.reason}")
    return found


def _count(system: System, made: Opinions, found: Found | None) -> None:
    """The states one after the other. Where that leaves nothing out it decides, and knows the fewest cycles."""
    try:
        told = in_child(lambda: explore(system), 20)
    except TimeoutError:
        made.notes.append("counting: out of time")
        return
    if told.cycles is not None:
        made.reached.append("counting")
        if found is not None:
            short = found.stretches is None and found.depth >= told.cycles
            assert not short, (
                f"{system.name}: counting gets there in {told.cycles} cycles, the search not in {found.depth}"
            )
    if not complete(system) or not told.closed:
        made.notes.append("counting: a part")
        return
    made.notes.append("counting: all")
    if told.cycles is None:
        if any("between two steps" in note for note in made.notes):  # there is a path, off the grid that was counted
            made.notes.append("counting: impossible on the grid alone")
        else:
            made.proved.append("counting")
    elif found is not None and found.stretches is not None:
        on_grid = "search" in made.reached  # between two steps of a sensor the solver may get there sooner
        same = found.depth == told.cycles if on_grid else found.depth <= told.cycles
        assert same, f"{system.name}: fewest cycles {told.cycles}, the search says {found.depth}"


def tally(made: Opinions) -> Counter[str]:
    """For a summary."""
    counts: Counter[str] = Counter()
    counts.update(f"proved by {n}" for n in made.proved)
    counts.update(f"reached by {n}" for n in made.reached)
    counts.update(f"more than ordinary steps: {n}" for n in made.said_reached if made.proved)
    counts.update(f"no answer: {n}" for n in made.silent)
    counts.update(made.notes)
    return counts


def text_of(seed: int) -> str:
    """Rule sets of two kinds in turn: such whose states can be counted, and all constructs."""
    return generate(seed) if seed % 2 else finite(seed)


def check_engines(seed: int, seconds: float) -> Counter[str]:
    """All engines on all claims of one random rule set; every third claim's proofs go to the second solver as well.

    Raises AssertionError where they do not agree.
    """
    machine = machine_of(text_of(seed), NOWHERE)
    counts: Counter[str] = Counter()
    for number, property_ in enumerate(machine.properties):
        made = opinions(machine, property_, second=(seed + number) % 3 == 0, explicit=seed % 2 == 0, seconds=seconds)
        counts += tally(made)
        counts.update(["claims", "claims that were decided"] if made.proved or made.reached else ["claims"])
    return counts


def check_search(seed: int, seconds: float) -> Counter[str]:
    """One random rule set in its runs (`agreement.py`), and a bounded search for each claim: what is found must run on
    the whole machine, and be what the claim speaks of, read directly."""
    machine = machine_of(generate(seed), NOWHERE)
    cycles, _ = check_runs(machine, seed, every=10)
    counts: Counter[str] = Counter(cycles=cycles)
    claims = {c.name: c for c in machine.rules.claims}
    for property_ in machine.properties:
        system = cone(machine, property_)
        counts["claims"] += 1
        try:
            found = in_child(lambda: search(Encoder(system), holds=True, deepest=SHALLOW, seconds=seconds), 2 * seconds)  # noqa: B023
        except TimeoutError:
            counts["search: out of time"] += 1
            continue
        if found.stretches is None:
            counts[f"search: nothing within {found.depth} moments"] += 1
            continue
        run = replay(machine, property_, claims.get(property_.name), found)
        if run.trace is None:
            counts[f"search: no trace: {run.reason.partition(':')[0]}"] += 1
            continue
        assert_valid(machine, property_, run.trace)
        whole = assert_replays(machine, property_, run.trace)
        assert_decides(machine, property_, claims.get(property_.name), whole)
        counts["search: a path that runs"] += 1
    return counts
