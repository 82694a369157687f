"""The check of proof records: what the solvers' answers come to, and that no engine has a part in it."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from latchproof.prove.found import Answer
from latchproof.prove.processes import Failed
from latchproof.prove.prover import prove, prove_all
from latchproof.prove.recheck import Compared, Opinion, Solvers, compare, opinions
from latchproof.prove.record_file import read_list
from latchproof.prove.records import LIST, Proof, listed, origin_of, proofs_of, records, row
from latchproof.prove.solvers import SOLVERS, Solver, Word
from latchproof.prove.tasks import Horn, Induct, Recheck, Result, Task
from latchproof.prove.workers import Workers
from tests.helpers.rules import ROOT, machine_of
from tests.prove import small
from tests.prove.test_records import RULES, written

HOLDS: tuple[Word, ...] = ("unsat", "unsat", "unsat")


@pytest.mark.parametrize(
    ("answers", "result"),
    [
        ({"z3": HOLDS, "cvc5": HOLDS}, "holds"),
        ({"z3": HOLDS}, "holds"),
        ({"z3": HOLDS, "cvc5": ("unsat", "sat", "unsat")}, "fails"),
        ({"z3": Failed("time ran out"), "cvc5": ("unsat", "sat", "unsat")}, "fails"),
        ({"z3": HOLDS, "cvc5": ("unsat", "unknown", "unsat")}, "not decided"),
        ({"z3": HOLDS, "cvc5": Failed("time ran out")}, "not decided"),
        ({"z3": ("unsat", "unsat")}, "not decided"),
        ({}, "not decided"),
    ],
)
def test_what_answers_come_to(answers: dict[Solver, tuple[Word, ...] | Failed], result: str) -> None:
    assert Opinion(Compared("c", scripts=("", "", "")), answers).result == result


def test_a_solver_that_is_late_gives_no_answer() -> None:
    hard = "(set-logic QF_LRA)" + "".join(f"(declare-const p{i}_{j} Bool)" for i in range(13) for j in range(12))
    hard += "".join(f"(assert (or {' '.join(f'p{i}_{j}' for j in range(12))}))" for i in range(13))
    hard += "".join(f"(assert (not (and p{i}_{j} p{k}_{j})))" for j in range(12) for i in range(13) for k in range(i))
    with Solvers(SOLVERS) as processes:
        for solver in SOLVERS:
            assert isinstance(processes.run((solver, (hard + "(check-sat)",)), 1.0), Failed)
            assert processes.run((solver, ("(set-logic QF_LRA)(assert false)(check-sat)",)), 60) == ("unsat",)
            assert processes.run((solver, ("(assert",)), 60) == ("unknown",)


# ---------- the separate path


ENGINES = {"encode", "engines", "holds", "horn", "induction", "candidates", "search", "unrolling", "prover", "tasks",
           "workers", "progress", "replay", "choose", "moments", "ending"}  # fmt: skip


def test_the_check_knows_no_engine(tmp_path: Path) -> None:
    """Nothing that an engine works with is loaded on the way from the rule file to the texts and the solvers."""
    (tmp_path / "small.latch").write_text(RULES)
    (tmp_path / "proofs").mkdir()
    for name, data in written().items():
        (tmp_path / "proofs" / name).write_bytes(data)
    program = (
        "import sys\nfrom latchproof.cli.main import main\n"
        "code = main(['recheck', 'small.latch', 'proofs'])\n"
        "print(code, *sorted(m for m in sys.modules if m.startswith('latchproof.prove.') or m in ('z3', 'cvc5')))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT / "compiler")},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    *told, modules = ran.stdout.splitlines()
    assert told[2:4] == ["few: holds (z3, cvc5)", "off: holds (z3, cvc5)"]
    code, *loaded = modules.split()
    assert code == "0"
    assert {"latchproof.prove.recheck", "latchproof.prove.smtlib"} <= set(loaded)
    assert not {name.rpartition(".")[2] for name in loaded} & (ENGINES | {"z3", "cvc5"})


# ---------- an engine whose proof is none


class Liar(Workers):
    """Workers of which one engine claims a proof that is none, to all that it is asked."""

    def __init__(self, kind: type[Induct | Horn], invariant: str) -> None:
        super().__init__()
        self.kind, self.invariant = kind, invariant

    def run(self, task: Task, seconds: float) -> Result | Failed:
        return Answer(self.invariant) if isinstance(task, self.kind) else super().run(task, seconds)


@pytest.mark.parametrize("kind", [Induct, Horn])
@pytest.mark.parametrize("invariant", ["false", "true", "(not saving)"])
def test_a_planted_proof_is_an_internal_error(kind: type[Induct | Horn], invariant: str) -> None:
    machine = machine_of(small.text(small.REFUTED["length"]))
    with Liar(kind, invariant) as workers:
        verdict = prove(machine, machine.properties[0], machine.rules.claims[0], workers, 60)
    assert (verdict.answer, verdict.broken, verdict.certificate) == ("unknown", True, None)
    assert verdict.reason is not None
    assert verdict.reason.startswith("internal error: the proof (")
    assert proofs_of(machine, [verdict]) == ()


def test_a_proof_that_cannot_be_written_down_is_none_and_others_are_asked() -> None:
    machine = machine_of(small.text(small.PROVED["never"]))
    with Liar(Induct, "(exists ((x Real)) true)") as workers:
        verdict = prove(machine, machine.properties[0], machine.rules.claims[0], workers, 60)
    assert (verdict.answer, verdict.broken) == ("proved", False)


def test_a_solver_that_gives_up_is_no_internal_error(monkeypatch: pytest.MonkeyPatch) -> None:
    machine = machine_of(small.text(small.PROVED["never"]))
    with Workers() as workers:
        run = workers.run
        monkeypatch.setattr(
            workers, "run", lambda task, seconds: None if isinstance(task, Recheck) else run(task, seconds)
        )
        verdict = prove(machine, machine.properties[0], machine.rules.claims[0], workers, 20)
    assert (verdict.answer, verdict.broken) == ("unknown", False)


# ---------- devices whose entries read late


LATE = """\
rules "Late" version "1"
device { reads last cycle }
switch guard positions off, on
channel motor { rests at 0 %  from 0 % to 100 % }
signal ready = guard is on
rule climb while ready and guard is on { drive motor to 60 % }
claim frees: always motor is free while guard is off
claim tight strict: always motor is at most 100 %
"""


def test_an_allowance_is_part_of_what_is_proved(workers: Workers) -> None:
    machine = machine_of(LATE)
    frees = next(v for v in prove_all(machine, workers, time_limit=60, at_once=1) if v.claim == "frees")
    assert frees.allowance > 0
    [proof] = proofs_of(machine, [frees])
    assert proof.allowance == frees.allowance
    files = records(machine, [proof], origin_of(machine, [], None), "x")
    assert f"with an allowance of {proof.allowance} cycle" in files["frees.step.smt2"]
    known = {name: text.encode() for name, text in files.items()}
    with Solvers(SOLVERS) as processes:
        comparison = compare(machine, origin_of(machine, [], None), "x", known)
        held = list(opinions(comparison, SOLVERS, processes.run, seconds=60, at_once=1))
    assert [(o.compared.name, o.result) for o in held] == [("frees", "holds"), ("tight", "absent")]
    assert held[0].compared.allowance == proof.allowance


@pytest.mark.parametrize(("allowance", "claim"), [(-1, "frees"), (3, "frees"), (10**9, "frees"), (1, "tight")])
def test_no_record_allows_for_more_than_the_program_does(allowance: int, claim: str) -> None:
    machine = machine_of(LATE)
    data = records(machine, [Proof(claim, True, ("true",))], origin_of(machine, [], None), "x")
    read = read_list(data[LIST].encode())
    [one] = read.proofs.values()
    forged = listed(read.origin, "x", [row(replace(one.proof, allowance=allowance), one.says, one.facts, one.files)])
    files = {**{name: text.encode() for name, text in data.items()}, LIST: forged.encode()}
    compared = next(c for c in compare(machine, read.origin, "x", files).claims if c.name == claim)
    assert compared.refused == f"no promise of these rules may be {allowance} cycles late"


def test_an_allowance_is_not_taken_away_unseen() -> None:
    machine = machine_of(LATE)
    origin = origin_of(machine, [], None)
    data = records(machine, [Proof("frees", True, ("true",), 1)], origin, "x")
    read = read_list(data[LIST].encode())
    [one] = read.proofs.values()
    files = {name: text.encode() for name, text in data.items()}
    assert not compare(machine, origin, "x", files).claims[0].refused
    said = "always motor is free while guard is off"
    forged = listed(read.origin, "x", [row(replace(one.proof, allowance=0), said, one.facts, one.files)])
    files[LIST] = forged.encode()
    assert compare(machine, origin, "x", files).claims[0].refused.startswith("frees.start.smt2, line ")
