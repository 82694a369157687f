"""Random rule sets with fixed seeds: 300 read, laid out and run; some of them proved. `campaign.py` goes further."""

import pytest

from latchproof.prove.workers import Workers
from latchproof.rules import model
from tests.fuzz.agreement import check_seed
from tests.fuzz.campaign import campaign
from tests.helpers.generate import generate
from tests.helpers.rules import rules_of

COUNT = 300
PROVED = range(100_000, 100_020)
WORDS = """
switch button stick knob sensor channel latch counter sample value signal rule sequence phase priority role
claim assume part use fact tune require stage cycle follows rests drive move limit announce after ramp hand
every timeout blocked wins for extended pulsed begins ends not and or exactly_one previous rate size smaller
larger age truth pilot_value stale fresh heard free driven moved limited steps trim lag error changes until
while since provided cycles within voice tone vibration
"""


def test_layout_interpreter_solver_and_monitors_agree() -> None:
    *_, told = campaign(range(COUNT))
    assert not told.failures, told.summary()
    assert told.sets == COUNT
    assert told.cycles > 45 * COUNT, "runs end early: too many assumptions leave no way on"
    assert told.met > COUNT // 4, "hardly a claim was decided in its run: the runs are too calm to compare anything"


@pytest.mark.parametrize("seed", PROVED)
def test_verdicts_stand(seed: int, workers: Workers) -> None:
    check_seed(seed, workers=workers, time_limit=3)


@pytest.mark.long
def test_the_longer_run() -> None:
    *_, told = campaign(range(COUNT, 20_000), prove_every=100)
    assert not told.failures, told.summary()


def test_the_same_seed_gives_the_same_rules() -> None:
    assert generate(7) == generate(7)
    assert generate(7) != generate(8)


def test_every_construct_is_made() -> None:
    """The words of the language in 200 rule sets, and every kind of claim after resolving."""
    texts = [generate(seed) for seed in range(200)]
    words = set(" ".join(texts).replace(":", " ").replace("(", " ").replace(",", " ").split())
    assert not set(WORDS.split()) - words
    forms = {type(c.form) for text in texts[:80] for c in rules_of(text).claims}
    assert forms == {
        model.Never, model.Always, model.Whenever, model.Before, model.StartsAtMost, model.QuietAfter, model.LengthOf,
        model.StepOf, model.Can,
    }  # fmt: skip
