"""What a rule file asks of a transmitter, so that questions can be put with its names."""

from dataclasses import dataclass

from latchproof.rules.model import RuleSet
from latchproof.rules.units import LENGTH, PLAIN, UNITS, Dimension
from latchproof.transmitter.hands import InputKind

_KINDS: dict[Dimension, str] = {
    LENGTH: "height",
    UNITS["V"].dimension: "voltage",
    UNITS["A"].dimension: "current",
    UNITS["W"].dimension: "power",
    UNITS["m/s"].dimension: "speed",
    UNITS["mAh"].dimension: "capacity",
    UNITS["%"].dimension: "link quality",
    UNITS["dB"].dimension: "link quality",
    UNITS["dBm"].dimension: "link quality",
    UNITS["degC"].dimension: "temperature",
    UNITS["rpm"].dimension: "revolutions",
    UNITS["deg"].dimension: "angle",
    PLAIN: "number",
}


@dataclass(frozen=True, slots=True)
class Input:
    name: str
    kind: InputKind
    positions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Needs:
    """`channels`: names from channel 1 on, empty where a number is left out; `compared`: kinds of reading."""

    inputs: tuple[Input, ...] = ()
    channels: tuple[str, ...] = ()
    compared: tuple[str, ...] = ()


NOTHING = Needs()


def needs_of(rules: RuleSet) -> Needs:
    inputs = [
        *(Input(s.name, "switch", s.positions) for s in rules.switches),
        *(Input(b.name, "button") for b in rules.buttons),
        *(Input(c.name, c.kind) for c in rules.controls),
    ]
    numbers = {c.number: c.name for c in rules.channels if c.number is not None}
    last = max(numbers, default=0)
    order = tuple(numbers[n] for n in range(1, last + 1)) if len(numbers) == last else ()
    kinds = dict.fromkeys(_KINDS[s.unit.dimension] for s in rules.sensors if s.unit.dimension in _KINDS)
    percent = ["percent"] if rules.controls else []
    return Needs(tuple(inputs), order, (*kinds, *percent))
