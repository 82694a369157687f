"""Which promise notices a weakening, what would where none does, and what cannot be noticed at all."""

from dataclasses import replace
from pathlib import Path

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.prover import prove, prove_all
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim, RuleSet
from latchproof.show.promises import claim as claim_text
from latchproof.show.strength import render, summary
from latchproof.show.weakenings import changed
from latchproof.show.wording import Wording
from latchproof.source import Source
from latchproof.strength import report
from latchproof.strength.report import Strength
from tests.helpers.rules import machine_of, rules_of

RULES = """switch guard positions off, on
switch stop positions run, cut
stick throttle from 0 % to 100 %
sensor height { from 0 m to 100 m  step 1 m  stale after 1 s }
tune floor = 30 m from 20 m to 40 m
channel motor { follows throttle  from 0 % to 100 % }
signal low = height is below floor and height is fresh
latch saving {
  set when   low and guard is on
  reset when guard is off
  timeout 3 s
}
rule climb while saving {
  drive motor to 80 %  after 200 ms
  announce voice "low"
}
rule cut while stop is cut { drive motor to 0 % }
priority cut over climb
claim off "off is off": never saving while guard is off
claim stops "stop is stop": always motor is equal to 0 % while stop is cut
claim short "never longer than 3.1 s": length of saving at most 3.1 s
claim real "only below the floor": never (saving begins) and height is at least floor
"""


def weighed(text: str, workers: Workers) -> tuple[Machine, list[report.Tested]]:
    machine = machine_of(text)
    verdicts = tuple(prove_all(machine, workers, time_limit=60, at_once=2))
    assert {v.answer for v in verdicts} <= {"proved"}
    return machine, list(Strength(machine, verdicts, workers, 60, 2).run())


@pytest.fixture(scope="module")
def found(workers: Workers) -> tuple[Machine, list[report.Tested]]:
    return weighed(RULES, workers)


def told(machine: Machine, several: list[report.Tested]) -> list[str]:
    w = Wording.of(machine.rules)
    lines = []
    for t in several:
        suggested = "" if t.suggested is None else f" => {claim_text(t.suggested, w).partition(': ')[2]}"
        by = "" if t.by is None else f" ({t.by})"
        lines.append(f"{t.state}{by}: {t.weakening.place.name}: {changed(t.weakening, w)}{suggested}")
    return lines


GOLDEN = Path(__file__).parent / "weighed.txt"


def test_what_a_pilot_reads(found: tuple[Machine, list[report.Tested]], pytestconfig: pytest.Config) -> None:
    machine, several = found
    source = Source("test.latch", RULES)
    text = render(several, machine.rules, {source.name: source}, whole=True) + f"\n\n{summary(several)}\n"
    assert all(len(line) <= 80 for line in text.splitlines())
    if pytestconfig.getoption("--update-goldens"):
        GOLDEN.write_text(text, encoding="utf-8")
    assert text == GOLDEN.read_text(encoding="utf-8")


def answer(rules: RuleSet, claim: Claim, workers: Workers) -> str:
    machine, _ = compile_rules(replace(rules, claims=(claim,)))
    assert machine is not None
    return prove(machine, machine.properties[0], claim, workers, 60).answer


def test_a_suggested_promise_can_be_pasted_and_notices(
    found: tuple[Machine, list[report.Tested]], workers: Workers
) -> None:
    machine, several = found
    w = Wording.of(machine.rules)
    some = [t for t in several if t.suggested is not None]
    assert some
    for t in some:
        assert t.suggested is not None
        pasted = rules_of(RULES + claim_text(t.suggested, w) + "\n").claims[-1]
        assert (pasted.name, pasted.form, pasted.scope) == (t.suggested.name, t.suggested.form, t.suggested.scope)
        assert answer(machine.rules, pasted, workers) == "proved"
        assert answer(t.weakening.rules, pasted, workers) == "refuted"


def test_with_all_that_was_suggested_everything_is_noticed(
    found: tuple[Machine, list[report.Tested]], workers: Workers
) -> None:
    machine, several = found
    w = Wording.of(machine.rules)
    more = []
    for k, t in enumerate(t for t in several if t.suggested is not None):
        assert t.suggested is not None
        more.append(claim_text(t.suggested, w).replace(f"claim {t.suggested.name}:", f"claim more_{k}:", 1))
    _, again = weighed(RULES + "\n".join(more) + "\n", workers)
    before = {changed(t.weakening, w) for t in several if t.state == "unnoticed" and t.suggested is None}
    assert {changed(t.weakening, w) for t in again if t.state == "unnoticed"} <= before
    assert sum(t.state == "noticed" for t in again) > sum(t.state == "noticed" for t in several)


def test_the_same_whatever_runs_at_once(found: tuple[Machine, list[report.Tested]], workers: Workers) -> None:
    machine, several = found
    verdicts = tuple(prove_all(machine, workers, time_limit=60, at_once=1))
    again = list(Strength(machine, verdicts, workers, 60, 1).run())
    assert told(machine, again) == told(machine, several)


def test_nobody_would_notice_is_true(found: tuple[Machine, list[report.Tested]], workers: Workers) -> None:
    """Each promise is proved anew of the weakened rules, with nothing kept."""
    _, several = found
    some = [t for t in several if t.state in ("unnoticed", "changes nothing")]
    assert some
    for t in some:
        machine, _ = compile_rules(t.weakening.rules)
        assert machine is not None
        assert {v.answer for v in prove_all(machine, workers, time_limit=60, at_once=2)} == {"proved"}
