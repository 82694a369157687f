"""Verdicts as a pilot reads them, and as JSON."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.assumed import Fact
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Announce, Basis, RuleSet
from latchproof.run.interpreter import Interpreter
from latchproof.show.style import Style
from latchproof.show.verdicts import cautions, concise, render, report_end, summary
from latchproof.show.verdicts_json import as_json
from latchproof.show.visible import width
from latchproof.source import Source
from tests.layout.test_words import DEVELOPERS_ONLY
from tests.show.tales import Tale, machine_of, tale

RULES = """
cycle from 10 ms to 20 ms assumed "a guess"
switch motor_stop positions run, stop
switch boost positions off, on
stick throttle from 0 % to 100 %
sensor height {
  from -20 m to 300 m  step 0.1 m  frame every 400 ms measured 2025-06-14 "log"  stale after 1 s
  once stale keeps value measured 2025-06-14 "bench"
}
channel motor 1 { follows throttle from 0 % to 100 % }
rule more while boost is on { drive motor to 80 % }
rule cut while motor_stop is stop { drive motor to 0 % }
claim stop_wins "motor stop stops the motor": always motor is equal to 0 % while motor_stop is stop
claim works: can motor is driven then motor is free
claim high: never height is below 0 m provided height keeps arriving
assume calm "no gusts": never height is above 250 m assumed
"""

ASSUMED = (
    Fact("height", "keeps_value", Basis("measured", "2025-06-14")),
    Fact("cycle", "cycle", Basis("assumed")),
    Fact("calm", "assumption", Basis("assumed")),
    Fact("height", "frame_every", None),
)


@pytest.fixture(scope="module")
def machine() -> Machine:
    return machine_of(RULES)


@pytest.fixture(scope="module")
def broken() -> Tale:
    table = "time, boost, motor_stop, throttle\n0, off, run, 20\n0.02, on,,\n0.04,, stop,\n"
    return tale(RULES.replace("rule more", "priority more over cut\nrule more"), table, "stop_wins")


@pytest.fixture(scope="module")
def reached() -> Tale:
    return tale(RULES, "time, boost\n0, off\n0.02, on\n0.04, off\n", "works")


def test_proved(machine: Machine) -> None:
    verdict = Verdict("stop_wins", "proved", "any", 0.1, assumed=ASSUMED)
    assert (
        render(verdict, machine)
        == """\
stop_wins: motor stop stops the motor
  proved if a cycle takes 10 ms to 20 ms (ASSUMED); no gusts (ASSUMED); a
    frame of height comes at least every 400 ms (ASSUMED); height keeps its last
    value once stale (measured 2025-06-14)"""
    )


def test_proved_without_facts(machine: Machine) -> None:
    assert render(Verdict("stop_wins", "proved", "any", 0.1), machine).endswith("motor\n  proved")


def test_fails(broken: Tale) -> None:
    verdict = Verdict("stop_wins", "refuted", "bounded search", 0.1, trace=broken.trace)
    assert (
        render(verdict, broken.machine)
        == """\
stop_wins: motor stop stops the motor
  fails, like this:
  time    you and the air                     the rules
  ------  ----------------------------------  ----------------------------------
  0 s     motor_stop run, boost off,          motor 20 %
          throttle 20 %
  0.02 s  boost on                            more acts, motor 80 %
  0.04 s  motor_stop stop                     cut acts, motor still 80 %
  broken here: motor is 80 %, not 0 %, while motor_stop is stop."""
    )


def test_an_example(reached: Tale) -> None:
    verdict = Verdict("works", "proved", "bounded search", 0.1, trace=reached.trace, assumed=ASSUMED[1:2])
    assert (
        render(verdict, reached.machine)
        == """\
works: can motor is driven then motor is free
  proved if a cycle takes 10 ms to 20 ms (ASSUMED)
  for example like this:
  time    you and the air                     the rules
  ------  ----------------------------------  ----------------------------------
  0 s     motor_stop run, boost off,          motor 0 %
          throttle 0 %
  0.02 s  boost on                            more acts, motor 80 %
  0.04 s  boost off                           more ends, motor 0 %
  done here: motor is the pilot's own."""
    )


def test_what_can_never_happen(machine: Machine) -> None:
    verdict = Verdict("works", "refuted", "any", 0.1, assumed=ASSUMED[1:2])
    assert render(verdict, machine).split("\n")[1:] == [
        "  fails: this can never happen, if a cycle takes 10 ms to 20 ms (ASSUMED)"
    ]


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("time ran out in: one-cycle induction", "the time ran out"),
        ("it is not settled that the facts leave the world a next moment in every state", "it is not certain that"),
        ("an example was found but it did not replay: x", "did not stand when it was run exactly"),
        ("no engine could decide it", "none of the ways of proving it"),
        ("the invariant has no witness", "it could not be settled"),
        (None, "it could not be settled"),
    ],
)
def test_not_decided(machine: Machine, reason: str | None, said: str) -> None:
    text = " ".join(render(Verdict("high", "unknown", "none", 20, reason=reason, depth=7), machine).split())
    assert said in text
    assert "not decided: " in text
    assert ("within 7 moments" in text) == (reason is None or "example" not in reason)
    assert DEVELOPERS_ONLY.findall(text) == []


def test_unwritten_promises(machine: Machine) -> None:
    text = render(Verdict("one_driver.motor.more.cut", "proved", "any", 0.1), machine)
    assert text.split("\n")[0] == "no two rules of equal rank drive motor to different values: more and cut"


