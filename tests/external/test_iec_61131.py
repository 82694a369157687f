"""Latches, timers and edges against the standard function blocks of IEC 61131-3.

Source: IEC 61131-3, edition 3 (2013) section 6.6.3.5, Tables 43-46, Figure 15 (2nd edition: 2.5.2.3.x). Not read in
the standard itself: public specification page of an open IEC runtime (johannespettersson80/trust-platform,
08-standard-function-blocks) and two other implementers' comments with the same equations; PLC vendor help for
TON/TOF. The timer and edge vectors are derived from it: ticks of 1 s, PT = 3 s and the convention "ET = 0 at the edge
call".

Each block is compared three times: the vector in the interpreter; every input sequence of nine ticks in the
interpreter with a small model written from the equations; and, as claims, every sequence of any length with the
equation itself.
"""

from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import product

import pytest

from tests.external.tool import SECONDS, Prover, column, run

PT = 3

LATCHES = (
    SECONDS
    + """
button s
button r
latch sr { set when s is pressed  reset when r is pressed  set wins }
latch rs { set when s is pressed  reset when r is pressed }

# SR: Q1 := S1 OR (NOT R AND Q1)        RS: Q1 := NOT R1 AND (S OR Q1)        initial Q1 = FALSE
signal sr_table = s is pressed or (r is released and previous of sr)
signal rs_table = r is released and (s is pressed or previous of rs)
signal sr_alone = s is pressed or (r is released and previous of sr_alone)      # the same, from its own memory
signal rs_alone = r is released and (s is pressed or previous of rs_alone)

claim sr_follows: never exactly_one of (sr, sr_table)
claim sr_keeps:   never exactly_one of (sr, sr_alone)
claim sr_holds:   whenever s is released and r is released and previous of sr then sr
claim sr_both:    always sr                      while s is pressed and r is pressed
claim sr_starts:  before sr comes (s is pressed)
claim rs_follows: never exactly_one of (rs, rs_table)
claim rs_keeps:   never exactly_one of (rs, rs_alone)
claim rs_both:    never rs                       while s is pressed and r is pressed
claim rs_starts:  before rs comes (s is pressed and r is released)
claim same:       never exactly_one of (sr, rs)
claim differ:     never sr and not rs and (s is released or r is released) and previous of rs
"""
)

BLOCKS = (
    SECONDS
    + """
button clk
signal x  = clk is pressed
signal x1 = previous of x
signal x2 = previous of x1
signal x3 = previous of x2

signal ton  = x for 3 s
signal tof  = x extended 3 s
signal tp   = x pulsed 3 s
signal rose = x begins
signal fell = (not x) begins
signal ended = x ends

# The outputs at tick k as they follow from the inputs at k, k-1, k-2, k-3 alone; for TP from where a pulse started.
signal started  = x and not x1 and not previous of tp
signal started1 = previous of started
signal started2 = previous of started1
signal started3 = previous of started2
signal off     = not x
latch up { set when x  set when off }            # true from the first call on

claim ton_table:    never exactly_one of (ton, x and x1 and x2 and x3)
claim tof_table:    never exactly_one of (tof, x or x1 or x2 or x3)
claim tp_table:     never exactly_one of (tp, started or started1 or started2)
claim tp_exact:     never tp and started3
claim tp_length:    length of tp at least 3 s
claim ton_not_early: for 3 s after rose never ton
claim ton_early:    for 3.1 s after rose never ton
claim tof_holds:    for 4 s after x never not tof
claim tof_longer:   for 4.1 s after x never not tof
claim r_trig:       never exactly_one of (rose, x and not x1)
claim f_trig:       never exactly_one of (fell, off and not previous of off)
claim cold_r_trig:  whenever (up begins) and x then rose
claim cold_f_trig:  whenever (up begins) and off then fell
claim cold_ends:    never (up begins) and ended
claim ends_is_f_trig: never exactly_one of (fell, ended)
"""
)

