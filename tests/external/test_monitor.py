"""An independent monitor agrees: what the prover tells as a violation is one, and what the monitor accepts is kept.

Sources
- The monitor: see stl.py. Bounded response G(p -> F[0,T] s), robustness rho(G) = min, rho(F[a,b]) = max, rho(h>c) =
  h-c: MTL (Koymans 1990), STL (Maler & Nickovic 2004), Fainekos & Pappas 2009, TCS 410:4262 (abstract read).
- Discrete check, derived: with tick dt and an event that may occur just after a sample, deadline T is met for sure if
  the tick bound k satisfies (k+1)*dt <= T, i.e. k = floor(T/dt) - 1. Example T = 0.5 s, dt = 0.1 s: k = 4. Exact
  rationals: floor(0.3/0.1) in binary floating point is 2, not 3.
The cycle is fixed at 100 ms in this file: the monitor counts samples.
"""

import random
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from math import floor

import pytest

from latchproof.run.interpreter import Record
from tests.external.stl import Promise, Signals, is_violation, robustness, truth
from tests.external.tool import Prover, broken_at, column, machine_of, replayed, run

TICK = Fraction(1, 10)
HEAD = 'rules "Watched from outside" version "1"\ncycle from 100 ms to 100 ms  assumed "the monitor counts samples"\n'
LETTERS = """
button a
button b
button c
stick v from -100 % to 100 %
signal p = a is pressed
signal q = b is pressed
signal r = c is pressed
"""


def rises(count: int, steps: int) -> str:
    """More than `count` (1 or 2) beginnings of p within so many steps, seen at the last of them."""
    if count == 1:
        return f"rise(p >= 0) and (once[1:{steps}] (rise(p >= 0)))"
    pairs = [
        f"((once[{k}:{k}] (rise(p >= 0))) and (once[{k + 1}:{steps}] (rise(p >= 0))))" for k in range(1, steps)
    ]
    return f"rise(p >= 0) and ({' or '.join(pairs)})"


CLAIMS: dict[str, tuple[str, tuple[Promise, ...]]] = {
    "absence": ("never p and q", (Promise("not ((p >= 0) and (q >= 0))"),)),
    "number": ("always v is at most 60 %", (Promise("v <= 60"),)),
    "band": ("never v is above 20 % and v is below 30 %", (Promise("not ((v > 20) and (v < 30))"),)),
    "same_cycle": ("whenever p then q", (Promise("(p >= 0) implies (q >= 0)"),)),
    "response": ("whenever p then q within 500 ms",
                 (Promise("(p >= 0) implies (eventually[0:5] (q >= 0))", horizon=6),)),
    "response_in_scope": (
        "whenever p then q within 500 ms while r",
        (Promise("((p >= 0) and (r >= 0)) implies "
                 "((eventually[0:5] (q >= 0)) or (eventually[0:6] (not (r >= 0))))", horizon=6),),
    ),
    "response_since": (
        "whenever p then q within 500 ms since r",
        (Promise("((p >= 0) and (once (r >= 0))) implies "
                 "((eventually[0:5] (q >= 0)) or (eventually[1:6] (rise(r >= 0))))", horizon=6),),
    ),
    "precedence": ("before p comes q", (Promise("(p >= 0) implies (once (q >= 0))"),)),
    "precedence_again": (
        "before p comes q since r",
        (Promise("not ((p >= 0) and ((q < 0) since (rise(r >= 0) and (q < 0))))"),),
    ),
    "once_in": ("starts of p at most 1 in 500 ms", (Promise(f"not ({rises(1, 5)})"),)),
    "twice_in": ("starts of p at most 2 in 500 ms", (Promise(f"not ({rises(2, 5)})"),)),
    "quiet": ("for 500 ms after p never q", (Promise("(p >= 0) implies (always[1:4] (not (q >= 0)))"),)),
    "long": ("length of p at least 300 ms", (Promise("rise(p >= 0) implies (always[0:2] (p >= 0))"),)),
    "short": ("length of p at most 300 ms",
              (Promise("rise(p >= 0) implies (eventually[0:3] (not (p >= 0)))", horizon=4),)),
    "smooth": ("step of v at most 80 % in 200 ms",
               (Promise("abs(v - (next v)) <= 80", horizon=1), Promise("abs(v - (next (next v))) <= 80", horizon=2))),
    "while_scope": ("always p while q", (Promise("(q >= 0) implies (p >= 0)"),)),
    "since_scope": ("never p since r", (Promise("(once (r >= 0)) implies (not (p >= 0))"),)),
}  # fmt: skip