def test_one_line_each(machine: Machine) -> None:
    sources = {"tale.latch": Source("tale.latch", RULES)}
    line = RULES.count("\n", 0, RULES.index("claim stop_wins")) + 1
    verdict = Verdict("stop_wins", "refuted", "any", 0.1)
    said = concise(verdict, machine, sources)
    assert said == f"tale.latch:{line}:1: fails: claim stop_wins: motor stop stops the motor"
    fight = Verdict("one_driver.motor.more.cut", "unknown", "any", 0.1)
    assert concise(fight, machine, sources).startswith("not decided: no two rules of equal rank")


def verdicts(*answers: str) -> list[Verdict]:
    return [Verdict(f"c{n}", a, "any", 0.1) for n, a in enumerate(answers)]  # type: ignore[arg-type]


def test_summary() -> None:
    assert summary(verdicts("proved", "refuted", "unknown", "proved")) == (
        "4 promises: 2 proved, 1 fails, 1 not decided"
    )
    assert summary(verdicts("proved")) == "1 promise: 1 proved"
    assert summary(verdicts("refuted", "refuted")) == "2 promises: 2 fail"
    assert summary([]) == "no promises: nothing was claimed, so nothing was proved"


def test_cautions_stand_only_below_a_full_proof() -> None:
    assert "propeller off" in report_end(verdicts("proved", "proved"))
    assert "`latchproof hazards FILE`" in report_end(verdicts("proved", "proved"))
    assert report_end(verdicts("proved", "unknown")) == "2 promises: 1 proved, 1 not decided"
    assert "propeller" not in report_end([])
    for words in ("propeller off", "range", "failsafe", "experienced helper", "safety officer", "ASSUMED"):
        assert words in " ".join(cautions().split())
    assert max(map(width, cautions(Style(60)).split("\n"))) <= 60


def hostile(rules: RuleSet) -> RuleSet:
    """The same rules with texts that would move the cursor or turn the reading direction."""
    claims = tuple(replace(c, sentence="stop\x1b[2J\u202enow") for c in rules.claims)
    said = Announce("voice", "\x1b]0;x\x07\u202e", None, span=rules.rules[0].span)
    assumptions = tuple(replace(a, sentence="\u200bcalm\r") for a in rules.assumptions)
    shouting = tuple(replace(r, actions=(*r.actions, said)) for r in rules.rules)
    return replace(rules, claims=claims, rules=shouting, assumptions=assumptions)


def test_hostile_text_is_shown_as_numbers(broken: Tale) -> None:
    machine, _ = compile_rules(hostile(broken.machine.rules))
    assert machine is not None
    records = Interpreter(machine).run(broken.trace.world)
    trace = replace(broken.trace, records=records)
    verdict = Verdict("stop_wins", "refuted", "any", 0.1, trace=trace, assumed=ASSUMED)
    for text in (
        render(verdict, machine),
        render(replace(verdict, trace=None, answer="proved"), machine),
        concise(verdict, machine, {}),
        as_json([("x\x1b.latch", machine, [verdict])]),
    ):
        assert not set(text) & {"\x1b", "\u202e", "\x07", "\u200b", "\r"}
    assert "stop\\x1b[2J\\u202enow" in render(verdict, machine)


# ---------- JSON


def test_json(broken: Tale) -> None:
    machine = broken.machine
    made = Verdict("stop_wins", "refuted", "bounded search", 0.12345, trace=broken.trace, assumed=ASSUMED[:2])
    whole = json.loads(as_json([("a.latch", machine, [made]), ("b.latch", None, [])]))
    assert whole["schema"] == "latchproof.verdicts/1"
    assert [f["file"] for f in whole["files"]] == ["a.latch", "b.latch"]
    assert whole["files"][1]["claims"] == []
    (claim,) = whole["files"][0]["claims"]
    keys = [
        "name",
        "text",
        "kind",
        "verdict",
        "engine",
        "seconds",
        "allowance",
        "never_put_to_the_test",
        "rests_on",
        "sticks",
        "assumed",
        "device",
    ]
    assert list(claim) == [*keys, "trace"]
    assert claim["text"] == "always motor is equal to 0 % while motor_stop is stop"
    assert (claim["kind"], claim["verdict"], claim["engine"]) == ("always", "refuted", "bounded search")
    assert claim["assumed"][0] == {
        "fact": "height keeps its last value once stale", "basis": "measured", "date": "2025-06-14", "note": None,
    }  # fmt: skip
    first, last = claim["trace"]
    assert (first["time"], first["until"], first["cycles"]) == ("0", "0.04", 3)
    assert first["inputs"] == {"motor_stop": "run", "boost": "off", "throttle": "20", "height": None}
    assert last["time"] == "0.04"
    assert last["inputs"]["motor_stop"] == "stop"
    assert last["values"]["motor"] == "80"
    assert last["values"]["more"] is True


def test_json_without_a_trace(machine: Machine) -> None:
    found = [Verdict("works", "refuted", "x", 1), Verdict("one_driver.motor.more.cut", "unknown", "none", 1)]
    works, fight = json.loads(as_json([("a.latch", machine, found)]))["files"][0]["claims"]
    assert (works["trace"], works["kind"], fight["kind"]) == (None, "can", "unwritten")
    assert fight["text"].startswith("no two rules of equal rank")


def test_json_times_are_exact() -> None:
    made = tale(RULES, "time, boost\n0, off\n0.02, on\n0.06, off\n", "works", Fraction(1, 60))
    trace = Verdict("works", "proved", "x", 1, trace=made.trace)
    rows = json.loads(as_json([("a", made.machine, [trace])]))["files"][0]["claims"][0]["trace"]
    assert [row["time"] for row in rows] == ["0", "1/15"]
