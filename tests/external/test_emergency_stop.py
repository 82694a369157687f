"""Emergency stop with manual reset, reset by a trailing edge, and stop categories.

Sources
- PLCopen Safety (TC5) Part 1, v2.01 (25 Feb 2020), SF_EmergencyStop and SF_ResetButton; read in vendor help pages and
  enum tables, and the title page of the specification itself. SF_EmergencyStop: "output FALSE as soon as demand
  (input FALSE). Output TRUE only if input TRUE and a reset took place. S_StartReset FALSE: rising edge of Reset
  needed after activation; S_AutoReset FALSE: rising edge needed after each demand. Initial output FALSE." C001/C011:
  Reset held TRUE while waiting = error. SF_ResetButton (trailing edge): minimum press 350 ms typical, 100 ms absolute
  minimum, maximum 2 s default.
- ISO 13849-1:2015, 5.2.2 manual reset, read in a text quoting the clause: stop state kept until safe conditions
  exist. That a reset must not itself start motion: "reset shall not initiate a restart", read in an emergency-stop
  glossary.
- IEC 60204-1, 9.2.2 stop categories, read in two makers' glossaries: 0 = immediate removal of power; 1 = controlled
  stop, then power removed. Emergency stop only 0 or 1. That kill is category 0 and ramp-then-cut category 1 is
  derived here.
- IEC 61131-3 cold start (see test_iec_61131.py): R_TRIG with CLK TRUE at first call gives Q=TRUE once. It is the trap
  in which a reset button that is stuck at power-up would enable.
Cycle times: common practice, no source.
"""

from fractions import Fraction

import pytest

from tests.external.tool import Prover, Setting, run

HEAD = """
rules "Emergency stop" version "1"
cycle from 5 ms to 30 ms  assumed "common practice, no source"
switch active positions off, on
switch line   positions demanded, closed
button acknowledge
stick throttle from 0 % to 100 %
channel motor { follows throttle  from 0 % to 100 % }

signal live    = active is on
signal demand  = line is demanded
signal fine    = live and line is closed
signal held    = acknowledge is pressed
signal waiting = previous of fine and not previous of enabled
"""
ENABLED = """
latch enabled {
  set when waiting and (held begins)
  reset when demand
  reset when not live
}
"""
REST = """
latch fault {                                     # held while waiting
  set when waiting and held and previous of held
  reset when not held
}
latch running {                                   # a reset alone starts nothing: the stick must be seen low
  set when enabled and throttle is at most 0 %
  reset when not enabled
}
rule cut while not running { drive motor to 0 % }

claim stops_at_once:   never enabled                                 while demand
claim category_0:      always motor is equal to 0 %                  while demand
claim off_is_off:      never enabled                                 while not live
claim start_reset:     before enabled comes ((held begins) and fine)  since live
claim auto_reset:      before enabled comes ((held begins) and fine)  since demand
claim first_reset:     before enabled comes ((held begins) and fine)
claim stuck_button:    before enabled comes (not held)
claim stuck_after:     before enabled comes (not held)               since demand
claim held_is_told:    whenever (fine and not enabled and held) for 1 cycle then fault
claim fault_is_off:    never enabled and fault
claim no_restart:      before (motor is above 0 %) comes (throttle is at most 0 %)  since enabled
claim works:           whenever (fine for 1 cycle) and (held begins) then enabled
claim again:           can enabled then demand then enabled
"""
RIGHT = HEAD + ENABLED + REST


def changed(old: str, new: str) -> str:
    assert RIGHT.count(old) == 1
    return RIGHT.replace(old, new)


WRONG = {
    "edge at power-up": (changed("set when waiting and (held begins)", "set when fine and (held begins)"),
                         {"stuck_button"}),
    "level": (changed("set when waiting and (held begins)", "set when waiting and held"),
              {"stuck_button", "stuck_after", "fault_is_off"}),
    "no reset after a demand": (
        changed("set when waiting and (held begins)", "set when waiting and (held begins)\n  set when fine and known")
        + "latch known { set when previous of enabled  reset when not live }\n",
        {"auto_reset"},
    ),
    "slow": (changed("reset when demand", "reset when demand for 100 ms"),
             {"stops_at_once", "category_0"}),
    "restarts": (changed("set when enabled and throttle is at most 0 %", "set when enabled"), {"no_restart"}),
    "reset ignored": (changed("set when waiting and (held begins)", "set when waiting and ((held begins) for 1 cycle)"),
                      {"works", "again"}),
    "enabled at the start": (changed("set when waiting and (held begins)", "set when fine"),
                             {"start_reset", "auto_reset", "first_reset"}),
}  # fmt: skip


def test_emergency_stop(prover: Prover) -> None:
    assert set(prover.answers(RIGHT).values()) == {"proved"}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_versions(prover: Prover, name: str) -> None:
    text, broken = WRONG[name]
    assert prover.answers(text, broken) == dict.fromkeys(broken, "refuted")


def test_the_stuck_button_is_told_as_it_happens(prover: Prover) -> None:
    """One cycle: power comes on with the button down and the line closed."""
    trace = prover.verdicts(WRONG["edge at power-up"][0], ["stuck_button"])["stuck_button"].trace
    assert trace is not None
    assert [w.inputs["acknowledge"] for w in trace.world] == [True]


