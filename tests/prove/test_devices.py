"""Verdicts on devices of every kind: what a race, a glitch, memory that was never reset and an early frame do, and what
mends them. Every verdict stands the assertions of `check_verdict`."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import System
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine
from latchproof.machine.variants import Variant
from latchproof.prove.devices import differing, on_every_device
from latchproof.prove.least import is_least
from latchproof.prove.memory import FORGETFUL, Hinted, Keepsake
from latchproof.prove.prover import prove_all
from latchproof.prove.story import tell
from latchproof.prove.tasks import Recheck
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Reads, RuleSet, Starts
from latchproof.show.devices import as_json, report
from latchproof.show.verdicts import render
from tests.helpers.proofs import check_verdict
from tests.helpers.rules import rules_of

LIMIT = 30.0
HEAD = 'rules "x" version "1"\ncycle from 10 ms to 25 ms\n'
STEPS = f"""{HEAD}
button a
latch one {{ set when a is pressed  reset when a is released }}
latch two {{ set when one  reset when not one }}
channel c 1 {{ rests at 0 %  from 0 % to 100 % }}
rule r while two {{ drive c to 50 % }}
"""
RACE = f"""{HEAD}
button up_button
button down_button
latch up   {{ set when up_button is pressed and not down  reset when up_button is released }}
latch down {{ set when down_button is pressed and not previous of up  reset when down_button is released }}
claim not_both: never up and down
"""
GLITCH = f"""{HEAD}
button a
button b
button c
signal both = a is pressed and b is pressed
signal longer = both or c is pressed
latch trip {{ set when both and not longer }}
claim never_trips: never trip
"""
UNRESET = f"""{HEAD}
button a
device {{ gives fresh_start for 0.2 s }}
latch held {{ set when a is pressed  reset when CLEARS }}
claim pressed_first: before held comes (a is pressed)
"""
EARLY = f"""{HEAD}
device {{ gives fresh_start for 0.4 s  FIRST }}
sensor height {{ from 0 m to 300 m  stale after 1 s }}
latch rescue {{ set when height is below 46 m and height is fresh  reset when height is above 60 m }}
claim on_the_bench: never rescue while fresh_start
"""


def on(text: str, reads: Reads, starts: Starts = "reset") -> RuleSet:
    rules = rules_of(text)
    return replace(rules, device=replace(rules.device, reads=reads, starts=starts))


def decided(rules: RuleSet, workers: Workers) -> tuple[Machine, dict[str, Verdict]]:
    machine, _ = compile_rules(rules)
    assert machine is not None
    verdicts = {v.claim: v for v in prove_all(machine, workers, time_limit=LIMIT, at_once=2)}
    claims = {c.name: c for c in rules.claims}
    for p in machine.properties:
        check_verdict(machine, p, claims.get(p.name), verdicts[p.name], workers, cycles=60)
    return machine, verdicts


@pytest.mark.parametrize(
    ("claim", "reads", "answer", "allowance"),
    [
        ("whenever a is pressed then two", "this cycle", "proved", 0),
        ("whenever a is pressed then two", "last cycle", "proved", 1),
        # one sees the button at once, two sees one a cycle later, the action sees two a cycle after that
        ("whenever a is pressed then c is above 0 %", "last cycle", "proved", 2),
        ("whenever a is pressed for 60 ms then c is above 0 %", "last cycle", "proved", 0),
        ("whenever (a is pressed for 25 ms) then c is above 0 % within 25 ms", "last cycle", "proved", 0),
        ("never two while a is released", "last cycle", "proved", 1),
        ("never two while a is released", "unknown order", "proved", 1),
        ("never two while a is pressed and previous of (a is pressed)", "last cycle", "refuted", 2),
        ("never c is above 0 % while a is released", "last cycle", "proved", 2),
        ("never c is above 0 % and a is released", "unknown order", "proved", 2),
        ("before two comes one", "last cycle", "proved", 0),
        ("before two comes (previous of two)", "last cycle", "proved", 1),
    ],
)
def test_the_least_allowance(claim: str, reads: Reads, answer: str, allowance: int, workers: Workers) -> None:
    machine, verdicts = decided(on(f"{STEPS}claim k: {claim}\nclaim hard strict: {claim}\n", reads), workers)
    assert machine.chain == (0 if reads == "this cycle" else 2)
    assert (verdicts["k"].answer, verdicts["k"].allowance) == (answer, allowance)
    assert verdicts["hard"].allowance == 0
    assert verdicts["hard"].answer == ("proved" if answer == "proved" and not allowance else "refuted")
    if answer == "proved" and allowance:
        says = render(verdicts["k"], machine)
        assert f"proved with an allowance of {allowance} cycle{'s' * (allowance > 1)} ({25 * allowance} ms)" in says


@pytest.mark.parametrize("reads", ["last cycle", "listed order", "unknown order"])
def test_two_latches_race(reads: Reads, workers: Workers) -> None:
    """Both see the other one late: neither stops the other, for good."""
    machine, verdicts = decided(on(RACE, reads), workers)
    assert verdicts["not_both"].answer == "refuted"
    assert verdicts["not_both"].allowance == machine.chain
    assert decided(on(RACE, "this cycle"), workers)[1]["not_both"].answer == "proved"


def test_a_story_tells_who_reads_late(workers: Workers) -> None:
    machine, verdicts = decided(on(RACE, "unknown order"), workers)
    verdict = verdicts["not_both"]
    assert verdict.trace is not None
    assert any(verdict.trace.start[o.cell] for o in machine.orders if o.cell in verdict.trace.start)
    property_ = next(p for p in machine.properties if p.name == "not_both")
    assert tell(machine, property_, verdict.trace).late
    assert "on a transmitter where one cycle late up sees" in " ".join(render(verdict, machine).split())


@pytest.mark.parametrize(("reads", "answer"), [("this cycle", "proved"), ("last cycle", "refuted")])
def test_a_glitch_of_one_cycle(reads: Reads, answer: str, workers: Workers) -> None:
    machine, verdicts = decided(on(GLITCH, reads), workers)
    assert verdicts["never_trips"].answer == answer
    assert ("glitch.trip" in verdicts) == (reads != "this cycle")
    if reads != "this cycle":
        assert verdicts["glitch.trip"].answer == "refuted"
        assert "broken here: trip sets although what sets it was not so" in render(verdicts["glitch.trip"], machine)


@pytest.mark.parametrize("starts", ["reset", "any"])
@pytest.mark.parametrize(
    ("latch", "answer"),
    [
        # what is so late is so: no glitch
        ("set when both", "proved"),
        ("set when longer and not (c is pressed)", "refuted"),
        # a delay is filled by no glitch, and it is late by whole cycles of any length
        ("set when (both and not longer) for 30 ms", "proved"),
        ("set when longer for 60 ms and not (longer for 0.2 s)", "proved"),
        ("set when (both and not longer) begins", "refuted"),
        ("set when both  timeout 1 s then blocked until longer", "proved"),
    ],
)
def test_what_is_a_glitch(latch: str, answer: str, starts: Starts, workers: Workers) -> None:
    text = GLITCH.replace("set when both and not longer", latch + "  reset when a is released")
    machine, verdicts = decided(on(text.replace("claim never_trips: never trip", ""), "last cycle", starts), workers)
    assert [p.name for p in machine.properties] == ["glitch.trip"]
    assert verdicts["glitch.trip"].answer == answer


@pytest.mark.parametrize(
    ("clears", "starts", "answer"),
    [
        ("not (a is pressed or a is released)", "reset", "proved"),
        ("not (a is pressed or a is released)", "any", "refuted"),
        ("fresh_start", "any", "proved"),
    ],
)
def test_memory_that_nothing_resets(clears: str, starts: Starts, answer: str, workers: Workers) -> None:
    machine, verdicts = decided(on(UNRESET.replace("CLEARS", clears), "this cycle", starts), workers)
    verdict = verdicts["pressed_first"]
    assert verdict.answer == answer
    if verdict.trace is not None:
        assert verdict.trace.start == {"held": True}
        assert "wakes up like this: held set" in render(verdict, machine)


@pytest.mark.parametrize(("first", "answer"), [("", "refuted"), ("first frame after 0.5 s measured", "proved")])
def test_no_frame_before(first: str, answer: str, workers: Workers) -> None:
    machine, verdicts = decided(rules_of(EARLY.replace("FIRST", first)), workers)
    verdict = verdicts["on_the_bench"]
    assert verdict.answer == answer
    stands_on = {f.what for f in verdict.assumed if f.subject == "device"}
    assert ("first_frame" in stands_on) == bool(first)
    if first:
        assert "no frame arrives in the first 0.5 s (measured)" in " ".join(render(verdict, machine).split())


def test_a_sensor_that_keeps_arriving_waits_for_the_device(workers: Workers) -> None:
    """Else nothing could happen at all, and everything would be promised."""
    text = f"""{HEAD}device {{ first frame after 0.5 s }}
    sensor height {{ from 0 m to 300 m  stale after 1 s  frame every 0.2 s }}
    claim never_heard: never height is heard provided height keeps arriving
    claim in_time: whenever not height is heard then height is heard within 0.725 s provided height keeps arriving
    """
    verdicts = decided(rules_of(text), workers)[1]
    assert verdicts["never_heard"].answer == "refuted"
    assert verdicts["in_time"].answer == "proved"
    trace = verdicts["never_heard"].trace
    assert trace is not None
    assert trace.records[-1].time >= Fraction(1, 2)


def passes(system: System, invariant: str, workers: Workers) -> bool:
    return workers.run(Recheck(flatten(system), invariant), LIMIT) is True


def test_a_proof_for_any_memory_is_one_for_memory_that_is_reset(workers: Workers) -> None:
    """Where time ran out for the lesser question, the answer to the greater one is checked and taken over."""
    rules = rules_of(f"{STEPS}claim k: never two while a is released\nclaim wrong: never two\n")

    def hurried(machine: Machine, variant: Variant, _: Mapping[str, Keepsake]) -> Iterable[Verdict]:
        for v in prove_all(machine, workers, time_limit=LIMIT, at_once=2):
            yield v if variant.starts == "any" else Verdict(v.claim, "unknown", "none", 0, reason="time ran out")

    every = {
        (p.variant.reads, p.variant.starts): (p, {v.claim: v for v in p.verdicts})
        for p in on_every_device(rules, hurried, lambda system, invariant: passes(system, invariant, workers))
    }
    proved, verdicts = every["last cycle", "reset"]
    assert (verdicts["k"].answer, verdicts["k"].allowance) == ("proved", 1)
    assert not is_least(verdicts["k"])
    assert verdicts["wrong"].answer == "unknown"
    property_ = next(p for p in proved.machine.properties if p.name == "k")
    check_verdict(proved.machine, property_, rules.claims[0], verdicts["k"], workers, cycles=60)
    doubted = on_every_device(rules, hurried, lambda system, invariant: False)
    assert all(v.answer == "unknown" for p in doubted if p.variant.starts == "reset" for v in p.verdicts)


def test_every_device(workers: Workers) -> None:
    rules = rules_of(RACE + "claim off: whenever up_button is released then not up\n")

    def everything(machine: Machine, _: Variant, hints: Mapping[str, Keepsake]) -> Iterable[Verdict]:
        return prove_all(machine, workers, time_limit=LIMIT, at_once=2, memory=Hinted(FORGETFUL, hints))

    proved = tuple(on_every_device(rules, everything, lambda system, invariant: passes(system, invariant, workers)))
    answers = {(p.variant.reads, p.variant.starts): {v.claim: v.answer for v in p.verdicts} for p in proved}
    assert [key for key, found in answers.items() if found["not_both"] == "proved"] == [("this cycle", "reset")]
    assert all(found["off"] == "proved" for found in answers.values())
    assert differing(proved) == ("not_both",)
    text = report(proved)
    assert max(map(len, text.split("\n"))) <= 80
    assert "proved*" in text
    assert "fails where the device reads this cycle and starts any, or reads last cycle" in text
    assert "broken here: up is set and down is set." in text
    assert '"schema": "latchproof.devices/1"' in as_json([("race.latch", proved)])
