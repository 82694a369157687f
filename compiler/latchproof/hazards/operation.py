"""TO BE WRITTEN."""

from collections.abc import Callable, Iterator, Mapping

from latchproof.hazards.model import Outcome
from latchproof.hazards.site import Site

CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {}
