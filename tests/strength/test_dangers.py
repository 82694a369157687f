"""Where no promise notices a weakening, one of the dangers that are looked for in all rules may."""

from dataclasses import replace

import pytest

from latchproof.hazards.report import examine, outcomes
from latchproof.hazards.site import Site
from latchproof.machine.compile import compile_rules
from latchproof.prove.prover import prove_all, prove_each
from latchproof.prove.workers import Workers
from latchproof.rules.model import RuleSet
from latchproof.show.strength import as_json, render, summary
from latchproof.show.weakenings import changed
from latchproof.show.wording import Wording
from latchproof.source import Source
from latchproof.strength import report
from latchproof.strength.dangers import Dangers
from latchproof.strength.report import Strength
from tests.helpers.rules import rules_of

RULES = """switch guard positions off, on
switch stop positions run, cut
stick throttle from 0 % to 100 %
role arm is guard is on
role kill is stop is cut
channel motor { follows throttle  from 0 % to 100 % }
channel lamp { rests at 0 %  from 0 % to 100 % }
button help
latch calling {
  set when   help is pressed and guard is on
  reset when guard is off
}
rule shine while calling {
  drive lamp to 100 %
  announce voice "calling"
}
rule cut while stop is cut { drive motor to 0 % }
claim lit "a call shows": whenever calling then lamp is equal to 100 %
"""

ACCEPTED = 'accept H02 in calling because "it may stay on"\n'


def site(text: str) -> Site:
    source = Source("test.latch", text)
    return Site(rules_of(text), {source.name: source})


def weighed(text: str, workers: Workers) -> list[report.Tested]:
    here = site(text)
    machine, _ = compile_rules(here.rules)
    assert machine is not None
    verdicts = tuple(prove_all(machine, workers, time_limit=60, at_once=2))
    assert {v.answer for v in verdicts} == {"proved"}
    work = Strength(machine, verdicts, workers, 60, 2, dangers=Dangers(here, workers, 60, 2))
    return list(work.run())


@pytest.fixture(scope="module")
def found(workers: Workers) -> list[report.Tested]:
    return weighed(RULES, workers)


def told(several: list[report.Tested], rules: RuleSet) -> dict[str, str]:
    w = Wording.of(rules)
    return {changed(t.weakening, w): t.danger.hazard if t.danger else t.state for t in several}


def test_what_no_promise_notices_a_hazard_may(found: list[report.Tested]) -> None:
    said = told(found, rules_of(RULES))
    assert said["`drive lamp to 100 %` were missing"] == "noticed"
    assert said["`reset when guard is off` were missing"] == "H02"
    assert said["`stop is cut` were `stop is run`"] == "H14"
    assert said["`help is pressed` were left out"] == "unnoticed"


def fails(rules: RuleSet, sources: Site, hazard: str, about: str, workers: Workers) -> bool:
    """Whether `latchproof hazards` tells of it."""
    there = Site(rules, sources.sources)
    asked = outcomes(there, [hazard])
    findings = examine(there, lambda some: prove_each(some, workers, time_limit=60, at_once=2), asked)
    return any(f.state == "fails" and f.about == about for f in findings)


def test_that_hazard_is_there_with_the_weakening_and_not_without(found: list[report.Tested], workers: Workers) -> None:
    here = site(RULES)
    some = [t for t in found if t.danger is not None]
    assert some
    for t in some:
        assert t.danger is not None
        assert fails(t.weakening.rules, here, t.danger.hazard, t.danger.about, workers)
        assert not fails(here.rules, here, t.danger.hazard, t.danger.about, workers)


def test_what_is_accepted_notices_nothing(found: list[report.Tested], workers: Workers) -> None:
    def noticed(several: list[report.Tested]) -> set[tuple[str, str]]:
        return {(t.danger.hazard, t.danger.about) for t in several if t.danger is not None}

    assert ("H02", "calling") in noticed(found)
    assert ("H02", "calling") not in noticed(weighed(RULES + ACCEPTED, workers))


def test_what_is_there_without_the_weakening_notices_nothing(workers: Workers) -> None:
    """Without its reset the latch stays on anyway: that hazard cannot tell a weaker set line."""
    text = RULES.replace("  reset when guard is off\n", "")
    here = site(text)
    asked = {(t.danger.hazard, t.danger.about) for t in weighed(text, workers) if t.danger is not None}
    assert asked
    assert not any(fails(here.rules, here, hazard, about, workers) for hazard, about in asked)


def test_the_pilot_reads_that_it_is_a_hazard_and_no_promise(found: list[report.Tested]) -> None:
    here = site(RULES)
    text = render(found, here.rules, here.sources)
    assert "no promise would notice, but `latchproof hazards` would, if" in text
    assert "hazard H02 (calling): the switch holds back the action" in text
    count = sum(t.danger is not None for t in found)
    assert f"{count} noticed by a hazard only" in " ".join(summary(found).split())
    assert all(len(line) <= 80 for line in text.splitlines())
    assert '"hazard": "H02"' in as_json([("test.latch", here.rules, found, here.sources)])


def test_without_them_nobody_notices(found: list[report.Tested], workers: Workers) -> None:
    """The weakening that a hazard notices is one that no promise notices."""
    some = [t for t in found if t.danger is not None]
    for t in some:
        machine, _ = compile_rules(replace(t.weakening.rules, claims=rules_of(RULES).claims))
        assert machine is not None
        assert {v.answer for v in prove_all(machine, workers, time_limit=60, at_once=2)} == {"proved"}
