"""Outcomes asked for, proved in machines, accepted or not."""

from fractions import Fraction

from latchproof.hazards.catalogue import CHECKS, page
from latchproof.hazards.model import Check, Finding, NotNamed, Procedure, Seen
from latchproof.hazards.report import acceptance, machines, outcomes, unneeded
from latchproof.prove.workers import Workers
from latchproof.rules.model import Accepted
from tests.helpers.hazards import findings, site_of
from tests.helpers.rules import ROOT

SITE = """rules "Small"
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 100 m  stale after 1 s }
role arm is guard is on
channel motor { follows throttle  from 0 % to 100 % }
rule climb while guard is on and height is fresh and height is below 30 m { drive motor to 50 % }
"""


def accepting(*lines: str) -> tuple[Accepted, ...]:
    return site_of(SITE + "\n".join(lines)).rules.accepted


def test_each_hazard_says_something_in_the_order_of_the_numbers() -> None:
    for path in sorted((ROOT / "examples").glob("*/*.latch")):
        said = [o.hazard for o in outcomes(site_of(path.read_text("utf-8"), path.parent))]
        assert said == sorted(said)
        assert set(said) == set(CHECKS)


def test_the_more_special_acceptance_counts() -> None:
    site = site_of(SITE + 'accept H36 because "all of them"  accept H36 in climb because "this one"')
    assert acceptance(site.rules, Seen("H36", "climb", False, "x")) == site.rules.accepted[1]
    assert acceptance(site.rules, Seen("H36", "other", False, "x")) == site.rules.accepted[0]
    assert acceptance(site.rules, NotNamed("H36", "x", "y")) == site.rules.accepted[0]
    assert acceptance(site.rules, Procedure("H36", "x", "once")) is None
    assert acceptance(site.rules, Seen("H35", "climb", False, "x")) is None


def test_what_does_not_occur_needs_no_acceptance() -> None:
    site = site_of(SITE + 'accept H36 in climb because "a"  accept H35 because "b"  accept H34 in climb because "c"')
    first, second, third = site.rules.accepted
    found = [
        Finding(Seen("H36", "climb", False, "x"), accepted=first),
        Finding(NotNamed("H35", "x", "y"), accepted=second),
        Finding(Seen("H34", "climb", True, "x"), accepted=third),
    ]
    assert unneeded(site.rules, found, CHECKS) == (third,)
    assert unneeded(site.rules, found, ["H35"]) == ()


def test_a_machine_has_the_promises_of_the_checks_alone() -> None:
    site = site_of(SITE + "claim mine: never motor is above 99 %")
    checks = tuple(o for o in outcomes(site, ["H28", "H36"]) if isinstance(o, Check))
    (machine,) = machines(checks)
    assert {p.name for p in machine.properties} == {"H28 climb", "H36 climb"}
    assert {c.name for c in machine.rules.claims} == {"H28 climb", "H36 climb"}


def test_an_accepted_hazard_is_looked_for_all_the_same(workers: Workers) -> None:
    site = site_of(SITE + 'accept H28 in climb because "I watch it"')
    (found,) = findings(site, ["H28"], workers)
    assert found.state == "fails"
    assert found.accepted == site.rules.accepted[0]
    assert found.verdict is not None
    assert found.verdict.trace is not None
    assert found.verdict.trace.records[-1].time > Fraction(8)


def test_every_hazard_has_a_page() -> None:
    for number in CHECKS:
        assert len(page(number)) >= 2, number
