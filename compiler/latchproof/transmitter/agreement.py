"""Answers that are right one by one and do not go together."""

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from latchproof.rules.suggest import did_you_mean, listed
from latchproof.rules.units import UNITS
from latchproof.transmitter.places import Path
from latchproof.transmitter.schema import QUANTITIES

Values = Mapping[str, Any]


class Report(Protocol):
    def error(self, code: str, title: str, path: Path, hints: tuple[str, ...], *, value: bool = False) -> None: ...


def check(values: Values, lists: Mapping[str, Sequence[Values]], report: Report) -> None:
    """A value that was found wrong already is None and is passed over."""
    _room(values, report)
    _pulses(values, report)
    _channels(values, lists["has"], report)
    _thresholds(lists["threshold"], report)
    _hands(lists["hand"], report)
    _twice("has", "name", lists["has"], report)


def _room(values: Values, report: Report) -> None:
    each, absent = values.get("room.each"), values.get("room.absent")
    if each is None or absent is None:
        return
    for kind, _ in each:
        if kind in absent:
            title = f"a list of {kind} entries that do not exist"
            hints = ("take it out of `each` or out of `absent`",)
            report.error("description-conflict", title, ("room", "each"), hints, value=True)


def _pulses(values: Values, report: Report) -> None:
    pulses = [values.get(f"pulses.{name}") for name in ("low", "middle", "high")]
    if None not in pulses and len({*pulses}) < 3:
        title = "different pulses are shown as the same"
        hints = ("write what the channel display shows at each of the three",)
        report.error("description-conflict", title, ("pulses", "middle"), hints, value=True)


def _channels(values: Values, has: Sequence[Values], report: Report) -> None:
    count, order = values.get("channels"), values.get("order")
    if count is None:
        return
    if order is not None and len(order) > count:
        title = f"{len(order)} names for {count} channels"
        report.error("description-conflict", title, ("order",), ("leave out those that do not exist",), value=True)
    for name in sorted({n for n in order or () if (order or ()).count(n) > 1}):
        title = f"`{name[:40]}` moves on two channels"
        hints = ("give each its own name, such as left_motor and right_motor",)
        report.error("description-twice", title, ("order",), hints, value=True)
    for i, row in enumerate(has):
        for number in row["channels"] or ():
            if number > count:
                title = f"there is no channel {number} among {count}"
                hints = ("write the number that the model uses",)
                report.error("description-conflict", title, ("has", i, "channels"), hints, value=True)


def _thresholds(thresholds: Sequence[Values], report: Report) -> None:
    _twice("threshold", "quantity", thresholds, report)
    for i, row in enumerate(thresholds):
        quantity, shown, kept = row["quantity"], row["shown"], row["kept"]
        if quantity is not None and quantity not in QUANTITIES:
            hints = (*did_you_mean(quantity, QUANTITIES), f"write {listed(QUANTITIES, 'or')}")
            title = f"`{quantity}` is no kind of number"
            report.error("description-value", title, ("threshold", i, "quantity"), hints, value=True)
            continue
        for key, unit in (("shown", shown), ("kept", kept)):
            if unit is not None and unit not in UNITS:
                title = f"there is no unit `{unit[:20]}`"
                hints = did_you_mean(unit, UNITS) or ("write it as rule files do: m, ft, V, %",)
                report.error("description-unit", title, ("threshold", i, key), hints, value=True)
            elif unit is not None and quantity is not None and UNITS[unit].dimension not in QUANTITIES[quantity]:
                fits = [u for u in UNITS if UNITS[u].dimension in QUANTITIES[quantity]]
                title = f"a {quantity} is not measured in `{unit}`"
                hints = (f"write {listed([u or 'nothing at all' for u in fits], 'or')}",)
                report.error("description-unit", title, ("threshold", i, key), hints, value=True)
        if (kept is None) != (row["kept_step"] is None):
            title = "`kept` and `kept_step` come together or not at all"
            hints = ('write both, such as kept = "m" and kept_step = "1 m"',)
            report.error("description-conflict", title, ("threshold", i), hints)
        if kept in UNITS and shown in UNITS and UNITS[kept].dimension != UNITS[shown].dimension:
            title = f"what is shown in {shown or 'no unit'} cannot be kept in {kept or 'no unit'}"
            hints = ("write two units of the same quantity",)
            report.error("description-unit", title, ("threshold", i, "kept"), hints, value=True)


def _hands(hands: Sequence[Values], report: Report) -> None:
    _twice("hand", "name", hands, report)
    served: set[str] = set()
    for i, row in enumerate(hands):
        kind, serves = row["kind"], row["serves"]
        if serves and serves in served:
            title = f"two of them serve {serves}"
            hints = ("let one of them serve it, and write the other as taken",)
            report.error("description-twice", title, ("hand", i, "serves"), hints, value=True)
        served |= {serves} if serves else set()
        if kind is None or row["places"] is None or row["means"] is None:
            continue
        if kind == "switch" and len(row["places"]) < 2:
            title = "a switch has at least two places"
            hints = ('write places = ["away", "towards"], or with "middle" between them',)
            report.error("description-missing", title, ("hand", i, "places"), hints)
        if kind != "switch" and (row["places"] or row["means"]):
            title = f"a {kind} has no places to be named"
            key = "places" if row["places"] else "means"
            report.error("description-conflict", title, ("hand", i, key), (f"take `{key}` out",))
        if kind in ("switch", "button") and row["turned"] is True:
            title = f"a {kind} has no numbers that could run the other way"
            hints = ("take `turned` out; which place means what stands in `means`",)
            report.error("description-conflict", title, ("hand", i, "turned"), hints)
        _rests(i, row, report)
        _means(i, row, report)


def _rests(i: int, row: Values, report: Report) -> None:
    rests = row["rests"]
    if rests is None:
        return
    if row["springs"] is False:
        title = "a place to which it goes back, of one that does not go back by itself"
        hints = ("write springs = true, or take `rests` out",)
        report.error("description-conflict", title, ("hand", i, "rests"), hints)
    elif row["places"] and rests not in row["places"]:
        title = f"this switch has no place {rests}"
        report.error(
            "description-conflict", title, ("hand", i, "rests"), (f"write {listed(row['places'], 'or')}",), value=True
        )


def _means(i: int, row: Values, report: Report) -> None:
    used: set[str] = set()
    for position, way in row["means"]:
        if row["places"] and way not in row["places"]:
            title = f"this switch has no place {way}"
            hints = (f"write {listed(row['places'], 'or')}",)
            report.error("description-conflict", title, ("hand", i, "means"), hints, value=True)
        elif way in used:
            title = f"two positions at one place: {way} means {position} and another one"
            hints = ("write which of them it is",)
            report.error("description-twice", title, ("hand", i, "means"), hints, value=True)
        used.add(way)


def _twice(name: str, key: str, rows: Sequence[Values], report: Report) -> None:
    seen: set[str] = set()
    for i, row in enumerate(rows):
        called = row[key]
        if called is not None and called in seen:
            title = f"`{called[:40]}` comes twice"
            report.error("description-twice", title, (name, i, key), ("give each its own name",), value=True)
        seen |= {called} if called is not None else set()
