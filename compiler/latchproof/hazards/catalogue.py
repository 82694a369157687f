"""Every hazard with the function that looks for it; the function's docstring is what a pilot reads about it."""

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from latchproof.hazards import arming, handling, operation, overrides, release, surroundings, telemetry
from latchproof.hazards.model import Outcome
from latchproof.hazards.site import Site

Ask = Callable[[Site], Iterator[Outcome]]

CHECKS: Mapping[str, Ask] = MappingProxyType(
    dict(
        sorted(
            {
                **arming.CHECKS,
                **telemetry.CHECKS,
                **release.CHECKS,
                **overrides.CHECKS,
                **operation.CHECKS,
                **surroundings.CHECKS,
                **handling.CHECKS,
            }.items()
        )
    )
)
"""By number, in the order of the numbers."""
