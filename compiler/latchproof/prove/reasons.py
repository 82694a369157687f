"""Why a signal is as it is in one cycle: the tests in it that decided, each with the numbers it saw."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from latchproof.rules import expressions as e
from latchproof.run.expressions import Reader


@dataclass(frozen=True, slots=True)
class Seen:
    """One test as it stood. `values`: both sides of a comparison, the position of a switch (counted from 0), or the
    value of a channel and what the pilot's own would be."""

    test: e.Signal
    holds: bool
    values: tuple[Fraction, ...] = ()


def reasons(signal: e.Signal, reader: Reader, cycle: int) -> tuple[Seen, ...]:
    """The tests that make the signal what it is in that cycle. Of several that would each do, all are given."""
    return tuple(dict.fromkeys(_reasons(signal, reader, cycle)))


def _reasons(x: e.Signal, reader: Reader, k: int) -> Iterator[Seen]:
    match x:
        case e.Not(operand):
            yield from _reasons(operand, reader, k)
        case e.AllOf(operands) | e.AnyOf(operands):
            holds = [reader.signal(o)[k] for o in operands]
            whole = all(holds) if isinstance(x, e.AllOf) else any(holds)
            for operand, on in zip(operands, holds, strict=True):
                if on == whole:
                    yield from _reasons(operand, reader, k)
        case e.Comparison(left, _, right):
            yield Seen(x, reader.signal(x)[k], (reader.number(left)[k], reader.number(right)[k]))
        case e.Band(subject):
            yield Seen(x, reader.signal(x)[k], (reader.number(subject)[k],))
        case e.AtPosition(switch):
            here = next(n for n in range(_positions(reader, switch)) if _at(reader, switch, n, x, k))
            yield Seen(x, here == x.position, (Fraction(here),))
        case e.ChannelState(channel, state):
            yield Seen(x, reader.signal(x)[k], _channel(reader, channel, k) if state == "free" else ())
        case _:
            yield Seen(x, reader.signal(x)[k])


def _positions(reader: Reader, switch: str) -> int:
    return next(len(s.positions) for s in reader.machine.rules.switches if s.name == switch)


def _at(reader: Reader, switch: str, n: int, x: e.AtPosition, k: int) -> bool:
    return reader.signal(e.AtPosition(switch, n, span=x.span))[k]


def _channel(reader: Reader, name: str, k: int) -> tuple[Fraction, ...]:
    values = reader.records[k].values
    if name in values and f"{name}@own" in values:
        return Fraction(values[name]), Fraction(values[f"{name}@own"])
    return ()
