"""A stage that only warns leaves every channel to the pilot: proved of every example, noticed where it is not so."""

from dataclasses import replace

import pytest

from latchproof.cards.warn_only import claims, is_ours, left, missing_here, only_claims, spoken, with_claims
from latchproof.listing.build import build
from latchproof.machine.actions import all_acting
from latchproof.machine.stage import at_stage
from latchproof.pipeline import machine, prove
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules import RuleSet
from latchproof.rules.model import Stage
from tests.cards.cases import NAMES, site_of
from tests.helpers.proofs import check_verdict


def proved(rules: RuleSet, workers: Workers) -> tuple[Verdict, ...]:
    """The verdicts on the claims of these rules."""
    wanted = {c.name for c in rules.claims}
    made = machine(rules)
    made = replace(made, properties=tuple(p for p in made.properties if p.name in wanted))
    return tuple(prove(made, workers, 60, 2))


def warning(rules: RuleSet) -> tuple[RuleSet, RuleSet]:
    """The rules with a stage that only warns, and that stage."""
    whole = replace(rules, stages=(Stage("only_warns", True, (), span=rules.channels[0].span),))
    return whole, at_stage(whole, "only_warns")


@pytest.mark.parametrize("name", NAMES)
def test_every_channel_is_left_to_the_pilot(name: str, workers: Workers) -> None:
    whole, stage = warning(site_of(name).rules)
    asked = only_claims(stage, whole)
    found = left(proved(asked, workers))
    acted_on = {c.name for c in whole.controls} & set(all_acting(whole))
    assert found.open == ()
    assert set(found.proved) == {c.name for c in whole.channels} | acted_on
    assert set(all_acting(whole)) <= set(found.proved)


@pytest.mark.parametrize("name", ["mended", "elevon_wing", "everything"])
def test_it_is_not_proved_of_what_acts(name: str, workers: Workers) -> None:
    rules = site_of(name).rules
    found = left(proved(only_claims(rules), workers))
    behind = {"left_elevon", "right_elevon"} if name == "elevon_wing" else set()  # they follow a stick that is acted on
    assert set(found.open) - behind == set(all_acting(rules))


def test_an_action_left_in_the_stage_is_noticed(workers: Workers) -> None:
    """A stage that forgets to take one action out."""
    whole, stage = warning(site_of("mended").rules)
    climb = next(r for r in whole.rules if r.name == "climb")
    moves = next(a for a in climb.actions if getattr(a, "channel", "") == "elevator")
    leaky = replace(
        stage, rules=tuple(replace(r, actions=(*r.actions, moves)) if r.name == "climb" else r for r in stage.rules)
    )
    assert left(proved(only_claims(leaky, whole), workers)).open == ("elevator",)


def test_the_proofs_stand_the_checks_of_every_proof(workers: Workers) -> None:
    _, stage = warning(site_of("mended").rules)
    made = machine(only_claims(stage))
    for v in prove(made, workers, 60, 2):
        property_ = next(p for p in made.properties if p.name == v.claim)
        claim = next((c for c in made.rules.claims if c.name == v.claim), None)
        check_verdict(made, property_, claim, v, workers)


def test_the_names_are_nobody_elses() -> None:
    rules = site_of("mended").rules
    assert all(is_ours(c.name) for c in claims(rules))
    assert not any(is_ours(c.name) for c in rules.claims)


def test_a_listing_tells_what_the_stage_does_not_do_yet(workers: Workers) -> None:
    whole = site_of("mended").rules
    stage = with_claims(at_stage(whole, "warn_only"), whole)
    verdicts = proved(stage, workers)
    missing = missing_here(verdicts)
    assert missing == {"stop_wins", "high_enough_left", "does_its_work"}
    listing = build(stage, verdicts, "warn_only")
    assert "FAILS" in listing.state
    told = spoken(listing, missing)
    assert told.state.startswith("PROVED for this stage: nothing in it ever acts on a channel")
    assert "keeps 28; 3 need what acts" in told.state
    assert {p.state for p in told.promises} == {"proved", "not in this stage"}
    half = spoken(listing, {"stop_wins"})
    assert "PROVED for this stage" not in half.state
    assert sum(p.state == "FAILS" for p in half.promises) == 2


def test_a_listing_without_that_proof_says_nothing_of_it() -> None:
    whole = site_of("mended").rules
    listing = build(at_stage(whole, "warn_only"), None, "warn_only")
    assert spoken(listing, ()).state == listing.state
