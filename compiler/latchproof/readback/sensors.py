"""Entries of sensors: when they are stale and what they read then; the rest must be what the rules take for granted."""

from dataclasses import replace
from fractions import Fraction

from latchproof.listing.draft import DraftField, Link
from latchproof.listing.model import Entry
from latchproof.listing.settings import sensor_fields
from latchproof.readback import model as m
from latchproof.readback.desk import Back, Fields
from latchproof.readback.logic import Made
from latchproof.readback.reading import constant, duration
from latchproof.rules import expressions as e
from latchproof.rules.model import Sensor


def sensor(made: Made, b: Back, x: Entry) -> Sensor:
    f = Fields(b, x)
    source, unit = f.one("discover", "sensor"), f.one("unit", "unit")
    assert isinstance(source, m.SensorNamed)
    assert isinstance(unit, m.UnitOf)
    name = b.known(b.sensors, source.name, "sensor", x)
    if (name,) != x.names:
        raise b.wrong(x, f"this is the entry of another sensor than {source.name}", "", "discover")
    old = next(s for s in b.rules.sensors if s.name == name)
    if unit.symbol != old.unit.symbol:
        wanted = old.unit.symbol or "a plain number"
        raise b.wrong(x, f"every threshold of this sensor is meant in {wanted}", wanted, "unit")
    after = old.stale_after
    if old.stale_after is not None:
        after = _seconds(b, f)
        looked = made.stale.get(name)
        if looked is not None and looked[0] != after:
            other = looked[1]
            raise b.wrong(x, f"another time than in entry {other.number}", "the same time in both", "stale after")
    once = f.one("once stale", "once stale")
    reads = None if not isinstance(once, m.MustRead) else constant(b, once.value, x, old.unit.dimension).value
    if old.stale_after is None and reads is not None:
        raise b.wrong(x, "without a time after which it is stale it cannot read another value then", "", "once stale")
    f.facts({d.label: _said(d) for d in sensor_fields(old, source.name) if d.kind == "fact"})
    f.done()
    return replace(old, stale_after=after, stale_reads=reads, span=b.span(x))


def _said(d: DraftField) -> str:
    return "".join(p for p in d.value if not isinstance(p, Link))


def _seconds(b: Back, f: Fields) -> Fraction:
    time = duration(b, f.one("stale after", "time"), f.entry)
    if time.in_cycles or not isinstance(time.amount, e.Constant):
        raise b.wrong(f.entry, "how long without a reading is a fixed time", "a time, as in `1.6 s`", "stale after")
    return time.amount.value
