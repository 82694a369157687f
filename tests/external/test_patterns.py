"""Every pattern of the table is a claim that means its formula, is proved where it holds and refuted where not.

Sources: beside the table in patterns.py (Dwyer, Avrunin, Corbett 1999; Konrad, Cheng 2005).
"""

import random
from itertools import product

import pytest

from tests.external.ltl import broken, fulfilled, parse
from tests.external.patterns import FREE, NOT_EXPRESSIBLE, ROWS, SCOPES, Row, promising_nothing, rules
from tests.external.tool import Prover, broken_at, run

NUMBERED = [pytest.param(number, row, id=row.id) for number, row in enumerate(ROWS)]
BUTTONS = {"P": "a", "Q": "q_in", "R": "r_in", "S": "b", "T": "c"}


def test_the_table_is_whole() -> None:
    """Each of the five patterns of one or two letters in each of the five scopes, as a claim or as not expressible."""
    ids = {f"{row.pattern.partition(',')[0]}, {row.scope}" for row in ROWS}
    for pattern in ("absence", "universality", "existence", "bounded existence", "precedence", "response"):
        assert {f"{pattern}, {scope}" for scope in SCOPES} <= ids
    assert len({row.id for row in ROWS}) == len(ROWS)


# ---------- each claim means its formula


def random_runs(count: int, cycles: int) -> list[list[dict[str, bool]]]:
    """Letters change more or less often from run to run, so that long stretches come too."""
    choose = random.Random(411420)
    runs = []
    for _ in range(count):
        often = {letter: choose.choice([0.1, 0.4, 0.5, 0.7, 1.0]) for letter in BUTTONS}
        runs.append([{letter: choose.random() < often[letter] for letter in BUTTONS} for _ in range(cycles)])
    return runs


def test_claims_mean_their_formulas() -> None:
    """On random runs a claim is seen broken exactly where the formula is beyond rescue."""
    text = promising_nothing()
    seen: dict[str, set[bool]] = {row.id: set() for row in ROWS}
    for states in random_runs(200, 11):
        records = run(text, [{BUTTONS[letter]: on for letter, on in state.items()} for state in states])
        found = broken_at(text, records)
        for number, row in enumerate(ROWS):
            read = states[: len(states) - row.waits]
            wanted = broken(row.formula, read) if row.kind == "safe" else fulfilled(row.formula, read)
            got = any(found[name] is not None for name in row.names(number))
            assert got == wanted, (row.id, states)
            seen[row.id].add(got)
    assert [name for name, both in seen.items() if both != {True, False}] == []


def test_the_two_forms_of_precedence_differ_in_one_step() -> None:
    """S and P become true in the same step: the newer page allows it, the older forbids it."""
    together = [{"P": False, "S": False}, {"P": True, "S": True}]
    newer, older = (next(r for r in ROWS if r.pattern == name) for name in ("precedence", "precedence, older page"))
    assert not broken(newer.formula, together)
    assert broken(older.formula, together)
    text = rules({}, {0: newer, 1: older})
    found = broken_at(text, run(text, [{"a": s["P"], "b": s["S"]} for s in together]))
    assert found == {"row0_0": None, "row1_0": 1}


# ---------- proved where it holds, refuted where it does not


def keeping(number: int, row: Row) -> str:
    return rules(row.keep, {number: row}, row.keep_helper)


@pytest.mark.parametrize(("number", "row"), NUMBERED)
def test_satisfying_rules(prover: Prover, number: int, row: Row) -> None:
    prover.prove_ahead([keeping(*numbered) for numbered in enumerate(ROWS)])
    assert prover.answers(keeping(number, row)) == dict.fromkeys(row.names(number), "proved")


@pytest.mark.parametrize(("number", "row"), [p for p in NUMBERED if ROWS[p.values[0]].kind == "safe"])
def test_violating_rules(prover: Prover, number: int, row: Row) -> None:
    """Nothing is promised: each claim is refuted, and the formula is beyond rescue on the run that is told."""
    safe = [name for n, r in enumerate(ROWS) if r.kind == "safe" for name in r.names(n)]
    verdicts = prover.verdicts(promising_nothing(), safe)
    for verdict in (verdicts[name] for name in row.names(number)):
        assert verdict.answer == "refuted"
        assert verdict.trace is not None
        rest = dict.fromkeys(BUTTONS.values(), False)
        inputs = [{**rest, **w.inputs} for w in verdict.trace.world]
        states = [{letter: bool(cycle[button]) for letter, button in BUTTONS.items()} for cycle in inputs]
        assert broken(row.formula, states[: len(states) - row.waits])


def test_what_cannot_happen_is_refuted(prover: Prover) -> None:
    row = next(r for r in ROWS if r.kind == "reach")
    text = rules({"p": "a is pressed and not t_seen"}, {0: row}, "latch t_seen { set when t }\n")
    assert prover.answers(text) == {"row0_0": "refuted"}


# ---------- what is no claim


@pytest.mark.parametrize("name", NOT_EXPRESSIBLE)
def test_no_finite_run_breaks_it(name: str) -> None:
    """The reason why it is no claim. Its letters take all values in all runs of up to four cycles."""
    formula = NOT_EXPRESSIBLE[name]
    letters = [letter for letter in FREE_LETTERS if letter in formula]
    for cycles in range(1, 5 if len(letters) < 3 else 4):
        for values in product(product([False, True], repeat=len(letters)), repeat=cycles):
            assert not broken(formula, [dict(zip(letters, v, strict=True)) for v in values])


FREE_LETTERS = tuple(name.upper() for name in FREE)


# ---------- the reader of formulas itself


@pytest.mark.parametrize(
    ("formula", "states", "is_broken", "is_fulfilled"),
    [
        ("[]P", "P P", False, False),
        ("[]P", "P -", True, False),
        ("<>P", "- -", False, False),
        ("<>P", "- P", False, True),
        ("P U S", "P P S", False, True),
        ("P U S", "P -", True, False),
        ("P W S", "P P", False, False),
        ("!P W S", "- PS", False, True),
        ("oP", "-", False, False),
        ("oP", "- P", False, True),
        ("o!P", "- P", True, False),
        ("P & S | T -> S", "T", True, False),
        ("P & S | T -> S", "P", False, True),
        ("<>R -> (!P U R)", "P - R", True, False),
        ("<>R -> (!P U R)", "P -", False, False),
    ],
)
def test_formulas_on_finite_runs(formula: str, states: str, is_broken: bool, is_fulfilled: bool) -> None:
    read = [{letter: letter in state for letter in "PQRST"} for state in states.split()]
    assert broken(formula, read) is is_broken
    assert fulfilled(formula, read) is is_fulfilled


def test_until_binds_more_than_and() -> None:
    assert parse("P & Q U R") == parse("P & (Q U R)")
    assert parse("P -> Q U R") == parse("P -> (Q U R)")
    assert parse("P | Q & R") == parse("P | (Q & R)")