WRONG = (
    SECONDS
    + """
button clk
signal x  = clk is pressed
signal x1 = previous of x
signal x2 = previous of x1
signal x3 = previous of x2
signal short     = x for 2 s
signal stretched = x extended 4 s
signal twice     = x1 pulsed 3 s
claim ton_table: never exactly_one of (short, x and x1 and x2 and x3)
claim tof_table: never exactly_one of (stretched, x or x1 or x2 or x3)
claim tp_table:  whenever x and not x1 and not previous of twice then twice
"""
)

ZERO = (
    SECONDS
    + """
button clk
signal x   = clk is pressed
signal ton = x for 0 s
signal tof = x extended 0 s
signal tp  = x pulsed 0 s
claim ton_at_once: never exactly_one of (ton, x)
claim tof_on_the_edge: never exactly_one of (tof, x)
claim tp_no_pulse: never tp
"""
)

VECTORS = """
k      0 1 2 3 4 5 6 7 8
TON IN 0 1 1 1 1 0 1 1 0    Q 0 0 0 0 1 0 0 0 0    ET 0 0 1 2 3 0 0 1 0
TOF IN 1 0 0 0 0 0 1 0 0    Q 1 1 1 1 0 0 1 1 1    ET 0 0 1 2 3 3 0 0 1
TP  IN 0 1 0 1 1 1 1 0 1    Q 0 1 1 1 0 0 0 0 1    ET 0 0 1 2 3 3 3 0 0
R_T IN 0 1 1 0 1 1 0 0 1    Q 0 1 0 0 1 0 0 0 1
F_T IN 1 1 0 0 1 0 0 1 0    Q 0 0 1 0 0 1 0 0 1
"""

SIGNALS = {"TON": "ton", "TOF": "tof", "TP": "tp", "R_T": "rose", "F_T": "fell"}


def vectors() -> dict[str, dict[str, list[int]]]:
    """By block and row: IN, Q, and ET where the table has it."""
    found: dict[str, dict[str, list[int]]] = {}
    for line in VECTORS.strip().splitlines()[1:]:
        block, *rest = line.split()
        row = ""
        for word in rest:
            if word.isdigit():
                found[block][row].append(int(word))
            else:
                row = word
                found.setdefault(block, {})[row] = []
    return found


# ---------- the blocks, written from the equations and from the words of the standard's description


def sr_block(inputs: Sequence[tuple[bool, bool]]) -> list[bool]:
    q, out = False, []
    for s1, r in inputs:
        q = s1 or (not r and q)
        out.append(q)
    return out


def rs_block(inputs: Sequence[tuple[bool, bool]]) -> list[bool]:
    q, out = False, []
    for s, r1 in inputs:
        q = not r1 and (s or q)
        out.append(q)
    return out


def ton_block(inputs: Sequence[bool], pt: int) -> list[tuple[bool, int]]:
    """Q true after IN true for PT; IN false -> Q false, ET 0."""
    out: list[tuple[bool, int]] = []
    edge = None
    for k, now in enumerate(inputs):
        edge = None if not now else k if edge is None else edge
        et = 0 if edge is None else min(k - edge, pt)
        out.append((edge is not None and et >= pt, et))
    return out


def tof_block(inputs: Sequence[bool], pt: int) -> list[tuple[bool, int]]:
    """IN true -> Q true; Q falls PT after IN falls; ET holds at PT until IN true. No fall, no delay."""
    out: list[tuple[bool, int]] = []
    fell = None
    for k, now in enumerate(inputs):
        if now:
            fell = None
        elif k and inputs[k - 1]:
            fell = k
        et = 0 if fell is None else min(k - fell, pt)
        out.append((now or (fell is not None and et < pt), et))
    return out


def tp_block(inputs: Sequence[bool], pt: int) -> list[tuple[bool, int]]:
    """A pulse of exactly PT, not retriggerable, not shortened by IN; re-arm only after IN seen false."""
    out: list[tuple[bool, int]] = []
    start, waits_for_false, before = None, False, False
    for k, now in enumerate(inputs):
        if start is not None and k - start >= pt:
            start, waits_for_false = None, now
        elif start is None and now and not before and not waits_for_false and pt > 0:
            start = k
        waits_for_false = waits_for_false and now
        before = now
        et = k - start if start is not None else pt if waits_for_false else 0
        out.append((start is not None, et))
    return out


