"""Proof records: what is written can be judged by anybody; what is not as it was written is refused."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten, unflatten
from latchproof.machine.model import Machine
from latchproof.pipeline import check_text, machine
from latchproof.prove.processes import Failed
from latchproof.prove.prover import prove_all
from latchproof.prove.recheck import Comparison, Solvers, compare, opinions
from latchproof.prove.record_file import read_list
from latchproof.prove.records import (
    LIST,
    Origin,
    Proof,
    checksum,
    file_stems,
    listed,
    origin_of,
    proofs_of,
    records,
    row,
    says,
)
from latchproof.prove.smtlib import three_queries
from latchproof.prove.solvers import SOLVERS, Solver, Word, work
from latchproof.prove.statement import from_engine
from latchproof.prove.workers import Workers
from latchproof.source import Source
from tests.helpers.rules import ROOT, example, machine_of

PROGRAM = "latchproof 1"

RULES = """\
rules "Small" version "1"
button a  button b
channel motor { rests at 0 %  from 0 % to 100 % }
latch on { set when a is pressed  reset when b is pressed }
counter n { counts on  clears when b is pressed  at most 3 }
rule climb while on { drive motor to 60 % }
claim few "three at most": never n is above 3
claim off: always motor is free while b is pressed
"""

STATEMENTS = {"few": ("(<= |n| 3.0)",), "off": ("true",)}


def small(text: str = RULES) -> tuple[Machine, Origin]:
    source = Source("small.latch", text)
    checked = check_text(source, ROOT)
    assert checked.rules is not None, [(d.code, d.title) for d in checked.diagnostics]
    made = machine(checked.rules)
    return made, origin_of(made, checked.sources.values(), None)


MACHINE, ORIGIN = small()


def written(statements: Mapping[str, Sequence[str]] = STATEMENTS) -> dict[str, bytes]:
    """A record by hand, as this program would write it."""
    proofs = [Proof(name, False, tuple(lines)) for name, lines in statements.items()]
    return {name: text.encode() for name, text in records(MACHINE, proofs, ORIGIN, PROGRAM).items()}


def asked(task: tuple[Solver, tuple[str, ...]], seconds: float) -> tuple[Word, ...] | Failed:
    """The solvers in this process: quick, and good enough for texts of a few lines."""
    return work(task)


def judged(files: Mapping[str, bytes], origin: Origin = ORIGIN, of: Machine = MACHINE) -> dict[str, str]:
    comparison = compare(of, origin, PROGRAM, files)
    if comparison.refused:
        return {"": comparison.refused}
    found = opinions(comparison, SOLVERS, asked, seconds=60, at_once=1)
    return {o.compared.name: o.result for o in found}


@pytest.fixture(autouse=True)
def _no_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the memory of this process."""
    monkeypatch.setattr("latchproof.prove.solvers._bound_memory", lambda: None)


def plain_z3(path: Path) -> str:
    """What the solver says of a file, without anything of this program."""
    found = shutil.which("z3", path=str(Path(sys.executable).parent)) or shutil.which("z3")
    by_hand = [sys.executable, "-c", "import sys, z3; s = z3.Solver(); s.from_file(sys.argv[1]); print(s.check())"]
    command = [found] if found else by_hand
    return subprocess.run([*command, str(path)], capture_output=True, text=True, check=False, timeout=60).stdout.strip()


# ---------- what is written


def test_a_record_by_hand_holds() -> None:
    assert judged(written()) == {"few": "holds", "off": "holds"}


def test_the_records_of_an_example_stand_before_a_plain_solver(workers: Workers, tmp_path: Path) -> None:
    made = example("throttle_cut/throttle_cut.latch")
    proofs = proofs_of(made, tuple(prove_all(made, workers, time_limit=60, at_once=2)))
    assert len(proofs) >= 2
    origin = origin_of(made, [], None)
    files = records(made, proofs, origin, PROGRAM)
    assert len(files) == 3 * len(proofs) + 1
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
        if name != LIST:
            assert plain_z3(tmp_path / name) == "unsat", name
    with Solvers(SOLVERS) as processes:
        comparison = compare(made, origin, PROGRAM, {name: text.encode() for name, text in files.items()})
        found = list(opinions(comparison, SOLVERS, processes.run, seconds=60, at_once=2))
    assert {o.compared.name for o in found if o.result == "holds"} == {p.claim for p in proofs}


def test_each_text_says_what_it_asks_and_of_what() -> None:
    for name, data in written().items():
        if name != LIST:
            text = data.decode()
            assert text.startswith("; Proof record, question ")
            assert "of the rules Small, version 1\n" in text
            assert "The good answer is unsat" in text
            assert text.count("(check-sat)") == text.count("(set-logic ") == 1
    assert '; few: "three at most": never n is above 3\n' in written()["few.step.smt2"].decode()


