"""Every hazard with the function that looks for it; the function's docstring is what a pilot reads about it."""

import inspect
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


def page(number: str) -> tuple[str, ...]:
    """The paragraphs that a pilot reads about a hazard: what happens, what is looked for, what to do about it."""
    text = inspect.cleandoc(CHECKS[number].__doc__ or "") if number in CHECKS else ""
    return tuple(" ".join(paragraph.split()) for paragraph in text.split("\n\n") if paragraph.strip())
