"""The search for the least allowance, with a prover that knows the answers."""

from dataclasses import replace

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine, Property
from latchproof.prove.least import Allowing, is_least, least
from latchproof.prove.verdicts import Answer, Verdict
from latchproof.rules.model import Claim
from tests.helpers.rules import rules_of

STEPS = 6
TEXT = (
    'rules "x" version "1"\ndevice { reads last cycle }\nbutton a\nlatch l0 { set when a is pressed }\n'
    + "".join(f"latch l{k + 1} {{ set when l{k} }}\n" for k in range(STEPS))
    + f"claim k: never l{STEPS}\nclaim hard strict: never l{STEPS}\n"
)


def searched(name: str, answers: dict[int, Answer]) -> tuple[Verdict, list[int]]:
    """The verdict, and the allowances that were asked about in turn."""
    made, _ = compile_rules(rules_of(TEXT))
    assert made is not None
    assert made.chain == STEPS
    asked: list[int] = []

    def prove(machine: Machine, property_: Property, claim: Claim | None, seconds: float) -> Verdict:
        assert seconds > 0
        asked.append(machine.allowances.get(name, 0))
        return Verdict(property_.name, answers[asked[-1]], "by heart", 0)

    property_ = next(p for p in made.properties if p.name == name)
    claim = next(c for c in made.rules.claims if c.name == name)
    return least(Allowing(made), property_, claim, prove, 30), asked


@pytest.mark.parametrize("needs", range(STEPS + 1))
def test_the_least_is_found_by_halves(needs: int) -> None:
    answers: dict[int, Answer] = {n: "proved" if n >= needs else "refuted" for n in range(STEPS + 1)}
    verdict, asked = searched("k", answers)
    assert (verdict.answer, verdict.allowance) == ("proved", needs)
    assert is_least(verdict)
    assert asked[0] == 0
    assert asked[1:2] == ([STEPS] if needs else [])
    assert len(asked) == len(set(asked)) <= 5


def test_what_fails_does_so_with_the_greatest() -> None:
    verdict, asked = searched("k", dict.fromkeys(range(STEPS + 1), "refuted"))
    assert (verdict.answer, verdict.allowance, asked) == ("refuted", STEPS, [0, STEPS])


def test_strict_claims_get_none() -> None:
    verdict, asked = searched("hard", dict.fromkeys(range(STEPS + 1), "refuted"))
    assert (verdict.answer, verdict.allowance, asked) == ("refuted", 0, [0])


def test_what_was_not_decided_is_not_forgotten() -> None:
    answers: dict[int, Answer] = {n: "proved" if n >= 4 else "unknown" for n in range(STEPS + 1)}
    verdict, _ = searched("k", answers)
    assert (verdict.answer, verdict.allowance) == ("proved", 4)
    assert not is_least(verdict)
    assert is_least(replace(verdict, tried=()))
