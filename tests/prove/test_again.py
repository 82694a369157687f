"""Kept proofs of several machines are checked together, each of them all the same."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from latchproof.machine.model import Machine
from latchproof.prove.memory import Keepsake
from latchproof.prove.processes import Done
from latchproof.prove.prover import prove_each
from latchproof.prove.tasks import Progress, RecheckAll, Result, Task
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from tests.helpers.pool import pool
from tests.helpers.rules import machine_of
from tests.prove.small import PROVED, text

CLAIMS = [PROVED[name] for name in ("never", "always", "length", "arriving", "truth", "tunes", "least")]
"""Two of them need the same facts of the world."""


class Noted(Workers):
    """Remembers what they were asked to do."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[Task] = []

    def race(self, tasks: Sequence[Task], seconds: float) -> Iterator[Done[Result]]:
        self.told += tasks
        return super().race(tasks, seconds)


@dataclass
class Kept:
    """What verdicts left, by the key of their question."""

    answers: dict[str, Keepsake] = field(default_factory=dict)

    def exactly(self, key: str) -> Keepsake | None:
        return self.answers.get(key)

    def lately(self, claim: str) -> Keepsake | None:
        return None

    def keep(self, several: Sequence[tuple[int, Verdict]]) -> None:
        self.answers |= {v.key: v.keepsake for _, v in several if v.keepsake is not None}


@contextmanager
def noted() -> Iterator[Noted]:
    with pool(), Noted() as mine:
        yield mine


def machines() -> tuple[Machine, Machine]:
    whole = machine_of(text(*CLAIMS))
    return whole, machine_of(text(*CLAIMS[::-1]))


def proved(of: Sequence[Machine], kept: Kept, workers: Workers) -> list[tuple[int, Verdict]]:
    found = prove_each(of, workers, time_limit=60, at_once=2, memory=kept)
    return sorted(found, key=lambda one: (one[0], one[1].claim))


def essence(several: Sequence[tuple[int, Verdict]]) -> list[object]:
    return [(place, replace(v, seconds=0, remembered=False)) for place, v in several]


def test_kept_proofs_of_all_machines_are_checked_in_as_many_processes_as_run_at_once() -> None:
    kept = Kept()
    with noted() as mine:
        first = proved(machines(), kept, mine)
        assert {v.answer for _, v in first} == {"proved"}
        assert not any(isinstance(task, RecheckAll) for task in mine.told)
        kept.keep(first)
        mine.told.clear()
        second = proved(machines(), kept, mine)
        checks = [task for task in mine.told if isinstance(task, RecheckAll)]
        others = [task for task in mine.told if not isinstance(task, RecheckAll)]
    assert all(v.remembered for _, v in second)
    assert essence(first) == essence(second)
    assert len(checks) == 2
    assert sum(len(task.proofs) for task in checks) == len(second)
    assert all(isinstance(task, Progress) for task in others)


def test_facts_that_two_machines_share_are_asked_about_once() -> None:
    counts = []
    for of in (machines()[:1], machines()):
        with noted() as mine:
            found = proved(of, Kept(), mine)
            counts += [sum(isinstance(task, Progress) for task in mine.told)]
        assert sum(v.certificate is not None and v.certificate.facts for _, v in found) >= 2 * len(of)
    assert counts[0] == counts[1] > 0


def test_one_spoiled_proof_among_many_is_not_believed() -> None:
    kept = Kept()
    with noted() as mine:
        first = proved(machines()[:1], kept, mine)
        kept.keep(first)
        spoiled = next(v for _, v in first if v.certificate is not None and v.certificate.invariant != "true")
        assert spoiled.keepsake is not None
        kept.answers[spoiled.key] = replace(spoiled.keepsake, invariant="true")
        second = proved(machines()[:1], kept, mine)
    assert [v.claim for _, v in second if not v.remembered] == [spoiled.claim]
    assert essence(first) == essence(second)