ROWS = """
active       0 1 1 1 1 1 1 1 1 1 1 1 1 1 1 0 1 1 1
line         1 0 1 1 1 1 0 0 1 1 1 1 1 1 1 1 1 1 1
acknowledge  0 0 0 1 0 0 0 1 1 1 0 1 0 1 1 1 1 0 1
enabled      0 0 0 1 1 1 0 0 0 0 0 1 1 1 1 0 0 0 1
fault        0 0 0 0 0 0 0 0 0 1 0 0 0 0 0 0 0 0 0
"""
"""Derived from the states: init, wait for input, wait for reset, enabled, demand (the button goes down in it), wait for
reset with the button held: error, released, reset, off, on again with the button held, released, reset."""


def test_rows() -> None:
    rows = {name: [v == "1" for v in values] for name, *values in (line.split() for line in ROWS.strip().splitlines())}
    given = zip(rows["active"], rows["line"], rows["acknowledge"], strict=True)
    cycles: list[dict[str, Setting]] = [
        {"active": "on" if a else "off", "line": "closed" if c else "demanded", "acknowledge": k} for a, c, k in given
    ]
    records = run(RIGHT, cycles, Fraction(1, 100))
    assert [r.values["enabled"] for r in records] == rows["enabled"]
    assert [r.values["fault"] for r in records] == rows["fault"]


# ---------- reset by letting go, after a press that is neither too short nor too long

TRAILING = """
rules "Reset by letting go" version "1"
cycle from 5 ms to 30 ms  assumed "common practice, no source"
switch line   positions demanded, closed
button acknowledge
signal held    = acknowledge is pressed
signal meant   = (held for 350 ms) and not (held for 2 s)
signal given   = (held ends) and previous of meant and line is closed
latch enabled {
  set when given
  reset when line is demanded
}
signal press_begins = held begins
claim not_while_held: never given and held
claim not_short:      for 350 ms after (not held) never given
claim not_shorter:    for 400 ms after (not held) never given
claim not_long:       before given comes press_begins                since held for 2 s
claim needs_release:  before enabled comes (held ends)
claim stops:          never enabled                                  while line is demanded
claim each_time:      before enabled comes given                     since line is demanded
claim works:          can given then line is demanded then enabled
"""


def test_reset_by_letting_go(prover: Prover) -> None:
    expected = {name: "refuted" if name == "not_shorter" else "proved" for name in prover.answers(TRAILING)}
    assert prover.answers(TRAILING) == expected


@pytest.mark.parametrize(
    ("old", "new", "broken"),
    [
        ("(held for 350 ms) and", "(held for 100 ms) and", {"not_short"}),
        (" and not (held for 2 s)", "", {"not_long"}),
        ("(held ends) and previous of meant", "meant", {"not_while_held", "needs_release"}),
    ],
    ids=["too short", "no longest", "leading edge"],
)
def test_wrong_resets(prover: Prover, old: str, new: str, broken: set[str]) -> None:
    assert TRAILING.count(old) == 1
    assert prover.answers(TRAILING.replace(old, new), broken) == dict.fromkeys(broken, "refuted")


@pytest.mark.parametrize(
    ("milliseconds", "counts"), [(100, False), (340, False), (360, True), (2000, True), (2010, False), (5000, False)]
)
def test_lengths_of_a_press(milliseconds: int, counts: bool) -> None:
    cycles: list[dict[str, Setting]] = [{"line": "closed"}]
    cycles += [{"line": "closed", "acknowledge": True}] * (milliseconds // 10) + [{"line": "closed"}]
    records = run(TRAILING, cycles, Fraction(1, 100))
    assert [r.values["given"] for r in records] == [False] * (len(records) - 1) + [counts]


# ---------- stop categories

CATEGORIES = """
rules "Stop categories" version "1"
cycle from 5 ms to 30 ms  assumed "common practice, no source"
switch line positions demanded, closed
stick throttle from 0 % to 100 %
channel cut_at_once { follows throttle  from 0 % to 100 % }
channel ramped      { follows throttle  from 0 % to 100 % }
channel idled       { follows throttle  from 0 % to 100 % }
rule category_0 while line is demanded { drive cut_at_once to 0 % }
rule category_1 while line is demanded { drive ramped to 0 %  ramp down 50 %/s }
rule category_2 while line is demanded { drive idled to 5 %  ramp down 50 %/s }
claim at_once:          always cut_at_once is equal to 0 %                      while line is demanded
claim controlled:       step of ramped at most 1.5 % in 1 cycle                 while line is demanded
claim then_removed:     whenever line is demanded for 2 s then ramped is equal to 0 %
claim not_at_once:      always ramped is equal to 0 %                           while line is demanded
claim never_removed:    whenever line is demanded for 2 s then idled is equal to 0 %
claim not_controlled:   step of cut_at_once at most 1.5 % in 1 cycle
"""


def test_stop_categories(prover: Prover) -> None:
    kept = {"at_once", "controlled", "then_removed"}
    expected = {name: "proved" if name in kept else "refuted" for name in prover.answers(CATEGORIES)}
    assert prover.answers(CATEGORIES) == expected
