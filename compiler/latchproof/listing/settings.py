"""Entries for sensors, for the link, and for the receiver's failsafe."""

from fractions import Fraction

from latchproof.listing import amounts
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField
from latchproof.listing.motor_stop import stopped_channels
from latchproof.listing.moved import behind, moved
from latchproof.listing.plain import word
from latchproof.rules.expressions import AtPosition, Pressed
from latchproof.rules.model import Basis, Channel, Sensor
from latchproof.rules.words import per_second


def sensor(desk: Desk, x: Sensor) -> None:
    draft = desk.put(
        Draft(f"@sensor {x.name}", "sensor", "sensor and its link", (f"{word(x.name)}: what it must deliver",))
    )
    draft.fields = sensor_fields(x, desk.sensor(x.name))
    draft.start = "nothing heard: counts as stale" if x.stale_after is not None else "nothing heard"


def sensor_fields(x: Sensor, name: str) -> list[DraftField]:
    both = [_value(v, x) for v in (x.low, x.high)]
    fields = [
        DraftField(
            "discover",
            (f"the sensor that delivers {name}",),
            words=("exactly this one, no other with a like name",),
            kind="sensor",
        )
    ]
    fields.append(
        DraftField("unit", (_unit(x),), words=("a number in another unit is another threshold",), kind="unit")
    )
    fields.append(
        DraftField(
            "shows",
            (f"{both[0][0]} to {both[1][0]}",),
            " to ".join(o for _, o in both if o),
            _basis(x, "reads"),
            kind="fact",
        )
    )
    if x.step is not None:
        fields.append(_field("smallest step", x.step, x, "step"))
    if x.frame_every is not None:
        text, other, words = amounts.seconds(x.frame_every)
        basis = _basis(x, "frame_every")
        fields.append(
            DraftField("a reading every", (f"{text} at the latest",), other, _several(words, *basis), kind="fact")
        )
    else:
        fields.append(
            DraftField(
                "a reading every", ("not stated",), words=("write down what you measure: ________",), kind="fact"
            )
        )
    fields += _stale(x, name)
    if x.error:
        fields.append(_field("wrong by at most", x.error, x, "error"))
    if x.change is not None:
        unit = per_second(x.unit)
        slow, fast = (amounts.quantity(c, unit) for c in x.change)
        fields.append(DraftField("changes by", (f"{slow} to {fast}",), "", _basis(x, "changes"), kind="fact"))
    if x.lag:
        text, other, words = amounts.seconds(x.lag)
        fields.append(DraftField("late by at most", (text,), other, _several(words, *_basis(x, "lag")), kind="fact"))
    return fields


def _stale(x: Sensor, name: str) -> list[DraftField]:
    if x.stale_after is None:
        return [
            DraftField("stale after", ("no time is set",), words=("these rules do not look at it",), kind="fact"),
            DraftField(
                "once stale", ("must keep its last value",), words=("switch the model off and look",), kind="once stale"
            ),
        ]
    text, other, words = amounts.seconds(x.stale_after)
    fields = [DraftField("stale after", (text,), other, (f"{words} without a reading".lstrip(),), kind="time")]
    if x.stale_reads is None:
        return [
            *fields,
            DraftField(
                "once stale",
                ("must keep its last value",),
                "",
                (*_basis(x, "keeps_value"), "; " if _basis(x, "keeps_value") else "", "switch the model off and look"),
                kind="once stale",
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
            kind="once stale",
        ),
    ]


def _several(*texts: str) -> tuple[str, ...]:
    return ("; ".join(t for t in texts if t),)


def _unit(x: Sensor) -> str:
    return x.unit.symbol or "a plain number"


def _value(v: Fraction, x: Sensor) -> tuple[str, str]:
    return amounts.quantity(v, x.unit), amounts.other_unit(v, x.unit)


def _field(label: str, v: Fraction, x: Sensor, what: str) -> DraftField:
    value, other = _value(v, x)
    return DraftField(label, (value,), other, _basis(x, what), kind="fact")


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
    stopped = stopped_channels(desk)
    draft.fields += [
        DraftField(f"channel {c.number or '____'}", (f"{word(c.name)}: {_safe(c, stopped)}",))
        for c in desk.rules.channels
    ]
    draft.fields += [
        DraftField("other channels", ('not "as before", unless you have thought it through',)),
        DraftField("test it", ("propeller off: switch the transmitter off and look at the model",)),
    ]
    draft.start = "as set in the receiver"


def _set_with(desk: Desk) -> str:
    roles = {r.role: r.signal for r in desk.rules.roles}
    more = [r.signal for r in desk.rules.roles if r.role in ("instructor", "launch")]
    by_hand = [s for s in more if isinstance(behind(desk, s), AtPosition | Pressed)]
    by_hand = [roles["arm"], *by_hand] if "arm" in roles else by_hand
    steps = [moved(desk, s, wanted=False)[0] for s in by_hand]
    if "arm" not in roles:
        steps.append(f"every {'other ' if steps else ''}switch at its harmless place")
    stops = stopped_channels(desk)
    if any(_motor(c, stops) for c in desk.rules.channels):
        steps += ["the motor stopped", "apart from that no action of this list acting"]
    else:
        steps.append("no action of this list acting")
    return "; ".join(dict.fromkeys(steps))


def _motor(c: Channel, stopped: frozenset[str]) -> bool:
    called = {"motor", "throttle"} & set(word(c.name).split())
    return c.name in stopped or (bool(called) and not c.rests)


def _safe(c: Channel, stopped: frozenset[str]) -> str:
    """Only of a motor is it known what is safe. A rest is not: a tow hook that rests closed must perhaps open."""
    return 'stopped, never "as before"' if _motor(c, stopped) else "________ you decide"
