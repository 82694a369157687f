"""How much of everything a rule file may hold, so that no file, however hostile, takes long."""

from fractions import Fraction

NAMES = 20_000
"""Statements after every part has been expanded; so also the number of names."""

NESTING = 100
"""How deep brackets, sums and the like may stand in one another."""

CHARACTERS = 4_000_000
"""Length of the statements after every part has been written out."""

WIDTH = 500
"""Clauses, actions, phases or positions of one statement."""

ACTING = 1_000
"""Rules and sequences."""

REQUIRES = 1_000
STAGES = 100

USES_DEEP = 16
"""How deep parts may use parts."""

WRITTEN_OUT = 250
"""Levels of an expression with the values that are written out in it."""

DEGREE = 12
"""How often tunes in steps may be multiplied with one another: each time a number gets that much longer."""

INLINED = 2_000
"""Values written out in what the channels follow."""

MESSAGES = 100
"""Of one file; a pilot mends the first few and looks again."""

SUGGESTIONS = 40
"""Unknown names for which a similar one is looked for."""

DIGITS = 30
LARGEST = Fraction(10**12)

LARGEST_FOLDED = 10**64
"""Numerator and denominator of what a sum or product of fixed numbers comes to."""

STEPS = 16
"""Values of a tune that is tuned in steps: one proof each."""

CHANNEL_NUMBERS = 32
COUNT = 1_000_000
STARTS = 1_000
CYCLES = 1_000_000