ALL = HEAD + LETTERS + "".join(f"claim {name}: {text}\n" for name, (text, _) in CLAIMS.items())


def signals_of(records: Sequence[Record]) -> Signals:
    return {
        "p": truth(column(records, "p")), "q": truth(column(records, "q")), "r": truth(column(records, "r")),
        "v": [float(x.inputs["v"]) for x in records],
    }  # fmt: skip


@pytest.mark.parametrize("name", CLAIMS)
def test_stories_of_the_prover_are_violations(prover: Prover, name: str) -> None:
    verdict = prover.verdicts(ALL)[name]
    assert verdict.answer == "refuted"
    records = replayed(machine_of(ALL), verdict)
    assert is_violation(CLAIMS[name][1], signals_of(records))


def test_random_runs_are_judged_alike() -> None:
    choose = random.Random(4262)
    seen: dict[str, set[bool]] = {name: set() for name in CLAIMS}
    for length in (2, 2, 3, 3, 5, 16, 16, 16) * 12:
        often = {button: choose.choice([0.1, 0.3, 0.5, 0.8]) for button in "abc"}
        swing = choose.choice([19, 50, 100])
        cycles = [
            {**{b: choose.random() < often[b] for b in "abc"}, "v": choose.randint(-swing, swing)}
            for _ in range(length)
        ]
        records = run(ALL, cycles, TICK)
        found, signals = broken_at(ALL, records), signals_of(records)
        for name, (_, promises) in CLAIMS.items():
            assert (found[name] is not None) == is_violation(promises, signals), (name, cycles)
            seen[name].add(found[name] is not None)
    assert [name for name, both in seen.items() if both != {True, False}] == []


def test_robustness_is_the_margin_in_points() -> None:
    """rho(h > c) = h - c: how many points are left, the least over the run."""
    values = [10, 35, 60, 61, -20]
    records = run(ALL, [{"v": v} for v in values], TICK)
    assert robustness("v <= 60", signals_of(records)) == [60 - v for v in values]


# ---------- what can happen


def test_a_story_of_what_can_happen_fulfils_the_formula(prover: Prover) -> None:
    text = HEAD + LETTERS + "claim chain: can p then q then r and not p\n"
    verdict = prover.verdicts(text)["chain"]
    assert verdict.answer == "proved"
    signals = signals_of(replayed(machine_of(text), verdict))
    formula = "eventually ((p >= 0) and (next (eventually ((q >= 0) and (next (eventually ((r >= 0) and (p < 0))))))))"
    assert robustness(formula, signals)[0] > 0


# ---------- a small guard, with its mistakes

GUARD = (
    HEAD
    + """
switch guard      positions off, on
switch motor_stop positions run, stop
stick  throttle   from 0 % to 100 %
sensor height { from -50 m to 400 m  step 1 m  stale after 1 s }
channel motor { follows throttle  from 0 % to 100 % }
latch low {
  set when   height is below 40 m
  reset when height is above 60 m
}
signal climbing = low and guard is on
rule climb while climbing { drive motor to 70 %  ramp up 200 %/s }
rule cut   while motor_stop is stop  { drive motor to 0 % }
priority climb over cut
claim stop_wins:  always motor is equal to 0 %                  while motor_stop is stop
claim bounded:    length of climbing at most 2 s
claim pause:      for 1 s after (climbing ends) never climbing
claim heard:      before climbing comes (height is fresh)
claim fresh:      never climbing and height is stale
claim smooth:     step of motor at most 25 % in 100 ms          while guard is on
claim gives_power: whenever climbing for 500 ms then motor is equal to 70 %
"""
)
GUARD_PROMISES: dict[str, Promise] = {
    "stop_wins": Promise("(stop >= 0) implies (motor <= 0)"),
    "bounded": Promise("rise(climb >= 0) implies (eventually[0:20] (not (climb >= 0)))", horizon=21),
    "pause": Promise("((climb < 0) and (once[1:1] (climb >= 0))) implies (always[1:9] (climb < 0))"),
    "heard": Promise("(climb >= 0) implies (once (stale < 0))"),
    "fresh": Promise("not ((climb >= 0) and (stale >= 0))"),
    "smooth": Promise("((guard >= 0) and (next (guard >= 0))) implies (abs(motor - (next motor)) <= 25)", horizon=1),
}


