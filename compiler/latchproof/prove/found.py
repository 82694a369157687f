"""What engines find: inputs, moment by moment, before they are run exactly; an invariant, before it is checked; where a
proof sticks."""

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


@dataclass(frozen=True, slots=True)
class Answer:
    """`invariant` (over the system's state and tunes) when the goal cannot be reached; else `reached` or neither."""

    invariant: str | None = None
    reached: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Stuck:
    """`state`: memory before the cycle of the breach, by name; `inputs` and `dt`: what comes then. `good` is how many
    cycles before it were without a breach."""

    state: Mapping[str, Exact]
    inputs: Mapping[str, Exact]
    dt: Fraction
    parameters: Mapping[str, Fraction]
    good: int
