"""Sentences that a pilot understands, for everything that can be said."""

import re
from fractions import Fraction
from typing import get_args

import pytest

from latchproof.fit import words
from latchproof.fit.fit import fit
from latchproof.fit.model import Change, ChangeKind, Misfit, MisfitKind, Reason, Rounding
from latchproof.rules.units import UNITS
from latchproof.transmitter.generic import NAMES, generic
from tests.fit.test_exact import EXAMPLES, example

M, FT = UNITS["m"], UNITS["ft"]
FORBIDDEN = re.compile(
    r"\b(invariant|induction|cone|oracle|lowering|raising|certificate|vacuous|witness|refuted|mutant|None|Fraction)\b"
)


@pytest.mark.parametrize("kind", get_args(ChangeKind))
def test_changes(kind: ChangeKind) -> None:
    said = words.change(Change(kind, "floor", 3))
    assert said.startswith("floor: ")
    assert len(said) > 20
    assert words.change(Change(kind, "floor", 3), "last cycle") != said
    assert words.change(Change(kind, "floor", 3, late=False), "last cycle") == said


@pytest.mark.parametrize("kind", get_args(MisfitKind))
def test_misfits(kind: MisfitKind) -> None:
    three = tuple((name, Fraction(5), M) for name in ("wanted", "from", "to"))
    said = words.misfit(Misfit(kind, "floor", "x", "y", three, three[:1], ("do this",)))
    assert "floor" in said
    assert said.endswith("What would help: do this")
    assert not FORBIDDEN.search(said)


@pytest.mark.parametrize("reason", get_args(Reason))
def test_reasons(reason: Reason) -> None:
    x = Rounding("floor", Fraction(42), 140 * FT.factor, Fraction(43), FT, M, M, "up", reason)
    said = words.rounding(x)
    way = "the middle" if reason == "middle of a fact" else "rounded up "
    assert said.startswith(f"floor: 42 m becomes 140 ft, and the transmitter then works with 43 m; {way}")


def test_examples() -> None:
    for path in EXAMPLES:
        for name in NAMES:
            t = generic(name)
            fitted = fit(example(path), t)
            lines = [words.rounding(r) for r in fitted.roundings] + [words.misfit(m) for m in fitted.misfits]
            lines += [words.change(c, t.reads) for c in fitted.changes]
            for line in lines:
                assert not FORBIDDEN.search(line.replace("extend.lowering", "a phase")), line
                assert "is in position" not in line, line
                assert len(line) < 400
