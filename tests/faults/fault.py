"""What a planted fault is."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tests.faults.checks import Check

Make = Callable[[Any], Any]


@dataclass(frozen=True)
class Fault:
    """`place.what` becomes `make` of what it was. `also`: other modules that have it under the same name."""

    name: str
    place: object
    what: str
    make: Make
    caught_by: Check
    also: tuple[object, ...] = ()
