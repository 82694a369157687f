"""From answers by key to a `Transmitter`, and back."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from latchproof.transmitter.model import (
    Actions,
    Comparisons,
    Delays,
    Gates,
    Hand,
    Has,
    Periods,
    Pulses,
    Room,
    Sounds,
    Telemetry,
    Threshold,
    Transmitter,
)
from latchproof.transmitter.schema import BY_PATH, HAND, HAS, KEYS, NO_FALLBACK

Values = Mapping[str, Any]

_PARTS: dict[str, type[Any]] = {
    "pulses": Pulses,
    "room": Room,
    "gates": Gates,
    "delays": Delays,
    "comparisons": Comparisons,
    "actions": Actions,
    "sounds": Sounds,
    "telemetry": Telemetry,
    "periods": Periods,
}


def transmitter(
    values: Values, lists: Mapping[str, Sequence[Values]], unknown: frozenset[str], assumed: frozenset[str]
) -> Transmitter:
    """`values` has every key of the schema, `lists` the tables that come several times."""
    parts: dict[str, Any] = {}
    for section, part in _PARTS.items():
        inside = {k.name: values[k.path] for k in KEYS if k.section == section}
        if section == "comparisons":
            inside["thresholds"] = tuple(Threshold(**row) for row in lists["threshold"])
        parts[section] = part(**inside)
    top = {k.name: values[k.path] for k in KEYS if not k.section}
    return Transmitter(
        **top,
        **parts,
        hands=tuple(Hand(**row) for row in lists["hand"]),
        has=tuple(Has(**row) for row in lists["has"]),
        unknown=unknown,
        assumed=assumed,
    )


def value_at(t: Transmitter, path: str) -> Any:
    """What the model holds for a key of the schema."""
    found: Any = t
    for name in path.split("."):
        found = getattr(found, name)
    return found


def with_value(t: Transmitter, path: str, value: Any) -> Transmitter:
    section, _, name = path.rpartition(".")
    if not section:
        return replace(t, **{name: value})
    return replace(t, **{section: replace(getattr(t, section), **{name: value})})


def rows(t: Transmitter) -> dict[str, list[dict[str, Any]]]:
    """The tables that come several times, as `transmitter` takes them."""
    return {
        "threshold": [
            {n: getattr(x, n) for n in ("quantity", "shown", "steps", "kept", "kept_step")}
            for x in t.comparisons.thresholds
        ],
        "hand": [{k.path: getattr(x, k.path) for k in HAND} for x in t.hands],
        "has": [{k.path: getattr(x, k.path) for k in HAS} for x in t.has],
    }


def unsure(t: Transmitter, path: str) -> Transmitter:
    """With "don't know" for a key that allows it."""
    key = BY_PATH[path]
    assert key.unsure is not NO_FALLBACK
    changed = with_value(t, path, key.unsure)
    return replace(changed, unknown=t.unknown | {path}, assumed=t.assumed - {path})
