"""Every hazard with the function that looks for it; the function's docstring is what a pilot reads about it."""

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from latchproof.hazards import arming, operation, overrides, release, telemetry
from latchproof.hazards.model import Outcome
from latchproof.hazards.site import Site

Ask = Callable[[Site], Iterator[Outcome]]

CHECKS: Mapping[str, Ask] = MappingProxyType(
    {**arming.CHECKS, **telemetry.CHECKS, **release.CHECKS, **overrides.CHECKS, **operation.CHECKS}
)
"""By number, in the order of the numbers."""
