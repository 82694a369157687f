"""Transmitters made for tests: what one can do taken away bit by bit."""

from dataclasses import replace
from fractions import Fraction
from random import Random
from typing import Any

from latchproof.transmitter.generic import generic
from latchproof.transmitter.model import Steps, Threshold, Transmitter

FINE = Fraction(1, 1000)


def able(**changes: Any) -> Transmitter:
    """One that can do everything by very fine steps, with `changes` as `gates={"inputs": 2}`."""
    t = generic("rich")
    wide = Steps(Fraction(-10000), Fraction(10000), FINE)
    words = {"height": "m", "voltage": "V", "current": "A", "speed": "m/s", "percent": "%", "time": "s", "number": ""}
    words |= {"link quality": "%", "temperature": "degC", "angle": "deg", "capacity": "mAh", "rate": "m/s"}
    thresholds = [Threshold(q, unit, wide) for q, unit in words.items()]
    thresholds += [Threshold("rate", unit, wide) for unit in ("%/s", "V/s", "deg/s")]
    time = Steps(Fraction(0), Fraction(10000), FINE)
    t = replace(
        t,
        comparisons=replace(t.comparisons, thresholds=tuple(thresholds)),
        delays=replace(t.delays, steps=time, again=False),
        actions=replace(t.actions, percent=replace(wide, step=FINE), ramps=time),
        sounds=replace(t.sounds, repeats=time),
    )
    for part, inside in changes.items():
        t = replace(t, **{part: replace(getattr(t, part), **inside) if isinstance(inside, dict) else inside})
    return t


def random_transmitter(rng: Random) -> Transmitter:
    """With a random choice of gates, delays, comparisons and kinds of entry."""

    def some(*several: Any, least: int = 0) -> frozenset[Any]:
        return frozenset(rng.sample(several, rng.randint(least, len(several))))

    orders = rng.choice(
        [some("<", "<=", ">", ">=", "==", least=1), frozenset({"<", ">"}), frozenset({"<=", ">", "=="})]
    )
    return able(
        gates={
            "inputs": rng.randint(2, 4),
            "kinds": some("all", "any", "one", least=1) | {rng.choice(("all", "any"))},
            "inverts": rng.random() < 0.7,
        },
        delays={"kinds": some("on", "off", "pulse") | ({"on"} if rng.random() < 0.7 else set()),
                "again": rng.choice((True, False, None))},
        comparisons={"orders": orders, "of_two": rng.random() < 0.5, "band": rng.random() < 0.4, "rate": True,
                     "difference": rng.random() < 0.5},
        room={"absent": some("latch", "edge", "calculation", "counter")},
        actions={"kinds": some("drive", "move", "limit most", "limit least") | {"drive"}},
    )  # fmt: skip