def r_trig_block(inputs: Sequence[bool]) -> list[bool]:
    m, out = False, []
    for clk in inputs:
        out.append(clk and not m)
        m = clk
    return out


def f_trig_block(inputs: Sequence[bool]) -> list[bool]:
    m, out = False, []
    for clk in inputs:
        out.append(not clk and not m)
        m = not clk
    return out


MODELS: dict[str, Callable[[Sequence[bool]], list[bool]]] = {
    "TON": lambda inputs: [q for q, _ in ton_block(inputs, PT)],
    "TOF": lambda inputs: [q for q, _ in tof_block(inputs, PT)],
    "TP": lambda inputs: [q for q, _ in tp_block(inputs, PT)],
    "R_T": r_trig_block,
    "F_T": f_trig_block,
}
TIMERS = {"TON": ton_block, "TOF": tof_block, "TP": tp_block}


def clocked(inputs: Sequence[bool]) -> list[dict[str, bool]]:
    return [{"clk": now} for now in inputs]


# ---------- the vectors


@pytest.mark.parametrize("block", SIGNALS)
def test_vector(block: str) -> None:
    rows = vectors()[block]
    assert len(rows["IN"]) == len(rows["Q"]) == 9
    records = run(BLOCKS, clocked([bool(v) for v in rows["IN"]]))
    assert [int(q) for q in column(records, SIGNALS[block])] == rows["Q"]


@pytest.mark.parametrize("block", TIMERS)
def test_the_model_gives_the_vector(block: str) -> None:
    """The models of this file are held to the published rows too, elapsed times included."""
    rows = vectors()[block]
    made = TIMERS[block]([bool(v) for v in rows["IN"]], PT)
    assert [int(q) for q, _ in made] == rows["Q"]
    assert [et for _, et in made] == rows["ET"]


@pytest.mark.parametrize("block", ["TON", "TOF"])
def test_elapsed_times(block: str) -> None:
    """The language has no ET, but the same signal with shorter delays shows it: ET >= n from the delay of n s."""
    rows = vectors()[block]
    timed = "x" if block == "TON" else "(not x)"
    text = SECONDS + "button clk\nsignal x = clk is pressed\n"
    text += "".join(f"signal past{n} = {timed} for {n} s\n" for n in range(1, PT + 1))
    text += "claim used: never past1 and past2 and past3 and not past1\n"
    records = run(text, clocked([bool(v) for v in rows["IN"]]))
    elapsed = [sum(bool(r.values[f"past{n}"]) for n in range(1, PT + 1)) for r in records]
    assert elapsed == rows["ET"]


# ---------- every sequence of nine ticks


def test_every_sequence_of_nine_ticks() -> None:
    for inputs in product([False, True], repeat=9):
        records = run(BLOCKS, clocked(inputs))
        for block, model in MODELS.items():
            assert column(records, SIGNALS[block]) == model(inputs), (block, inputs)


@pytest.mark.parametrize(("latch", "model"), [("sr", sr_block), ("rs", rs_block)])
def test_every_latch_sequence_of_four_ticks(
    latch: str, model: Callable[[Sequence[tuple[bool, bool]]], list[bool]]
) -> None:
    pairs = list(product([False, True], repeat=2))
    for inputs in product(pairs, repeat=4):
        records = run(LATCHES, [{"s": s, "r": r} for s, r in inputs])
        assert column(records, latch) == model(inputs), inputs


# ---------- rows of the latch tables, as published


@pytest.mark.parametrize(
    ("latch", "row", "q"),
    [("sr", "01", 0), ("sr", "10", 1), ("sr", "11", 1), ("rs", "01", 0), ("rs", "10", 1), ("rs", "11", 0)],
)
@pytest.mark.parametrize("before", [False, True])
def test_latch_row(latch: str, row: str, q: int, before: bool) -> None:
    cycles = [{"s": before}, {"s": row[0] == "1", "r": row[1] == "1"}, {}]
    held = column(run(LATCHES, cycles), latch)
    assert [int(v) for v in held] == [int(before), q, q]


# ---------- as claims, for every sequence of any length


