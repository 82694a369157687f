"""From rules to rules that stand in a given transmitter: numbers on its steps, only entries that it has."""

from latchproof.fit.model import Change, Fitted, Misfit, Rounding

__all__ = ["Change", "Fitted", "Misfit", "Rounding"]
