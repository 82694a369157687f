"""Slips that the transmitter does not take: a number beyond what its fields go to."""

from fractions import Fraction

from latchproof.bench.slips import Slip
from latchproof.readback import model as m
from latchproof.readback.values import read
from latchproof.rules.units import UNITS
from latchproof.transmitter.model import Steps, Transmitter


def refused(s: Slip, t: Transmitter | None) -> str:
    """Why it does not; empty where it does, or nobody knows."""
    field = next((f for x in s.entries if x.number == s.entry for f in x.fields if f.label == s.field), None)
    if t is None or field is None or field.value != s.stands:
        return ""
    value = read(field.value, field.kind, field.choices)
    amount = next((a for a in _amounts(value)), None)
    if amount is None:
        return ""
    steps = _steps(amount, field.kind, t)
    if steps is None:
        return ""
    shown = amount.amount
    if field.kind in ("time", "delay"):
        shown = amount.amount * UNITS[amount.unit].factor
    return "" if steps.low <= shown <= steps.high else "beyond what the transmitter lets one enter"


def _amounts(x: object) -> list[m.Quantity]:
    match x:
        case m.Quantity():
            return [x]
        case m.Threshold(bound=inner) | m.After(time=inner) | m.AtMostRate(rate=inner) | m.Offset(amount=inner):
            return _amounts(inner)
        case _:
            return []


def _steps(q: m.Quantity, kind: str, t: Transmitter) -> Steps | None:
    match kind:
        case "time" | "delay":
            return t.delays.steps
        case "ramp":
            return t.actions.ramps
        case "threshold":
            return next((x.steps for x in t.comparisons.thresholds if x.shown == q.unit), None)
        case "number" | "offset" if q.unit == "%":
            steps = t.actions.percent
            return Steps(min(steps.low, -Fraction(steps.high)), steps.high, steps.step)
        case _:
            return None
