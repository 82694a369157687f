"""Every example says what it is for and what it is not, and is held to the verdicts it promises."""

import json
import re
import subprocess
import tomllib
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import get_args

import pytest

from latchproof import pipeline
from latchproof.source.read import read
from latchproof.syntax import tree
from latchproof.syntax.parse import parse
from tests.cli.commands import command, environment, run

EXAMPLES = Path(__file__).parents[2] / "examples"
FOLDERS = sorted(p for p in EXAMPLES.iterdir() if p.is_dir())
RULE_FILES = sorted(EXAMPLES.glob("*/*.latch"))
SHOWN = {"proved": "proved", "refuted": "fails"}
STARTING_POINT = "This is a starting point to be tuned and tested, never to be flown as it is."
SECTIONS = (
    "What it prevents",
    "What it does not prevent",
    "What is assumed",
    "What is promised",
    "Before you use any of it",
)
CAUTIONS = ("Propeller off", "range check", "failsafe check", "experienced helper", "Local rules", "safety officer")


def name_of(path: Path) -> str:
    return path.relative_to(EXAMPLES).as_posix()


def tree_of(path: Path) -> tree.File:
    source, _ = read(str(path))
    assert source is not None
    file, found = parse(source)
    assert file is not None, found
    return file


def claims_of(path: Path) -> dict[str, tree.Claim]:
    return {s.name.text: s for s in tree_of(path).statements if isinstance(s, tree.Claim)}


def expected_in(folder: Path) -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = tomllib.loads((folder / "expected.toml").read_text("utf-8"))
    return found


def nodes(x: object) -> Iterator[object]:
    if isinstance(x, tuple):
        for part in x:
            yield from nodes(part)
    elif is_dataclass(x):
        yield x
        for f in fields(x):
            yield from nodes(getattr(x, f.name))


def test_there_are_examples() -> None:
    assert len(FOLDERS) >= 12
    assert {p.parent for p in RULE_FILES} == set(FOLDERS)


@pytest.mark.parametrize("folder", FOLDERS, ids=name_of)
def test_readme_says_what_to_expect_of_it(folder: Path) -> None:
    text = (folder / "README.md").read_text("utf-8")
    assert STARTING_POINT in text
    for heading in SECTIONS:
        assert re.search(rf"^## {re.escape(heading)}\n\n\S", text, re.MULTILINE), heading
    cautions = text.split("## Before you use any of it", 1)[1]
    for words in CAUTIONS:
        assert words in " ".join(cautions.split()), words


@pytest.mark.parametrize("folder", FOLDERS, ids=name_of)
def test_the_readme_lists_every_claim_with_its_verdict(folder: Path) -> None:
    text = (folder / "README.md").read_text("utf-8")
    tables = re.findall(r"^\| claim \| in words \| expected \|\n\|---\|---\|---\|\n((?:\|.*\|\n)+)", text, re.MULTILINE)
    listed = [[c.strip() for c in row.strip("|").split("|")] for t in tables for row in t.splitlines()]
    wanted = [
        [name, claim.sentence.value if claim.sentence else "", SHOWN[expected_in(folder)[path.name][name]]]
        for path in sorted(folder.glob("*.latch"))
        for name, claim in claims_of(path).items()
    ]
    assert listed == wanted


@pytest.mark.parametrize("folder", FOLDERS, ids=name_of)
def test_each_claim_has_an_expected_verdict(folder: Path) -> None:
    expected = expected_in(folder)
    assert expected.keys() == {p.name for p in folder.glob("*.latch")}
    for name, verdicts in expected.items():
        assert list(verdicts) == list(claims_of(folder / name))
        assert set(verdicts.values()) <= {"proved", "refuted"}
        assert len(verdicts) >= 4


def test_only_the_first_attempt_fails() -> None:
    failing = {
        name_of(f / name): sum(v == "refuted" for v in verdicts.values())
        for f in FOLDERS
        for name, verdicts in expected_in(f).items()
        if "refuted" in verdicts.values()
    }
    assert failing.keys() == {"floor_guard/first_attempt.latch"}
    assert failing["floor_guard/first_attempt.latch"] >= 6


@pytest.mark.parametrize("path", RULE_FILES, ids=name_of)
def test_every_claim_has_a_sentence_of_its_own(path: Path) -> None:
    said = [c.sentence.value for c in claims_of(path).values() if c.sentence is not None]
    assert len(said) == len(claims_of(path))
    assert len(set(said)) == len(said)


@pytest.mark.parametrize("path", RULE_FILES, ids=name_of)
def test_one_switch_gives_everything_back_or_the_readme_says_why_none_does(path: Path) -> None:
    armed = any(isinstance(s, tree.Role) and s.role.text == "arm" for s in tree_of(path).statements)
    promised = armed and any(name.startswith("off_") for name in claims_of(path))
    text = " ".join((path.parent / "README.md").read_text("utf-8").split()).lower()
    assert promised != ("nothing switches" in text)


