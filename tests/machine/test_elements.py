"""Interpreter and solver against the reference models, over random inputs and cycle times."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.machine.model import Machine
from latchproof.run.interpreter import Interpreter, World
from latchproof.run.program import Exact
from tests.helpers.rules import machine_of
from tests.helpers.solver import solve
from tests.machine import reference as ref
from tests.machine.reference import Clock, Phase, Ramp

HEAD = """rules "One element" version "1"
cycle from 10 ms to 2 s
button a  button b  button c
knob wait from 0 s to 3 s
stick x from -100 % to 100 %
"""
SENSOR = "sensor height { from 0 m to 100 m  stale after 0.5 s }\n"


@dataclass(frozen=True, slots=True)
class Tape:
    """What happens, cycle by cycle."""

    dts: tuple[Fraction, ...]
    a: tuple[bool, ...]
    b: tuple[bool, ...]
    c: tuple[bool, ...]
    wait: tuple[Fraction, ...]
    x: tuple[Fraction, ...]
    frame: tuple[bool, ...]
    shown: tuple[Fraction, ...]

    def world(self) -> list[World]:
        names = ("a", "b", "c", "wait", "x", "height@frame", "height@reading")
        columns = zip(self.a, self.b, self.c, self.wait, self.x, self.frame, self.shown, strict=True)
        rows: list[dict[str, Exact]] = [dict(zip(names, row, strict=True)) for row in columns]
        return [World(dt, row) for dt, row in zip(self.dts, rows, strict=True)]

    def steady(self, span: str) -> list[Fraction]:
        return [Fraction(span)] * len(self.dts)


CYCLE_TIMES = [Fraction(t) for t in ("1/100", "1/10", "1/4", "1/3", "1/2", "1", "2")]
WAITS = [Fraction(t) for t in ("0", "1/100", "1/4", "1/3", "1/2", "1", "3")]
STICKS = [Fraction(t) for t in ("-100", "-30", "0", "20", "50", "51", "80", "100")]
READINGS = [Fraction(t) for t in ("0", "10", "12", "40", "100")]


@st.composite
def tapes(draw: st.DrawFn) -> Tape:
    """Values mostly stay for a while, so that delays run out."""
    n = draw(st.integers(1, 24))

    def column(values: Sequence[Exact], stays: int) -> tuple[Exact, ...]:
        made: list[Exact] = []
        while len(made) < n:
            made += [draw(st.sampled_from(values))] * draw(st.integers(1, stays))
        return tuple(made[:n])

    def flags(stays: int) -> tuple[bool, ...]:
        return tuple(bool(v) for v in column((False, True), stays))

    def numbers(values: Sequence[Fraction], stays: int) -> tuple[Fraction, ...]:
        return tuple(Fraction(v) for v in column(values, stays))

    return Tape(
        numbers(CYCLE_TIMES, 4), flags(8), flags(4), flags(4), numbers(WAITS, 12), numbers(STICKS, 5), flags(2),
        numbers(READINGS, 2),
    )  # fmt: skip


Model = Callable[[Tape], dict[str, list[Exact]]]
CASES: dict[str, tuple[str, Model]] = {}


def case(name: str, text: str) -> Callable[[Model], Model]:
    def keep(model: Model) -> Model:
        assert name not in CASES
        CASES[name] = (text, model)
        return model

    return keep


def out(values: Sequence[Exact]) -> dict[str, list[Exact]]:
    return {"out": list(values)}


# ---------- delays, pulses, edges

SPANS: dict[str, tuple[str, Callable[[Tape], list[Fraction]], bool]] = {
    "none": ("0 s", lambda t: t.steady("0"), False),
    "fixed": ("500 ms", lambda t: t.steady("1/2"), False),
    "knob": ("wait", lambda t: list(t.wait), False),
    "no_cycles": ("0 cycles", lambda t: t.steady("0"), True),
    "one_cycle": ("1 cycle", lambda t: t.steady("1"), True),
    "cycles": ("3 cycles", lambda t: t.steady("3"), True),
}
TIMED = {"for": ref.on_delay, "extended": ref.off_delay, "pulsed": ref.pulse}


def _timed(word: str, span: str) -> None:
    text, spans, in_cycles = SPANS[span]

    @case(f"{word} {span}", f"signal out = a is pressed {word} {text}")
    def model(t: Tape) -> dict[str, list[Exact]]:
        return out(TIMED[word](t.a, spans(t), Clock(t.dts, in_cycles)))


for _word in TIMED:
    for _span in SPANS:
        _timed(_word, _span)


@case("begins and ends", "signal out = a is pressed begins  signal other = a is pressed ends")
def _(t: Tape) -> dict[str, list[Exact]]:
    return {"out": list(ref.begins(t.a)), "other": list(ref.ends(t.a))}


@case("previous", "signal out = previous of (a is pressed)  value other = previous of x")
def _(t: Tape) -> dict[str, list[Exact]]:
    return {"out": [False, *t.a][:-1], "other": [Fraction(0), *t.x][:-1]}


@case("previous of itself", "signal out = not (previous of out)")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out([k % 2 == 0 for k in range(len(t.dts))])


@case("band", "signal out = x is below 0 % until above 50 %  signal other = x is at least 51 % until at most 0 %")
def _(t: Tape) -> dict[str, list[Exact]]:
    other: list[Exact] = []
    for v in t.x:
        other.append(v > 0 if other and other[-1] else v >= 51)
    return {"out": list(ref.band(t.x, Fraction(0), Fraction(50))), "other": other}


@case("one of three", "signal out = exactly_one of (a is pressed, b is pressed, c is pressed)")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out([sum(row) == 1 for row in zip(t.a, t.b, t.c, strict=True)])


# ---------- latches, counters, samples


@case("latch", "latch out { set when a is pressed  reset when b is pressed }")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out(ref.latch(t.a, t.b))


@case("latch, set wins", "latch out { set when a is pressed  reset when b is pressed  set wins }")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out(ref.latch(t.a, t.b, set_wins=True))


@case("latch of itself", "latch out { set when a is pressed  reset when b is pressed and out }")
def _(t: Tape) -> dict[str, list[Exact]]:
    made: list[bool] = []
    for a, b in zip(t.a, t.b, strict=True):
        before = bool(made) and made[-1]
        made.append((a or before) and not (b and before))
    return out(made)


@case("latch that was itself", "latch out { set when a is pressed  reset when previous of out }")
def _(t: Tape) -> dict[str, list[Exact]]:
    made: list[bool] = []
    for a in t.a:
        made.append(a and not (made and made[-1]))
    return out(made)


def _timeouts(wins: bool, span: str, block: str) -> None:
    text, spans, in_cycles = SPANS[span]
    blocked = {
        "": "",
        "until": "then blocked until c is pressed",
        "for": "then blocked for 600 ms",
        "knob": "then blocked for wait",
    }
    clauses = (
        f"set when a is pressed  reset when b is pressed {'set wins' if wins else ''} timeout {text} {blocked[block]}"
    )

    @case(f"time-out {span} {block} {'set wins' if wins else 'reset wins'}", f"latch out {{ {clauses} }}")
    def model(t: Tape) -> dict[str, list[Exact]]:
        blocks = {"for": t.steady("3/5"), "knob": list(t.wait)}.get(block)
        return out(_with_blocks(t, spans(t), in_cycles, wins, t.c if block == "until" else None, blocks))


def _with_blocks(
    t: Tape,
    spans: list[Fraction],
    in_cycles: bool,
    wins: bool,
    until: Sequence[bool] | None,
    block: list[Fraction] | None,
) -> list[bool]:
    """The block is in seconds even where the time-out is in cycles."""
    return ref.latch_with_timeout(
        t.a, t.b, spans, Clock(t.dts, in_cycles), Clock(t.dts), set_wins=wins, until=until, block=block
    )


for _wins in (False, True):
    for _span, _block in (
        ("fixed", ""),
        ("knob", ""),
        ("cycles", "until"),
        ("fixed", "until"),
        ("fixed", "for"),
        ("one_cycle", "knob"),
    ):
        _timeouts(_wins, _span, _block)


@case("counter", "counter tries { counts a is pressed  clears when b is pressed  at most 2 }  value out = tries + 0")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out(ref.counter(t.a, t.b, 2))


@case("sample", "sample out = x when b is pressed first 20 %")
def _(t: Tape) -> dict[str, list[Exact]]:
    return out(ref.sample(t.x, t.b, Fraction(20)))


@case("sample of itself", "sample out = out + 1 % when b is pressed first 20 %")
def _(t: Tape) -> dict[str, list[Exact]]:
    made: list[Exact] = []
    for take in t.b:
        before = Fraction(made[-1]) if made else Fraction(20)
        made.append(before + 1 if take else before)
    return out(made)


# ---------- sequences


def _sequences(name: str, first: str, second: str, third: str, phases: Callable[[Tape], list[Phase]]) -> None:
    ends = f"phase one {first} {{ }} phase two {second} {{ }} phase three {third} {{ }}"

    @case(f"sequence {name}", f"sequence s while a is pressed {{ {ends} }}")
    def model(t: Tape) -> dict[str, list[Exact]]:
        rows = ref.sequence(t.a, phases(t), t.dts)
        return {f"s.{word}": list(row) for word, row in zip(("one", "two", "three"), rows, strict=True)}


_sequences(
    "of all kinds", "for 500 ms", "until b is pressed", "",
    lambda t: [Phase(lasts=t.steady("1/2")), Phase(until=t.b), Phase()],
)  # fmt: skip
_sequences(
    "with an end", "until c is pressed", "for wait", "for 2 cycles",
    lambda t: [Phase(until=t.c), Phase(lasts=t.wait), Phase(lasts=t.steady("2"), in_cycles=True)],
)  # fmt: skip
_sequences(
    "in cycles", "for 1 cycle", "for 3 cycles", "until b is pressed",
    lambda t: [Phase(t.steady("1"), in_cycles=True), Phase(t.steady("3"), in_cycles=True), Phase(until=t.b)],
)  # fmt: skip


# ---------- channels

RAMPS: dict[str, tuple[str, Ramp]] = {
    "at once": ("", Ramp()),
    "up": ("ramp more 40 %/s", Ramp(up=Fraction(40))),
    "down": ("ramp less 90 %/s", Ramp(down=Fraction(90))),
    "back": ("hand back 60 %/s", Ramp(back=Fraction(60))),
    "all": ("ramp more 40 %/s  ramp less 90 %/s  hand back 60 %/s", Ramp(Fraction(40), Fraction(90), Fraction(60))),
}
CHANNEL = "channel out { follows x  from -100 % to 100 % }  "


def _channels(ramp: str) -> None:
    text, rates = RAMPS[ramp]

    @case(f"drive {ramp}", f"{CHANNEL} rule r while a is pressed {{ drive out to 50 % {text} }}")
    def driven(t: Tape) -> dict[str, list[Exact]]:
        return out(ref.drive(t.x, t.a, t.steady("50"), rates, t.dts))

    @case(f"move {ramp}", f"{CHANNEL} rule r while a is pressed {{ move out less by 30 % {text} }}")
    def moved(t: Tape) -> dict[str, list[Exact]]:
        offsets = ref.move(t.a, Fraction(-30), rates, t.dts)
        return out([max(Fraction(-100), x + o) for x, o in zip(t.x, offsets, strict=True)])

    @case(f"limit {ramp}", f"{CHANNEL} rule r while a is pressed {{ limit out to at most 20 % {text} }}")
    def limited(t: Tape) -> dict[str, list[Exact]]:
        return out(ref.limit(t.x, t.a, Fraction(20), rates, t.dts))

    @case(f"lower limit {ramp}", f"{CHANNEL} rule r while a is pressed {{ limit out to at least 20 % {text} }}")
    def lifted(t: Tape) -> dict[str, list[Exact]]:
        turned = Ramp(rates.down, rates.up, rates.back)
        return out([-v for v in ref.limit([-x for x in t.x], t.a, Fraction(-20), turned, t.dts)])


for _ramp in RAMPS:
    _channels(_ramp)


@case(
    "all layers",
    f"{CHANNEL} priority high over low  rule high while a is pressed {{ drive out to -30 % hand back 60 %/s }}"
    "  rule low while b is pressed { drive out to 80 % ramp more 40 %/s hand back 60 %/s }"
    "  rule shift while c is pressed { move out more by 20 % after 250 ms }"
    "  rule cap while x is above 50 % { limit out to at most 60 % }",
)
def _(t: Tape) -> dict[str, list[Exact]]:
    shift = ref.move(ref.on_delay(t.c, t.steady("1/4"), Clock(t.dts)), Fraction(20), Ramp(), t.dts)
    value = [min(Fraction(100), x + o) for x, o in zip(t.x, shift, strict=True)]
    value = ref.limit(value, [x > 50 for x in t.x], Fraction(60), Ramp(), t.dts)
    value = ref.drive(value, t.b, t.steady("80"), Ramp(up=Fraction(40), back=Fraction(60)), t.dts)
    return out(ref.drive(value, t.a, t.steady("-30"), Ramp(back=Fraction(60)), t.dts))


@case(
    "who acts",
    f"{CHANNEL} rule r while a is pressed {{ drive out to 50 % hand back 60 %/s }}"
    "  rule s while b is pressed { move out more by 10 % ramp more 40 %/s }"
    "  rule u while c is pressed { limit out to at most 20 % }"
    "  signal d = out is driven  signal m = out is moved  signal l = out is limited  signal f = out is free",
)
def _(t: Tape) -> dict[str, list[Exact]]:
    offsets = ref.move(t.b, Fraction(10), Ramp(up=Fraction(40)), t.dts)
    beneath = ref.limit(
        [min(Fraction(100), x + o) for x, o in zip(t.x, offsets, strict=True)], t.c, Fraction(20), Ramp(), t.dts
    )
    value = ref.drive(beneath, t.a, t.steady("50"), Ramp(back=Fraction(60)), t.dts)
    acts: list[Exact] = []
    for k, (v, under) in enumerate(zip(value, beneath, strict=True)):
        acts.append(t.a[k] or (k > 0 and bool(acts[-1]) and v != under))
    free: list[Exact] = [v == x for v, x in zip(value, t.x, strict=True)]
    return {"out": list(value), "d": acts, "m": [o != 0 for o in offsets], "l": list(t.c), "f": free}


@case(
    "acting on the control",
    "channel left { follows x  from -100 % to 100 % } channel right { follows 50 % - 0.5 * x  from 0 % to 100 % }"
    "  rule r while a is pressed { drive x to 20 % }  signal d = x is driven  signal f = left is free"
    "  value own = pilot_value of left",
)
def _(t: Tape) -> dict[str, list[Exact]]:
    x = [Fraction(20) if a else v for a, v in zip(t.a, t.x, strict=True)]
    right = [min(max(50 - v / 2, Fraction(0)), Fraction(100)) for v in x]
    free: list[Exact] = [v == held for v, held in zip(x, t.x, strict=True)]
    return {"left": list(x), "right": list(right), "d": list(t.a), "f": free, "own": list(t.x)}


@case(
    "announcements",
    'rule r while a is pressed { announce voice "one"  announce tone "two" every 500 ms }'
    "  signal v = r.voice  signal s = r.announced",
)
def _(t: Tape) -> dict[str, list[Exact]]:
    once = ref.announced(t.a, None, Clock(t.dts))
    again = ref.announced(t.a, t.steady("1/2"), Clock(t.dts))
    return {"v": list(t.a), "s": [p or q for p, q in zip(once, again, strict=True)]}


# ---------- sensors and rates


def _sensors(reads: str) -> None:
    text = f"sensor height {{ from 0 m to 100 m  stale after 0.5 s  once stale {reads} }}"
    instead = Fraction(40) if "40" in reads else None

    @case(
        f"sensor that {reads}",
        f"{text} signal s = height is stale  signal f = height is fresh  signal h = height is heard"
        "  value out = height + 0 m  value old = age of height",
    )
    def model(t: Tape) -> dict[str, list[Exact]]:
        seen = ref.sensor(t.frame, t.shown, t.dts, Fraction(0), Fraction(1, 2), instead)
        return {
            "s": [s.stale for s in seen], "f": [not s.stale for s in seen], "h": [s.heard for s in seen],
            "out": [s.reading for s in seen], "old": [s.age for s in seen],
        }  # fmt: skip


_sensors("keeps value")
_sensors("reads 40 m")


@case(
    "rate of a sensor",
    f"{SENSOR} signal out = rate of height is above 30 m/s  signal other = rate of height is above -30 m/s",
)
def _(t: Tape) -> dict[str, list[Exact]]:
    return {
        "out": list(ref.rate_at_frames(t.frame, t.shown, t.dts, Fraction(30))),
        "other": list(ref.rate_at_frames(t.frame, t.shown, t.dts, Fraction(-30))),
    }


@case("rate of a stick", "signal out = rate of x is above 60 %/s  signal other = size of (rate of x) is at most 60 %/s")
def _(t: Tape) -> dict[str, list[Exact]]:
    slow = [not f and not s for f, s in zip(ref.rate(t.x, t.dts, Fraction(60)), _falling(t), strict=True)]
    return {"out": list(ref.rate(t.x, t.dts, Fraction(60))), "other": list(slow)}


def _falling(t: Tape) -> list[bool]:
    return ref.rate([-x for x in t.x], t.dts, Fraction(60))


# ---------- the comparison


@cache
def machine(name: str) -> Machine:
    return machine_of(HEAD + CASES[name][0] + "\n")


@pytest.mark.parametrize("name", CASES)
def test_interpreter_and_solver_do_what_the_reference_says(name: str) -> None:
    model, made = CASES[name][1], machine(name)
    inputs = {i.name for i in made.inputs}
    start: dict[str, Exact] = {s.name: Fraction(0) for s in made.states if s.initial is None}

    @settings(max_examples=40, deadline=None, derandomize=True, database=None)
    @given(tapes())
    def agree(tape: Tape) -> None:
        wanted = model(tape)
        world = [World(w.dt, {n: v for n, v in w.inputs.items() if n in inputs}) for w in tape.world()]
        records = Interpreter(made).run(world, {}, start)
        solved = solve(made, world, list(wanted), start)
        for what, values in wanted.items():
            assert [r.values[what] for r in records] == values, f"interpreter: {what}"
            assert [s[what] for s in solved] == values, f"solver: {what}"

    agree()