def guard_signals(records: Sequence[Record]) -> Signals:
    return {
        "stop": truth([r.inputs["motor_stop@1"] for r in records]),
        "guard": truth([r.inputs["guard@1"] for r in records]),
        "motor": [float(v) for v in column(records, "motor")],
        "climb": truth(column(records, "climbing")),
        "stale": truth(column(records, "height@stale")),
    }


@pytest.mark.parametrize("name", GUARD_PROMISES)
def test_stories_of_a_guard_are_violations(prover: Prover, name: str) -> None:
    """A guard that believes readings nobody has heard, never ends by itself, and beats the motor stop."""
    verdict = prover.verdicts(GUARD)[name]
    assert verdict.answer == "refuted"
    signals = guard_signals(replayed(machine_of(GUARD), verdict))
    assert is_violation([GUARD_PROMISES[name]], signals)


def test_what_the_guard_keeps_is_kept_for_the_monitor(prover: Prover) -> None:
    """The proved claim has no violation on any of the stories told about the others."""
    verdicts = prover.verdicts(GUARD)
    assert verdicts["gives_power"].answer == "proved"
    kept = Promise("(historically[0:5] (climb >= 0)) implies (abs(motor - 70) <= 0)")
    for name in GUARD_PROMISES:
        records = replayed(machine_of(GUARD), verdicts[name])
        held = robustness(kept.formula, guard_signals(records))[5:]
        assert all(value >= 0 for value in held), name


# ---------- deadlines in whole ticks, exactly


def safe_ticks(deadline: Fraction, tick: Fraction) -> int:
    return floor(deadline / tick) - 1


def late_by(ticks: int, deadline: str) -> str:
    """Something happens just after a look, so it is seen one cycle later, and is answered so many cycles after that."""
    chain = "".join(f"signal seen{k + 1} = previous of seen{k}\n" for k in range(ticks))
    return (
        HEAD
        + f"button happens\nsignal happened = happens is pressed\nsignal seen0 = previous of happened\n{chain}"
        + f"claim in_time: whenever happened then seen{ticks} within {deadline}\n"
    )


@pytest.mark.parametrize(("deadline", "ticks"), [("0.5 s", 4), ("0.3 s", 2), ("300 ms", 2), ("0.7 s", 6)])
def test_deadline_in_ticks(prover: Prover, deadline: str, ticks: int) -> None:
    number, unit = deadline.split()
    seconds = Fraction(number) * (Fraction(1, 1000) if unit == "ms" else 1)
    assert safe_ticks(seconds, TICK) == ticks
    assert prover.answers(late_by(ticks, deadline)) == {"in_time": "proved"}
    assert prover.answers(late_by(ticks + 1, deadline)) == {"in_time": "refuted"}


def test_floating_point_would_be_a_tick_off() -> None:
    assert floor(0.3 / 0.1) == 2
    assert floor(Fraction("0.3") / Fraction("0.1")) == 3
    records = run(late_by(2, "0.3 s"), [{"happens": k == 1} for k in range(8)], TICK)
    assert [b.time - a.time for a, b in pairwise(records)] == [TICK] * 7
    assert column(records, "seen2").index(True) == 1 + 3
    assert broken_at(late_by(2, "0.3 s"), records) == {"in_time": None}