def test_latches_for_every_sequence(prover: Prover) -> None:
    refuted = {"same"}
    expected = {name: "refuted" if name in refuted else "proved" for name in prover.answers(LATCHES)}
    assert prover.answers(LATCHES) == expected


def test_the_two_latches_differ_by_both_at_once(prover: Prover) -> None:
    trace = prover.verdicts(LATCHES, ["same"])["same"].trace
    assert trace is not None
    assert [(w.inputs["s"], w.inputs["r"]) for w in trace.world] == [(True, True)]


def test_blocks_for_every_sequence(prover: Prover) -> None:
    refuted = {"ton_early", "tof_longer", "ends_is_f_trig"}
    expected = {name: "refuted" if name in refuted else "proved" for name in prover.answers(BLOCKS)}
    assert prover.answers(BLOCKS) == expected


def test_f_trig_differs_from_ends_at_the_cold_start(prover: Prover) -> None:
    """Cold start: F_TRIG with CLK FALSE at first call gives Q=TRUE once."""
    trace = prover.verdicts(BLOCKS, ["ends_is_f_trig"])["ends_is_f_trig"].trace
    assert trace is not None
    assert [w.inputs["clk"] for w in trace.world] == [False]


def test_wrong_blocks_are_refuted(prover: Prover) -> None:
    assert set(prover.answers(WRONG).values()) == {"refuted"}


@pytest.mark.parametrize(("clk", "rose", "fell"), [(True, [1, 0, 0], [0, 0, 0]), (False, [0, 0, 0], [1, 0, 0])])
def test_cold_start(clk: bool, rose: list[int], fell: list[int]) -> None:
    """R_TRIG with CLK TRUE at first call gives Q=TRUE once; F_TRIG with CLK FALSE at first call gives Q=TRUE once."""
    records = run(BLOCKS, clocked([clk] * 3))
    assert [int(v) for v in column(records, "rose")] == rose
    assert [int(v) for v in column(records, "fell")] == fell


# ---------- PT = 0: TON true at once, TP no pulse, TOF falls on the edge call


def test_no_time_at_all(prover: Prover) -> None:
    assert set(prover.answers(ZERO).values()) == {"proved"}
    inputs = [False, True, True, False, False, True]
    records = run(ZERO, clocked(inputs))
    assert column(records, "ton") == inputs
    assert column(records, "tof") == inputs
    assert not any(column(records, "tp"))
    for block, timer in TIMERS.items():
        assert column(records, SIGNALS[block]) == [q for q, _ in timer(inputs, 0)]


# ---------- the same blocks where the cycle is not one tick: never early, late by less than one cycle

UNEVEN = """
rules "Timers in uneven cycles" version "1"
cycle from 5 ms to 30 ms  assumed "common practice, no source"
button clk
signal x    = clk is pressed
signal ton  = x for 3 s
signal tof  = x extended 3 s
signal tp   = x pulsed 3 s
claim ton_not_early: for 3 s after (not x) never ton
claim ton_in_time:   whenever x begins then ton or not x within 3.03 s
claim ton_at_once:   whenever x begins then ton or not x within 3 s
claim tof_holds:     for 3 s after x never not tof
claim tof_in_time:   whenever x ends then x or not tof within 3.03 s
claim tp_short:      length of tp at least 3 s
claim tp_long:       length of tp at most 3.03 s
claim tp_exact:      length of tp at most 3 s
"""


def test_timers_in_uneven_cycles(prover: Prover) -> None:
    refuted = {"ton_at_once", "tp_exact"}
    expected = {name: "refuted" if name in refuted else "proved" for name in prover.answers(UNEVEN)}
    assert prover.answers(UNEVEN) == expected


def test_the_longest_cycle_makes_a_timer_late() -> None:
    """In cycles of 30 ms 3 s are 100 cycles, and in cycles of 7 ms the 429th is the first at or after 3 s."""
    for dt, cycles in ((Fraction(30, 1000), 100), (Fraction(7, 1000), 429)):
        out = column(run(UNEVEN, clocked([True] * (cycles + 2)), dt), "ton")
        assert out.index(True) == cycles
