"""Steps, settings and what is to be seen, in words."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import assert_never

from latchproof.bench.can_do import Bring, Hold, PowerCycle, Press, Setting, Telemetry, Turn, Wait, Way
from latchproof.bench.position import Table
from latchproof.bench.trial import Done
from latchproof.bench.trial_numbers import Numbers
from latchproof.listing.amounts import quantity
from latchproof.listing.desk import Desk
from latchproof.listing.model import Listing
from latchproof.listing.plain import word
from latchproof.readback import model as m
from latchproof.readback.values import read, written


@dataclass(frozen=True, slots=True)
class Swap:
    """Something put in the place of something else for the test, and how it is put back."""

    text: str
    back: str
    entry: int = 0


def doing(desk: Desk, d: Done, ways: Mapping[str, Way]) -> str:
    do = d.step.do
    if d.before == d.after and not isinstance(do, Press | PowerCycle):
        return "touch nothing"
    match do:
        case Turn(switch, position):
            return f"{desk.switch(switch)} to {desk.position(switch, position)}"
        case Press(button):
            return f"press {desk.button(button)} for a second"
        case Hold(control, value):
            unit = desk.n.controls[control].unit
            return f"{desk.control(control)} to {quantity(value, unit)}"
        case Bring(sensor, value):
            return _brought(desk, sensor, value, ways[sensor])
        case Telemetry(on):
            several = ", ".join(word(s.name) for s in desk.rules.sensors)
            if on:
                return f"plug in again what delivers {several}"
            return f"unplug what delivers {several}: no reading arrives any more"
        case PowerCycle():
            return "switch the transmitter off, count to three, switch it on"
        case Wait():
            return "touch nothing"
        case _:
            assert_never(do)


def _brought(desk: Desk, sensor: str, value: Fraction, way: Way) -> str:
    unit = next(s.unit for s in desk.rules.sensors if s.name == sensor)
    shown, name = quantity(value, unit), word(sensor)
    match way.kind:
        case "knob":
            return f"knob in place of {name}: turn it to {shown}"
        case "stairs" | "thresholds":
            return f"carry the model to {shown} by {name}"
        case _:
            return f"bring {name} to {shown}"


def standing(desk: Desk, s: Setting, ways: Mapping[str, Way]) -> tuple[str, ...]:
    """How everything stands before the first step."""
    lines = [f"{desk.switch(name)} at {desk.position(name, at)}" for name, at in s.switches]
    lines += [f"{desk.control(name)} at {quantity(v, desk.n.controls[name].unit)}" for name, v in s.controls]
    for name, value in s.readings:
        unit = next(x.unit for x in desk.rules.sensors if x.name == name)
        knob = "knob in place of " if ways[name].kind == "knob" else ""
        lines.append(f"{knob}{word(name)} at {quantity(value, unit)}, readings arriving")
    return tuple(lines)


def expected(d: Done, desk: Desk, table: Table) -> tuple[str, ...]:
    """What is to be seen of every channel, and what is to be heard."""
    c = table.bench.cycles[0]
    lines = []
    for x, level, move in zip(table.bench.rules.channels, d.expected.levels, d.expected.moves, strict=True):
        if level is None:
            if move in ("up", "down"):
                lines.append(f"{word(x.name)} {_moved(move)}")
            continue
        low, high = (c.worth(v) for v in level)
        at = quantity(Fraction(round(low)), x.unit)
        if round(low) != round(high):
            at = f"{quantity(Fraction(round(low)), x.unit)} to {quantity(Fraction(round(high)), x.unit)}"
        lines.append(f"{word(x.name)} {at}" + (f", {_moved(move)}" if move in ("up", "down") else ""))
    heard = []
    for sound, (least, most) in zip(table.bench.sounds, d.expected.sounds, strict=True):
        name = f'{sound.means} "{sound.text}"' if sound.text else sound.means
        if least:
            heard.append(f"{name} {_times(least, most)}")
        elif most:
            heard.append(f"{name} perhaps")
    lines.append(f"hear {', '.join(heard)}" if heard else "hear nothing")
    return tuple(lines)


def _moved(way: str) -> str:
    return "has gone up" if way == "up" else "has gone down"


def _times(least: int, most: int) -> str:
    if most == 1:
        return "once"
    return f"{least} times" if least == most else f"{least} to {most} times"


def substituted(desk: Desk, listing: Listing, ways: Mapping[str, Way], numbers: Numbers | None) -> list[Swap]:
    """What stands in the place of something else while the test is done."""
    swaps = []
    for number, label, test, real in numbers.bounds if numbers else ():
        field = next(f for x in listing.entries if x.number == number for f in x.fields if f.label == label)
        there = read(field.value, field.kind)
        assert isinstance(there, m.Threshold)
        swaps.append(
            Swap(
                f"entry {number}, {label}: {written(replace(there, bound=test))} instead of {field.value}",
                f"entry {number}, {label}: {written(replace(there, bound=real))}",
                number,
            )
        )
    for name, way in ways.items():
        if way.kind != "knob":
            continue
        s = next(x for x in desk.rules.sensors if x.name == name)
        span = f"{quantity(s.low, s.unit)} to {quantity(s.high, s.unit)}"
        swaps.append(
            Swap(
                f"A knob that gives {span}, shown on the screen, stands in the place of {word(name)}.",
                f"The knob that stood in the place of {word(name)} is used by nothing any more.",
            )
        )
        for x in listing.entries:
            for f in x.fields:
                value = read(f.value, f.kind, f.choices)
                if (
                    x.kind != "sensor has gone stale"
                    and x.kind != "sensor has been heard"
                    and _reads(value, word(name))
                ):
                    swaps.append(
                        Swap(
                            f"entry {x.number}, {f.label}: the knob in place of {word(name)}",
                            f"entry {x.number}, {f.label}: {f.value}",
                            x.number,
                        )
                    )
    return swaps


def _reads(value: object, sensor: str) -> bool:
    if isinstance(value, m.SensorValue):
        return value.sensor == sensor
    inside = ("left", "right", "bound", "subject", "amount", "inner", "time", "several")
    parts = [getattr(value, name, None) for name in inside]
    return any(
        _reads(p, sensor) for part in parts for p in (part if isinstance(part, tuple) else (part,)) if p is not None
    )
