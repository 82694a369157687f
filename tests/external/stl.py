"""The independent monitor: rtamt, signal temporal logic in discrete time, and claims written by hand in its language.

Source: rtamt on PyPI, a monitor for STL (Maler, Nickovic 2004) with robustness values (Fainekos, Pappas 2009). It
shares nothing with this program; the formulas here were written from the meaning of the claims, not from code.
"""

import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # its parser imports a name that is to go from the standard library
    import rtamt

Signals = Mapping[str, Sequence[float]]
"""Numbers as they are; true is 1 and false is -1."""


@dataclass(frozen=True)
class Promise:
    """A formula that must hold in every cycle except the last `horizon` ones, where it cannot be told yet."""

    formula: str
    horizon: int = 0


@cache
def _names(formula: str, known: tuple[str, ...]) -> tuple[str, ...]:
    words = "".join(c if c.isalnum() or c == "_" else " " for c in formula).split()
    return tuple(name for name in known if name in words)


def robustness(formula: str, signals: Signals) -> list[float]:
    """In every cycle: below 0 where the formula is false, by how much it is missed; above 0 by how much it is kept."""
    used = _names(formula, tuple(signals))
    monitor: Any = rtamt.StlDiscreteTimeSpecification()
    for name in used:
        monitor.declare_var(name, "float")
    monitor.spec = formula
    monitor.parse()
    cycles = len(signals[used[0]])
    again = 1 if cycles > 1 else 2  # it wants two samples at least
    data = {"time": list(range(cycles * again)), **{name: [*signals[name]] * again for name in used}}
    return [value for _, value in monitor.evaluate(data)][:cycles]


def is_violation(promises: Sequence[Promise], signals: Signals) -> bool:
    return any(
        value < 0
        for p in promises
        for value in robustness(p.formula, signals)[: max(0, len(next(iter(signals.values()))) - p.horizon)]
    )


def truth(values: Sequence[object]) -> list[float]:
    return [1.0 if value else -1.0 for value in values]
