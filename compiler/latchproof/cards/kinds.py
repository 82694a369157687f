"""Which cards there are; alone, because a command line that only offers them is to start at once."""

from typing import Literal

Kind = Literal["before-flight", "failsafe", "first-flight", "officer", "voids"]
KINDS: tuple[Kind, ...] = ("before-flight", "failsafe", "first-flight", "officer", "voids")
"""In the order in which they are printed."""
