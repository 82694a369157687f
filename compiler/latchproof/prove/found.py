"""What a bounded search finds: inputs, moment by moment, before they are run exactly."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from latchproof.run.program import Exact


@dataclass(frozen=True, slots=True)
class Stretch:
    """One cycle of `dt` seconds with `inputs`, then (if `wait` is not 0) `wait` seconds with `meanwhile`."""

    dt: Fraction
    inputs: Mapping[str, Exact]
    wait: Fraction
    meanwhile: Mapping[str, Exact]


@dataclass(frozen=True, slots=True)
class Found:
    """`reached` None: not found up to `depth` moments."""

    depth: int
    stretches: tuple[Stretch, ...] | None = None
    parameters: Mapping[str, Fraction] | None = None
    start: Mapping[str, Exact] | None = None