@pytest.mark.parametrize("path", RULE_FILES, ids=name_of)
def test_it_is_read_without_a_complaint(path: Path) -> None:
    checked = pipeline.check(str(path))
    assert checked.rules is not None
    assert [d.code for d in checked.diagnostics] == []


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("**/*.latch")), ids=name_of)
def test_it_is_laid_out_the_usual_way(path: Path) -> None:
    ran = run("format", "--check", str(path))
    assert ran.code == 0, ran.err


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("**/*.latch")), ids=name_of)
def test_it_reads_the_same_on_one_line(path: Path) -> None:
    """Line breaks mean nothing (comments end with theirs, so they are left out)."""
    source, _ = read(str(path))
    assert source is not None
    bare = re.sub(r"#[^\n]*", "", source.text)
    assert '"' not in "".join(re.findall(r"#[^\n]*", source.text))
    one_line, found = parse(type(source)(source.name, " ".join(bare.split())))
    assert found == ()
    assert one_line == tree_of(path)


def test_between_them_they_use_every_construct() -> None:
    seen = [n for p in EXAMPLES.glob("**/*.latch") for n in nodes(tree_of(p))]
    types = {type(n) for n in seen}
    for union in (tree.Statement, tree.Form, tree.Expr, tree.Predicate, tree.Action):
        assert set(get_args(union)) <= types, union
    assert types >= {tree.FollowsTable, tree.Timeout, tree.Scope, tree.Basis}

    def used(kind: type, attribute: str) -> set[object]:
        return {getattr(n, attribute) for n in seen if type(n) is kind}

    assert used(tree.Timing, "kind") == {"for", "extended", "pulsed", "begins", "ends"}
    assert used(tree.Modifier, "kind") == {"after", "ramp", "hand back"}
    assert used(tree.Scope, "kind") == {"while", "since"}
    assert used(tree.Limit, "bound") == used(tree.LengthOf, "bound") == {"least", "most"}
    assert used(tree.Parameter, "kind") == {"signal", "sensor", "channel", "value"}
    assert used(tree.Control, "kind") == {"stick", "knob"}
    assert used(tree.Basis, "kind") == {"measured", "assumed"}
    assert used(tree.Stage, "warn_only") == {True, False}
    assert used(tree.Binary, "operator") == {"+", "-", "*", "/"}
    assert {n.text for n in used(tree.Role, "role")} == {"arm", "kill", "landing", "launch", "instructor"}  # type: ignore[attr-defined]
    assert {n.text for n in used(tree.Announce, "means")} == {"voice", "tone", "vibration"}  # type: ignore[attr-defined]
    assert {n.text for n in used(tree.Of, "function")} == {  # type: ignore[attr-defined]
        "rate", "age", "previous", "truth", "pilot_value", "size", "smaller", "larger", "exactly_one",
    }  # fmt: skip
    assert used(tree.Clause, "kind") == {
        "reads", "step", "frame_every", "stale_after", "keeps_value", "reads_value", "error", "changes", "lag",
        "follows", "rests_at", "ends", "direction", "trim",
        "set_when", "reset_when", "set_wins", "counts", "clears", "limit", "starts",
    }  # fmt: skip
    states = {n.text for n in used(tree.InState, "state")}  # type: ignore[attr-defined]
    assert states >= {"pressed", "released", "stale", "fresh", "heard", "free", "driven", "moved", "limited"}
    assert any(n.until for n in seen if isinstance(n, tree.Compared)), "two thresholds"
    assert any(n.steps for n in seen if isinstance(n, tree.Tune)), "a tune in steps"
    assert any(n.to for n in seen if isinstance(n, tree.Fact)), "a fact with a span"
    assert any(n.tunes for n in seen if isinstance(n, tree.Stage)), "a stage with tunes"
    assert any(n.arriving for n in seen if isinstance(n, tree.Claim)), "a sensor that keeps arriving"
    ends = [(t.blocked_until is not None, t.blocked_for is not None) for t in seen if isinstance(t, tree.Timeout)]
    assert set(ends) == {(False, False), (True, False), (False, True)}
    phases = [(p.lasts is not None, p.until is not None) for p in seen if isinstance(p, tree.Phase)]
    assert set(phases) == {(False, False), (True, False), (False, True)}
    controls = {n.name.text for n in seen if isinstance(n, tree.Control)}
    acted_on = {r.text for n in seen if isinstance(n, tree.Drive | tree.Move | tree.Limit) for r in n.channels}
    assert controls & acted_on, "an action on a control"


@pytest.mark.parametrize("path", RULE_FILES, ids=name_of)
def test_each_claim_gets_the_verdict_that_is_promised(path: Path) -> None:
    argv = command("prove", "--format", "json", "--time-limit", "60", str(path))
    done = subprocess.run(argv, capture_output=True, text=True, env=environment(), timeout=600, check=False)
    expected = expected_in(path.parent)[path.name]
    assert done.returncode == ("refuted" in expected.values()), done.stderr
    (file,) = json.loads(done.stdout)["files"]
    verdicts = {c["name"]: c["verdict"] for c in file["claims"]}
    assert {name: verdicts.pop(name) for name in expected} == expected
    assert set(verdicts.values()) <= {"proved"}, "what nobody wrote: no two drives fight"
