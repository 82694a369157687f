"""Every field of every listing can be read back and says the same again; nonsense is told, with its place."""

from fractions import Fraction

import pytest

from latchproof.listing import build
from latchproof.listing.model import FieldKind
from latchproof.readback import model as m
from latchproof.readback.values import READERS, read, written
from latchproof.rules import RuleSet
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules

CASES = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]


@pytest.mark.parametrize("case", CASES)
def test_round_trip(case: RuleSet) -> None:
    fields = [f for e in build(case).entries for f in e.fields]
    assert len(fields) > 20
    for f in fields:
        value = read(f.value, f.kind, f.choices)
        assert not isinstance(value, m.Problem), (f.label, f.value, value)
        assert written(value) == f.value


def test_only_the_failsafe_has_notes() -> None:
    for case in (load(p) for p in EXAMPLES):
        assert {e.section for e in build(case).entries if any(f.kind == "note" for f in e.fields)} == {"failsafe"}


@pytest.mark.parametrize(
    ("kind", "text", "value"),
    [
        ("state", "entry 7 (armed) false, 2 passes earlier", m.EntryState(7, False, 2)),
        ("state", "flaps switch NOT at landing", m.SwitchAt("flaps switch", "landing", False)),
        ("state", "lever (switch) at up (gear down)", m.SwitchAt("lever (switch)", "up")),
        ("state", "clear button held down, one pass earlier: not so", m.ButtonHeld("clear button", False, 1)),
        ("threshold", "AT LEAST 0.5 m/s", m.Threshold(">=", m.Quantity(Fraction(1, 2), "m/s"))),
        ("time", "3 passes", m.Passes(3)),
        ("ramp", "at most 40 %/s", m.AtMostRate(m.Quantity(Fraction(40), "%/s"))),
        ("calculation", "0.6 times entry 4 (x), one pass earlier - (flap knob - 2 %) divided by 3",
         m.Difference(m.Times(m.Quantity(Fraction(3, 5)), m.EntryValue(4, 1)),
                      m.DividedBy(m.Difference(m.Stick("flap knob"), m.Quantity(Fraction(2), "%")),
                                  m.Quantity(Fraction(3))))),
        ("calculation", "by the mode 2 switch: at a 1 5 %, at b (entry 3, one pass earlier), at c -0.5",
         m.ByPosition("mode 2 switch", (("a 1", m.Quantity(Fraction(5), "%")), ("b", m.EntryValue(3, 1)),
                                        ("c", m.Quantity(Fraction(-1, 2)))))),
    ],
)  # fmt: skip
def test_meaning(kind: FieldKind, text: str, value: m.Value) -> None:
    found = read(text, kind)
    assert found == value
    assert not isinstance(found, m.Problem)
    assert written(found) == text


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize(
    "text", ["", " ", "(" * 900, "entry", "entry 7", "entry 99999999999", "9" * 40, "=1+2", "\x1b[31m", "at at at"]
)
def test_nonsense_is_no_fault(kind: FieldKind, text: str) -> None:
    found = read(text, kind)
    if isinstance(found, m.Problem):
        assert found.message
        assert found.may
    elif kind not in ("fact", "note"):
        assert read(written(found), kind) == found


def test_a_problem_says_where_and_what_may_stand_there() -> None:
    found = read("throttle stick + + 4 %", "calculation")
    assert isinstance(found, m.Problem)
    assert (found.at, "brackets" in found.may or "stick" in found.may) == (17, True)
    found = read("set looses", "choice", ("set wins", "reset wins"))
    assert isinstance(found, m.Problem)
    assert found.may == "`set wins` or `reset wins`"
    assert isinstance(read("x" * 3000, "note"), m.Problem)