def test_the_step_is_one_ordinary_cycle() -> None:
    """The cycle's time lies within its bounds, and nothing is said of longer steps or of several."""
    text = written()["few.step.smt2"].decode()
    assert "(assert (and (<= (/ 1.0 200.0) |cycle time|) (<= |cycle time| (/ 3.0 100.0))))" in text
    wide = text.replace("(<= |cycle time| (/ 3.0 100.0))", "true")
    assert wide != text
    assert judged({**written(), "few.step.smt2": wide.encode()}) == {"few": "refused", "off": "holds"}


def test_texts_do_not_depend_on_how_python_orders_sets() -> None:
    program = (
        "from tests.helpers.rules import example; from latchproof.prove.records import *\n"
        "m = example('floor_guard/mended.latch')\n"
        "for facts in (True, False):\n"
        "    proofs = [Proof(p.name, facts, ('true',)) for p in m.properties]\n"
        "    files = records(m, proofs, origin_of(m, [], None), 'x')\n"
        "    print(sorted((name, checksum(text)) for name, text in files.items()))\n"
    )
    said = [
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": f"{ROOT / 'compiler'}{os.pathsep}{ROOT}"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert said[0] == said[1]
    assert said[0].count("proofs.json") == 2


def test_what_was_checked_is_what_is_written() -> None:
    """A proof's first check is made of a copy of the system that was sent to another process."""
    made = example("floor_guard/mended.latch")
    for property_ in made.properties:
        for facts in (True, False):
            system = cone(made, property_, facts=facts)
            copy = unflatten(flatten(system))
            assert three_queries(system, ["true"]) == three_queries(copy, ["true"])


def test_names_of_cells_in_the_statement_of_an_engine() -> None:
    made = machine_of('rules "x" button a button b claim c: never (a is pressed for 1 s) and (b is pressed for 2 s)')
    system = cone(made, made.properties[0])
    names = [s.name for s in system.states]
    assert any(name.startswith("@") for name in names)
    lines = from_engine(system, "(and " + " ".join(f"(= |{n}| |{n}|)" for n in names) + ")")
    text = "\n".join(lines)
    assert "|@" not in text
    assert all(f"|unnamed {n[1:]}|" in text for n in names if n.startswith("@"))


def test_what_nobody_wrote_is_said_in_words() -> None:
    made = machine_of(
        """rules "x" device { reads last cycle } button a button b channel c { rests at 0 %  from 0 % to 100 % }
        latch l { set when a is pressed and b is pressed }
        rule one while l { drive c to 50 % } rule two while a is pressed { drive c to 20 % }"""
    )
    assert [says(made, p) for p in made.properties] == [
        "one and two never drive c to different values in one cycle",
        "entries that read one another late do not set l by a glitch",
    ]


# ---------- names of files


def renamed(*names: str) -> dict[str, str]:
    few = MACHINE.properties[0]
    return file_stems(replace(MACHINE, properties=tuple(replace(few, name=name) for name in names)))


def test_files_are_called_as_the_claims() -> None:
    names = ("few", "a.locked", "one_driver.motor.x.y", "Höhe")
    assert renamed(*names) == {name: name for name in names}


def test_names_that_not_every_system_takes() -> None:
    assert renamed("con", "nul.x") == {"con": "con_", "nul.x": "nul.x_"}
    assert renamed("stop", "Stop", "stop_2") == {"stop": "stop", "Stop": "Stop_2", "stop_2": "stop_2_2"}


@given(st.lists(st.text(min_size=0, max_size=200), min_size=1, max_size=6, unique=True))
@settings(max_examples=200, deadline=None)
def test_a_name_never_leads_out_of_the_folder(names: list[str]) -> None:
    stems = renamed(*names)
    assert len({stem.casefold() for stem in stems.values()}) == len(names)
    for stem in stems.values():
        assert Path(f"{stem}.step.smt2").name == f"{stem}.step.smt2"
        assert not stem.startswith(".")
        assert not set(stem) & set('/\\:*?"<>|\0\n ')
        assert len(stem.encode()) < 240


# ---------- one edited character


def another(byte: int) -> bytes:
    return b"0" if byte != ord("0") else b"1"


@pytest.mark.parametrize("name", sorted(written()))
def test_one_character_edited_anywhere_is_refused(name: str) -> None:
    """Replaced, taken away or doubled: no place in any of the files is without a say."""
    files = written()
    data = files[name]
    stride = 1 if name == LIST else 7  # texts are compared as a whole, which every seventh place shows as well
    mine = name.partition(".")[0] if name != LIST else ""
    for place in range(0, len(data), stride):
        for edit in (another(data[place]), b"", data[place : place + 1] * 2):
            edited = data[:place] + edit + data[place + 1 :]
            comparison = compare(MACHINE, ORIGIN, PROGRAM, {**files, name: edited})
            if name == LIST:
                assert comparison.refused, f"place {place}"
            else:
                refused = {c.name for c in comparison.claims if c.refused}
                assert refused == {mine}, f"place {place}"


@given(st.data())
@settings(max_examples=150, deadline=None)
def test_one_character_edited_in_the_rules(data: st.DataObject) -> None:
    """What holds then is the very text that the record has: the edit was without meaning, or not for this claim."""
    place = data.draw(st.integers(0, len(RULES) - 1))
    edited = RULES[:place] + data.draw(st.sampled_from("0123456789abcn <>,%:x")) + RULES[place + 1 :]
    checked = check_text(Source("small.latch", edited), ROOT)
    if checked.rules is None:
        return
    made = machine(checked.rules)
    files = written()
    comparison = compare(made, origin_of(made, checked.sources.values(), None), PROGRAM, files)
    if comparison.refused:
        return
    assert bool(comparison.notes) == (edited != RULES)
    again = records(made, [Proof(n, False, s) for n, s in STATEMENTS.items() if n in {p.name for p in made.properties}],
                    ORIGIN, PROGRAM)  # fmt: skip
    for claim in comparison.claims:
        if not claim.refused:
            names = [f"{claim.name}.{asks}.smt2" for asks in ("start", "step", "claim")]
            assert [again[n].encode() for n in names] == [files[n] for n in names]


# ---------- a stranger who gets the checksums right


def forged(claim: str, lines: Sequence[str], scripts: Mapping[str, str] | None = None) -> dict[str, bytes]:
    """A record of which one statement was replaced, with texts and checksums that fit it."""
    files = written()
    texts = {asks: files[f"{claim}.{asks}.smt2"].decode() for asks in ("start", "step", "claim")}
    texts = {asks: t.replace("\n" + "\n".join(STATEMENTS[claim]) + "\n)", "\n" + "\n".join(lines) + "\n)")
             for asks, t in texts.items()}  # fmt: skip
    texts |= dict(scripts or {})
    read = read_list(files[LIST])
    rows = []
    for one in read.proofs.values():
        if one.proof.claim == claim:
            named = {a: (f"{claim}.{a}.smt2", checksum(texts[a])) for a in one.files}
            one = replace(one, proof=replace(one.proof, statement=tuple(lines)), files=named)
        rows.append(row(one.proof, one.says, one.facts, one.files))
    files |= {f"{claim}.{asks}.smt2": text.encode() for asks, text in texts.items()}
    return {**files, LIST: listed(read.origin, read.program, rows).encode()}


def test_the_forger_is_good_at_it() -> None:
    """A true statement of his own is as good as ours."""
    assert judged(forged("few", ["(and", "  (<= |n| 3.0)", "  (<= |n| 4.0)", ")"])) == {"few": "holds", "off": "holds"}


@pytest.mark.parametrize(
    ("lines", "questions"), [(["false"], {"start"}), (["(<= |n| 2.0)"], {"step"}), (["true"], {"claim"})]
)
def test_a_statement_that_proves_nothing_fails(lines: list[str], questions: set[str]) -> None:
    comparison = compare(MACHINE, ORIGIN, PROGRAM, forged("few", lines))
    few, off = opinions(comparison, SOLVERS, asked, seconds=60, at_once=1)
    assert (few.result, off.result) == ("fails", "holds")
    assert {asks for _, asks in few.answered("sat")} == questions
    assert {solver for solver, _ in few.answered("sat")} == set(SOLVERS)


@pytest.mark.parametrize(
    "line",
    [
        "true) (assert false",
        "true)(assert false)(define-fun |x| () Bool true",
        "(exists ((x Real)) (= x |n|))",
        "(forall ((x Real)) (= x |n|))",
        "(! true :named x)",
        "(= |n| |no such cell|)",
        "(<= |n| 3.0) ; true",
        '(= "a" "a")',
        "((_ divisible 3) 3)",
        "(let ((|n| 0.0)) (<= |n| 3.0)) (",
        "(let ((and true)) and)",
        "(<= (* |n| |n|) 9.0)",
        "(<= (/ 1.0 |n|) 9.0)",
        "(<= (/ 1.0 0.0) 9.0)",
        "|n|",
        "(not |n|)",
        "",
        "(" * 100_000 + ")" * 100_000,
        "true" * 1_000_000,
    ],
)
def test_a_statement_that_is_more_or_less_than_one_is_refused(line: str) -> None:
    comparison = compare(MACHINE, ORIGIN, PROGRAM, forged("few", [line]))
    few, off = comparison.claims
    assert few.refused.startswith("what the record states is no formula about this machine: ")
    assert not few.scripts
    assert not off.refused


def test_a_deep_statement_is_no_danger() -> None:
    deep = "(not " * 20_000 + "true" + ")" * 20_000
    assert judged(forged("few", [deep]))["few"] != "holds"


def test_other_texts_with_fitting_checksums_are_refused() -> None:
    text = written()["few.claim.smt2"].decode().replace("(check-sat)", "(assert false)\n(check-sat)")
    assert judged(forged("few", STATEMENTS["few"], {"claim": text})) == {"few": "refused", "off": "holds"}


def test_a_list_that_names_other_files_is_refused() -> None:
    data = json.loads(written()[LIST])
    data["proofs"][0]["files"]["step"]["name"] = "../few.step.smt2"
    del data["sha256"]
    data["sha256"] = checksum(json.dumps(data, indent=1) + "\n")
    files = {**written(), LIST: (json.dumps(data, indent=1) + "\n").encode()}
    assert reasons(compare(MACHINE, ORIGIN, PROGRAM, files)) == {
        "few": "proofs.json names the file ../few.step.smt2, not few.step.smt2",
        "off": "",
        "few.step.smt2": "proofs.json does not know this file",
    }


NO_LISTS = [
    *(b"", b"{", b"[]", b"null", b"\xff\xfe", b"[" * 100_000, b"9" * 10_000, b'{"a": 1, "a": 2}'),
    b'{"format": "latchproof.proofs/1"}',
    b'{"format": "latchproof.proofs/1", "proofs": 3, "rules": []}',
]


@pytest.mark.parametrize("data", NO_LISTS)
def test_a_list_that_is_none_is_refused(data: bytes) -> None:
    assert compare(MACHINE, ORIGIN, PROGRAM, {**written(), LIST: data}).refused


# ---------- records of other rules, claim by claim


def reasons(comparison: Comparison) -> dict[str, str]:
    return {c.name: c.refused for c in comparison.claims}


def test_of_other_rules() -> None:
    made, origin = small(RULES.replace("Small", "Large"))
    assert compare(made, origin, PROGRAM, written()).refused == (
        'it is of other rules: "Small" version 1; the rule file is "Large" version 1'
    )


def test_of_another_stage() -> None:
    assert compare(MACHINE, replace(ORIGIN, stage="first"), PROGRAM, written()).refused == (
        "it is of no stage, and not of stage first"
    )


def test_a_claim_that_changed() -> None:
    made, origin = small(RULES.replace("is above 3", "is above 2"))
    comparison = compare(made, origin, PROGRAM, written())
    assert reasons(comparison) == {
        "few": 'the record is of another promise: "three at most": never n is above 3', "off": ""
    }  # fmt: skip
    assert comparison.notes == (
        "the rule file has been changed since; each promise is compared with what the rules come to now",
    )


def test_a_rule_that_changed() -> None:
    made, origin = small(RULES.replace("at most 3 }", "at most 4 }"))
    found = reasons(compare(made, origin, PROGRAM, written()))
    assert found["few"].startswith("few.step.smt2, line ")
    assert found["few"].endswith(" is not what the rules come to")
    assert found["off"] == ""


def test_a_comment_that_changed() -> None:
    made, origin = small("# mine\n" + RULES)
    comparison = compare(made, origin, PROGRAM, written())
    assert reasons(comparison) == {"few": "", "off": ""}
    assert comparison.notes


def test_a_claim_too_many_and_one_too_few() -> None:
    made, origin = small(RULES.replace("claim off:", "claim free:"))
    assert judged(written(), origin, made) == {"few": "holds", "free": "absent", "off": "refused"}
    assert reasons(compare(made, origin, PROGRAM, written()))["off"] == "the rules make no such promise"


def test_a_file_too_few_and_one_too_many() -> None:
    files = written()
    del files["few.step.smt2"]
    found = reasons(compare(MACHINE, ORIGIN, PROGRAM, files, ["more.step.smt2"]))
    assert found == {
        "few": "few.step.smt2 is missing", "off": "", "more.step.smt2": "proofs.json does not know this file"
    }  # fmt: skip


def test_another_version_of_the_program_is_told() -> None:
    assert compare(MACHINE, ORIGIN, "latchproof 2", written()).notes == (
        "the record was written by latchproof 1; this is latchproof 2",
    )
