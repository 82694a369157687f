"""Every claim of every example: the verdict it promises, and what a verdict must stand."""

import tomllib
from pathlib import Path

import pytest

from latchproof.prove.prover import prove_all
from latchproof.prove.workers import Workers
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import ROOT, example

FILES = sorted((ROOT / "examples").glob("*/*.latch"))
SECONDS = 120
"""For a claim: none needs a tenth of it on a machine that does nothing else."""


@pytest.mark.parametrize("file", FILES, ids=lambda p: p.relative_to(ROOT / "examples").as_posix())
def test_verdicts_are_as_promised_and_stand(file: Path, workers: Workers) -> None:
    promised = tomllib.loads((file.parent / "expected.toml").read_text("utf-8"))[file.name]
    machine = example(f"{file.parent.name}/{file.name}")
    properties = {p.name: p for p in machine.properties}
    claims = {c.name: c for c in machine.rules.claims}
    assert len(properties) == len(machine.properties), "two properties with one name"
    answers = {}
    for verdict in prove_all(machine, workers, time_limit=SECONDS, at_once=2):
        check_verdict(machine, properties[verdict.claim], claims.get(verdict.claim), verdict, workers, cycles=40)
        answers[verdict.claim] = verdict.answer
    assert {name: answers[name] for name in promised} == promised
    assert all(answer == "proved" for name, answer in answers.items() if name not in promised)
