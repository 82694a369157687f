"""What the exit code of the command says."""

from collections.abc import Iterable

FINE = 0
"""No error, or all claims proved."""

FAULT = 1
"""An error in the rules, or a claim that fails."""

MISUSE = 2
"""A wrong option, a file that cannot be read or written, or an internal error."""

UNDECIDED = 3
"""A claim that could be neither proved nor shown to fail."""

INTERRUPTED = 130
"""Stopped by the keyboard, as shells count it (128 + the signal)."""

NO_READER = 141
"""Whoever read the output has gone, as shells count it."""

_GRAVITY = (FINE, UNDECIDED, FAULT, MISUSE)


def worst(codes: Iterable[int]) -> int:
    """The code of a run over several files."""
    return max(codes, key=_GRAVITY.index, default=FINE)
