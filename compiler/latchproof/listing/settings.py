"""Entries for sensors, for the link, and for the receiver's failsafe."""

from fractions import Fraction

from latchproof.listing import amounts
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField
from latchproof.listing.plain import word
from latchproof.listing.way_out import moved
from latchproof.rules.expressions import Constant
from latchproof.rules.model import Basis, Channel, Sensor
from latchproof.rules.words import per_second


def sensor(desk: Desk, x: Sensor) -> None:
    name = word(x.name)
    draft = desk.put(Draft(f"@sensor {x.name}", "sensor", "sensor and its link", (f"{name}: what it must deliver",)))
    both = [_value(v, x) for v in (x.low, x.high)]
    fields = [
        DraftField(
            "discover", (f"the sensor that delivers {name}",), words=("exactly this one, no other with a like name",)
        )
    ]
    fields.append(DraftField("unit", (_unit(x),), words=("a number in another unit is another threshold",)))
    fields.append(
        DraftField(
            "shows", (f"{both[0][0]} to {both[1][0]}",), " to ".join(o for _, o in both if o), _basis(x, "reads")
        )
    )
    if x.step is not None:
        fields.append(_field("smallest step", x.step, x, "step"))
    if x.frame_every is not None:
        text, other, words = amounts.seconds(x.frame_every)
        basis = _basis(x, "frame_every")
        fields.append(
            DraftField(
                "a reading every", (f"{text} at the latest",), other, (words, "; ", *basis) if basis else (words,)
            )
        )
    else:
        fields.append(DraftField("a reading every", ("not stated",), words=("write down what you measure: ________",)))
    fields += _stale(x, name)
    if x.error:
        fields.append(_field("wrong by at most", x.error, x, "error"))
    if x.change is not None:
        unit = per_second(x.unit)
        slow, fast = (amounts.quantity(c, unit) for c in x.change)
        fields.append(DraftField("changes by", (f"{slow} to {fast}",), "", _basis(x, "changes")))
    if x.lag:
        text, other, words = amounts.seconds(x.lag)
        fields.append(
            DraftField(
                "late by at most", (text,), other, (words, "; ", *_basis(x, "lag")) if _basis(x, "lag") else (words,)
            )
        )
    draft.fields = fields
    draft.start = "nothing heard: counts as stale" if x.stale_after is not None else "nothing heard"


def _stale(x: Sensor, name: str) -> list[DraftField]:
    if x.stale_after is None:
        return [
            DraftField("stale after", ("no time is set: these rules do not look at it",)),
            DraftField("with no reading", ("must keep its last value",), words=("switch the model off and look",)),
        ]
    text, other, words = amounts.seconds(x.stale_after)
    fields = [DraftField("stale after", (text,), other, (words, " without a reading"))]
    if x.stale_reads is None:
        return [
            *fields,
            DraftField(
                "once stale",
                ("must keep its last value",),
                "",
                (*_basis(x, "keeps_value"), "; " if _basis(x, "keeps_value") else "", "switch the model off and look"),
            ),
        ]
    value, other = _value(x.stale_reads, x)
    basis = _basis(x, "reads_value")
    return [
        *fields,
        DraftField(
            "once stale",
            (f"must read {value}",),
            other,
            (*basis, "; " if basis else "", "switch the model off and look"),
        ),
    ]


def _unit(x: Sensor) -> str:
    return x.unit.symbol or "a plain number"


def _value(v: Fraction, x: Sensor) -> tuple[str, str]:
    return amounts.quantity(v, x.unit), amounts.other_unit(v, x.unit)


def _field(label: str, v: Fraction, x: Sensor, what: str) -> DraftField:
    value, other = _value(v, x)
    return DraftField(label, (value,), other, _basis(x, what))


def _basis(x: Sensor, what: str) -> tuple[str, ...]:
    basis = dict(x.bases).get(what)
    return () if basis is None else (standing(basis),)


def standing(basis: Basis | None) -> str:
    """`measured 2025-06-14, log of two flights`, `ASSUMED, steepest dive`."""
    if basis is None:
        return "not stated whether measured"
    head = "ASSUMED" if basis.kind == "assumed" else f"measured {basis.date}" if basis.date else "measured"
    return f"{head}, {basis.note}" if basis.note else head


def failsafe(desk: Desk) -> None:
    draft = desk.put(
        Draft("@failsafe", "failsafe", "receiver failsafe", ("what the model does when the control link is lost",))
    )
    draft.fields = [
        DraftField(
            "link lost",
            ("only the receiver's failsafe acts",),
            words=("nothing in this list works then: it all runs in the transmitter",),
        ),
        DraftField("set it with", (_set_with(desk),), words=("so that no action of these rules is stored",)),
    ]
    draft.fields += [
        DraftField(f"channel {c.number or '____'}", (f"{word(c.name)}: {_safe(c)}",)) for c in desk.rules.channels
    ]
    draft.fields += [
        DraftField("other channels", ('not "as before", unless you have thought it through',)),
        DraftField("test it", ("propeller off: switch the transmitter off and look at the model",)),
    ]
    draft.start = "as set in the receiver"


def _set_with(desk: Desk) -> str:
    roles = {r.role: r.signal for r in desk.rules.roles}
    guard = moved(desk, roles["arm"], wanted=False)[0] if "arm" in roles else "every switch at its harmless place"
    return f"{guard}; the motor stopped; nothing in this list acting"


def _safe(c: Channel) -> str:
    if c.rests and isinstance(c.source, Constant):
        return f"at rest, {amounts.quantity(c.source.value, c.unit)}"
    if "motor" in word(c.name) or "throttle" in word(c.name):
        return 'stopped, never "as before"'
    return "________ you decide"
