"""Each planted fault is noticed; those in the accelerations cost at most a proof or a trace."""

from functools import partial

import pytest

from tests.faults import checks, guard
from tests.faults.fault import Fault
from tests.faults.planted import ACCELERATIONS, TRUSTED

HOPED = ("at any cycle time", "over a long time", "an example", "after a wait", "at the longest")
"""Claims that different engines decide, three of them true."""


def plant(fault: Fault, monkeypatch: pytest.MonkeyPatch) -> None:
    """For this test only, and in every process that is forked from it. Lost proofs are not waited for."""
    right = getattr(fault.place, fault.what)
    wrong = fault.make(right)
    assert wrong is not right
    for place in (fault.place, *fault.also):
        assert getattr(place, fault.what) is right, f"{place} has another {fault.what}"
        monkeypatch.setattr(place, fault.what, wrong)
    monkeypatch.setattr(checks, "SECONDS", 1.5)


CHECKS = {
    f"{c.func.__name__} {', '.join(map(str, c.args))}": c
    for c in (f.caught_by for f in (*TRUSTED, *ACCELERATIONS))
    if isinstance(c, partial)
}


@pytest.mark.parametrize("check", CHECKS)
def test_without_a_fault_nothing_is_noticed(check: str) -> None:
    CHECKS[check]()


@pytest.mark.parametrize("fault", [*TRUSTED, *ACCELERATIONS], ids=lambda f: f.name)
def test_a_fault_is_noticed(fault: Fault, monkeypatch: pytest.MonkeyPatch) -> None:
    plant(fault, monkeypatch)
    with pytest.raises(AssertionError):
        fault.caught_by()


@pytest.mark.parametrize("fault", ACCELERATIONS, ids=lambda f: f.name)
def test_an_acceleration_at_fault_makes_no_wrong_verdict(fault: Fault, monkeypatch: pytest.MonkeyPatch) -> None:
    plant(fault, monkeypatch)
    checks.never_wrong(*HOPED)


@pytest.mark.parametrize("fault", [f for f in ACCELERATIONS if "says yes" in f.name or "makes its proofs up" in f.name])
def test_a_proof_that_does_not_pass_is_told_of(fault: Fault, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is no verdict, and not passed over in silence either."""
    plant(fault, monkeypatch)
    monkeypatch.setattr(checks, "SECONDS", 20.0)
    (verdict,) = checks.given("at once")
    assert verdict.answer == "unknown"
    assert verdict.broken
    assert "internal error" in (verdict.reason or "")


def test_the_claims_are_what_they_are_said_to_be() -> None:
    """Where nothing is planted every claim is decided, and rightly."""
    checks.verdicts(*guard.TRUE, *guard.FALSE)


def test_there_are_enough_faults_and_all_are_different() -> None:
    faults = [*TRUSTED, *ACCELERATIONS]
    assert len({f.name for f in faults}) == len(faults) >= 20
