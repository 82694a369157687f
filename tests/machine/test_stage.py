"""Stages: what is taken out, what is fixed, what stays."""

import pytest

from latchproof.machine.stage import at_stage
from latchproof.rules.model import Announce
from tests.listing.cases import EVERYTHING, rules


def test_warn_only_takes_out_every_action_on_a_channel_and_keeps_the_rest() -> None:
    before = rules(EVERYTHING)
    after = at_stage(before, "warn_only")
    actions = [a for r in after.rules for a in r.actions] + [
        a for s in after.sequences for p in s.phases for a in p.actions
    ]
    assert actions
    assert all(isinstance(a, Announce) for a in actions)
    assert [r.name for r in after.rules] == [r.name for r in before.rules]
    assert [(r.condition, [a for a in r.actions if isinstance(a, Announce)]) for r in before.rules] == [
        (r.condition, list(r.actions)) for r in after.rules
    ]
    assert [[p.name for p in s.phases] for s in after.sequences] == [
        [p.name for p in s.phases] for s in before.sequences
    ]
    assert (after.latches, after.claims, after.tunes) == (before.latches, before.claims, before.tunes)


def test_tunes_are_fixed_at_the_values_of_the_stage() -> None:
    before = rules(EVERYTHING)
    after = at_stage(before, "high")
    floor, *others = after.tunes
    assert (floor.name, floor.value, floor.low, floor.high) == ("floor", 80, 80, 80)
    assert tuple(others) == before.tunes[1:]
    assert after.rules == before.rules


def test_a_tune_in_steps_keeps_one_step() -> None:
    case = rules("""
        tune share = 2 from 1 to 3 in steps of 1
        stick a from 0 % to 100 %
        channel c 1 { follows share * a from 0 % to 100 % }
        stage s { tune share = 3 }
    """)
    assert at_stage(case, "s").tunes[0].steps == (3,)


def test_an_unknown_stage() -> None:
    with pytest.raises(KeyError, match="nothing"):
        at_stage(rules(EVERYTHING), "nothing")
