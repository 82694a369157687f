"""For each slip that a hand can make while copying a form as it would then be filled in: the difference is named, and
what it comes to is right."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.machine.model import Machine
from latchproof.prove.prover import prove_each
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.readback.audit import Audit, Dangerous, Ground, NoMachine, NotDecided, audit, judge
from latchproof.readback.differences import Difference, differences, label_of, longest_rising
from latchproof.readback.differences_made import made
from latchproof.readback.form import Form, form
from latchproof.readback.model import Problem
from latchproof.readback.raised import raised
from latchproof.rules import RuleSet
from latchproof.rules.model import RuleSet as Rules
from latchproof.show.audit import NOT_SEEN, as_listed, difference, verdict
from latchproof.show.listing_text import render
from latchproof.source import Source
from tests.readback.forms import (
    ENTERED,
    RULES,
    Change,
    adding,
    entering,
    guard,
    leaving_out,
    moving,
    read,
    table,
    text,
    ticked,
)  # fmt: skip

GUARD, LISTING = guard()
SECONDS = 20


@dataclass(frozen=True)
class Slip:
    """`kinds`: what the differences are, each with entry and field. `verdict` of all together; `fails`: the promise."""

    file: str
    change: Change
    found: tuple[tuple[str, int, str], ...]
    verdict: str
    fails: str = ""


HIDING = "two_that_hide_each_other"
OLD_LINE = [
    (99, "kind", "replaces the value"), (99, "acts on", "channel 1"), (99, "acts while", "guard switch at on"),
    (99, "begins", "at once"), (99, "value", "60 %"), (99, "the value grows", "at once"),
    (99, "the value falls", "at once"), (99, "hand back", "at once"), (99, "wins over", "8"),
    (99, "gives way to", "none"),
]  # fmt: skip

SLIPS = [
    Slip("C1_the_motor_stop_left_out", entering({(8, "kind"): "missing"}), (("NoEntry", 8, ""),), "dangerous",
         "motor stop stops the motor"),
    Slip("C2_an_old_line_left_in", adding(8, OLD_LINE), (("MoreEntry", 99, ""),), "dangerous",
         "motor stop stops the motor"),
    Slip("C3_the_motor_stop_above_the_climb", moving(8, 7), (("Moved", 8, ""),), "dangerous",
         "motor stop stops the motor"),
    Slip("C4_above_instead_of_below", entering({(1, "is"): "ABOVE 30 m"}), (("OtherValue", 1, "is"),), "dangerous",
         "it comes in when I was low for 2 s, and never else"),
    Slip("C5_sixty_instead_of_six", entering({(5, "true when on for"): "60 s"}),
         (("OtherValue", 5, "true when on for"),), "dangerous", "it never holds me for longer than 6.1 s"),
    Slip("C6_feet_instead_of_metres", entering({(1, "is"): "BELOW 30 ft"}), (("OtherValue", 1, "is"),), "holds"),
    Slip("C7_plus_instead_of_minus", entering({(9, "value"): "5 %"}), (("OtherValue", 9, "value"),), "dangerous",
         "it pushes the elevator, and never pulls"),
    Slip("C8_the_other_stick", entering({(2, "compare"): "pitch stick"}), (("OtherValue", 2, "compare"),), "holds"),
    Slip("C9_the_entry_below", entering({(3, "input 1"): "entry 2 true"}), (("OtherValue", 3, "input 1"),),
         "dangerous", "it can come in"),
    Slip("C10_set_and_reset_exchanged",
         entering({(6, "set when"): "entry 2 true", (6, "reset when"): "entry 4 true"}),
         (("OtherValue", 6, "set when"), ("OtherValue", 6, "reset when")), "dangerous",
         "it comes in when I was low for 2 s, and never else"),
    Slip("C11_the_switch_left_out", entering({(6, "or reset when"): "missing"}),
         (("NoField", 6, "or reset when"),), "dangerous", "off means off"),
    Slip("C12_or_instead_of_and", entering({(3, "kind"): "ANY of these (or)"}), (("OtherKind", 3, "kind"),),
         "dangerous", "it comes in when I was low for 2 s, and never else"),
    Slip("C13_set_wins", entering({(6, "both at once"): "set wins"}), (("OtherValue", 6, "both at once"),), "holds"),
    Slip("C14_a_tenth_of_the_time", entering({(4, "true after"): "0,2 s"}), (("OtherValue", 4, "true after"),),
         "dangerous", "it comes in when I was low for 2 s, and never else"),
    Slip("C15_the_motor_stop_on_the_elevator",
         entering({(8, "acts on"): "channel 3", (11, "then replaced by"): "entry 7",
                   (12, "then replaced by"): "9, 8", (7, "gives way to"): "none", (9, "gives way to"): "8",
                   (8, "wins over"): "9"}),
         (("OtherValue", 7, "gives way to"), ("OtherValue", 8, "acts on"), ("OtherValue", 8, "wins over"),
          ("OtherValue", 9, "gives way to"), ("OtherValue", 11, "then replaced by"),
          ("OtherValue", 12, "then replaced by")), "dangerous", "motor stop stops the motor"),
    Slip("C16_a_delay_as_it_was_found", entering({(8, "begins"): "after 1 s"}), (("OtherValue", 8, "begins"),),
         "dangerous", "motor stop stops the motor"),
    Slip("shows_nothing", entering({(3, "input 2"): "guard switch NOT at off"}), (("OtherValue", 3, "input 2"),),
         "harmless"),
    Slip(HIDING, entering({(1, "is"): "AT LEAST 30 m", (3, "input 1"): "entry 1 false"}),
         (("OtherValue", 1, "is"), ("OtherValue", 3, "input 1")), "harmless"),
]  # fmt: skip


ORDINARY = ("C1_the_motor_stop_left_out", "C6_feet_instead_of_metres", "shows_nothing", HIDING)
"""Of each verdict one is proved in every run; all others in a longer one. Their differences are named in every run."""

JUDGED = [s if s.file in ORDINARY else pytest.param(s, marks=pytest.mark.long) for s in SLIPS]


@pytest.fixture(scope="module")
def hints(workers: Workers) -> object:
    """What is proved of the listing itself, tried first on each of the others."""
    return {v.claim: v.keepsake for _, v in Prover(workers)((_machine(),)) if v.keepsake is not None}


class Prover:
    def __init__(self, workers: Workers, hints: object = None) -> None:
        self.workers, self.hints, self.asked = workers, hints, 0

    def __call__(self, machines: Sequence[Machine]) -> Iterator[tuple[int, Verdict]]:
        from latchproof.prove.memory import FORGETFUL, Hinted

        self.asked += sum(len(m.properties) for m in machines)
        memory = Hinted(FORGETFUL, self.hints) if self.hints else FORGETFUL  # type: ignore[arg-type]
        yield from prove_each(machines, self.workers, time_limit=SECONDS, at_once=2, memory=memory)


def _machine() -> Machine:
    from latchproof.pipeline import machine

    back = raised(LISTING.entries, GUARD)
    assert isinstance(back, Rules)
    return machine(back)


def ground(workers: Workers, hints: object, *, hazards: bool = False) -> Ground:
    sources = {"guard.latch": Source("guard.latch", RULES.read_text(encoding="utf-8"))}
    return Ground(LISTING, GUARD, sources, workers, Prover(workers, hints), None, SECONDS, hazards)


def judged(found: Sequence[Difference], on: Ground) -> Audit:
    *_, whole = audit(on, found)
    assert isinstance(whole, Audit)
    return whole


def named(found: Sequence[Difference]) -> tuple[tuple[str, int, str], ...]:
    return tuple((type(d).__name__, d.entry, label_of(d)) for d in found)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.file)
def test_the_files_are_those_of_the_listing(slip: Slip, pytestconfig: pytest.Config) -> None:
    path = ENTERED / f"{slip.file}.csv"
    rows = text(slip.change(table(LISTING)))
    if pytestconfig.getoption("--update-goldens"):
        path.write_text(rows, encoding="utf-8")
    assert path.read_text(encoding="utf-8") == rows


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.file)
def test_each_slip_is_named(slip: Slip) -> None:
    filled = read((ENTERED / f"{slip.file}.csv").read_bytes(), LISTING)
    found = differences(filled, LISTING)
    assert named(found) == slip.found
    assert not filled.unread
    assert not made(LISTING.entries, found).against


def test_every_verdict_is_proved_in_every_run() -> None:
    assert {s.verdict for s in SLIPS if s.file in ORDINARY} == {s.verdict for s in SLIPS}


@pytest.mark.parametrize("slip", JUDGED, ids=lambda s: s.file)
def test_each_slip_is_judged(slip: Slip, workers: Workers, hints: object) -> None:
    found = differences(read((ENTERED / f"{slip.file}.csv").read_bytes(), LISTING), LISTING)
    on, stands = ground(workers, hints), made(LISTING.entries, found)
    if slip.file != HIDING and len(found) > 1:
        outcome: object = judge(on, stands)
    else:
        whole = judged(found, on)
        outcome = whole.together
        assert whole.masked == (slip.file == HIDING)
        alone = "dangerous" if whole.masked else slip.verdict
        assert [verdict(j.outcome) for j in whole.each] == [alone] * len(found)
    assert verdict(outcome) == slip.verdict, outcome  # type: ignore[arg-type]
    if slip.verdict == "dangerous":
        assert isinstance(outcome, Dangerous)
        assert slip.fails in [f.said for f in outcome.failing]
        # Only that something can never happen has no flight to show.
        assert all(f.verdict is not None and (f.verdict.trace or f.said == "it can come in") for f in outcome.failing)


def test_there_is_a_file_for_each_code() -> None:
    """C17, C18 and C20 cannot be seen in a form; C19 is what refuses one."""
    codes = {p.name.partition("_")[0] for p in ENTERED.glob("C*.csv")}
    assert codes == {f"C{n}" for n in range(1, 17)}
    said = " ".join(NOT_SEEN)
    for what, check in (("wrong model memory", "bench test in each"), ("not kept", "off and on"), ("A tick", "second")):
        assert what in said
        assert check in said
    assert {p.stem for p in ENTERED.glob("*.csv")} == {s.file for s in SLIPS}


def test_c19_a_row_skipped_or_another_sheet() -> None:
    assert named(differences(read(text(leaving_out(4)(table(LISTING))), LISTING), LISTING)) == (("NoEntry", 4, ""),)
    for data in (text(leaving_out(4, "true after")(table(LISTING))), text(table(LISTING)[:40])):
        assert isinstance(form(data.encode(), LISTING), tuple)


@pytest.mark.parametrize("rows", [table(LISTING), ticked(table(LISTING))], ids=["untouched", "ticked"])
def test_what_is_as_listed_passes(rows: list[list[str]], workers: Workers) -> None:
    on = ground(workers, None)
    whole = judged(differences(read(text(rows), LISTING), LISTING), on)
    assert (whole.each, whole.together, whole.against) == ((), None, ())
    assert isinstance(on.prover, Prover)
    assert on.prover.asked == 0


def test_the_text_can_be_filled_in_too(workers: Workers, hints: object) -> None:
    written = render(LISTING).replace("[ ]", "[x]").replace("true when on for   6 s", "true when on for   60 s")
    found = differences(read(written, LISTING), LISTING)
    assert named(found) == (("OtherValue", 5, "true when on for"),)


def test_a_hazard_is_found_where_no_promise_speaks(workers: Workers) -> None:
    """Without its promises the guard's motor stop still has to stop the motor."""
    from dataclasses import replace

    sources = {"guard.latch": Source("guard.latch", RULES.read_text(encoding="utf-8"))}
    bare = Ground(LISTING, replace(GUARD, claims=()), sources, workers, Prover(workers), None, SECONDS)
    found = differences(read((ENTERED / "C1_the_motor_stop_left_out.csv").read_bytes(), LISTING), LISTING)
    whole = judged(found, bare)
    assert isinstance(whole.together, Dangerous)
    assert all(f.hazard for f in whole.together.failing)


def test_what_is_no_part_of_the_proofs_is_not_judged(workers: Workers) -> None:
    """The receiver's failsafe, and facts: told, and never called harmless."""
    cells = {(14, "channel 1"): "motor: as before", (13, "a reading every"): "0.9 s at the latest"}
    found = differences(read(text(entering(cells)(table(LISTING))), LISTING), LISTING)
    whole = judged(found, ground(workers, None))
    assert [type(j.outcome) for j in whole.each] == [NotDecided, NotDecided]
    assert isinstance(whole.together, NotDecided)


@pytest.mark.parametrize("answer", ["unknown", "proved", "refuted"])
def test_every_answer_counts(answer: str, workers: Workers) -> None:
    """Not decided is told, also where the listing is not decided either; what fails as listed too is not held against
    the difference."""

    def prover(machines: Sequence[Machine]) -> Iterator[tuple[int, Verdict]]:
        for i, m in enumerate(machines):
            for p in m.properties:
                yield i, Verdict(p.name, answer, "none", 0.0)  # type: ignore[arg-type]

    on = Ground(LISTING, GUARD, {}, workers, prover, None, SECONDS, False)
    found = differences(read(text(entering({(9, "value"): "5 %"})(table(LISTING))), LISTING), LISTING)
    whole = judged(found, on)
    words = {"unknown": "not decided", "proved": "holds", "refuted": "breaks no other"}
    assert verdict(whole.together) == words[answer]
    kept, told = on.as_listed, as_listed(on.as_listed)
    assert (len(kept.fails), len(kept.open)) == (
        kept.promises * (answer == "refuted"), kept.promises * (answer == "unknown")
    )  # fmt: skip
    assert bool(told) == (answer != "proved")


def test_a_promise_that_is_not_decided_as_listed_is_not_said_to_be_kept(workers: Workers) -> None:
    """What fails is told by what it is in the listing."""
    for listed, said in (("proved", "kept"), ("unknown", "not decided")):
        answers = iter((listed, "refuted"))

        def prover(machines: Sequence[Machine], answers: Iterator[str] = answers) -> Iterator[tuple[int, Verdict]]:
            answer = next(answers)
            for i, m in enumerate(machines):
                for p in m.properties:
                    yield i, Verdict(p.name, answer, "none", 0.0)  # type: ignore[arg-type]

        on = Ground(LISTING, GUARD, {}, workers, prover, None, SECONDS, False)
        assert on.as_listed.promises
        found = differences(read(text(entering({(9, "value"): "5 %"})(table(LISTING))), LISTING), LISTING)
        outcome = judged(found, on).together
        assert isinstance(outcome, Dangerous)
        assert {f.before for f in outcome.failing} == {said}


def test_what_makes_no_sense_is_told(workers: Workers) -> None:
    found = differences(read(text(entering({(3, "input 1"): "entry 99 true"})(table(LISTING))), LISTING), LISTING)
    whole = judged(found, ground(workers, None))
    assert isinstance(whole.together, NoMachine)
    assert whole.together.problems[0].entry == 3


def test_one_setting_read_in_two_ways_is_told() -> None:
    found = differences(read(text(entering({(7, "gives way to"): "none"})(table(LISTING))), LISTING), LISTING)
    stands = made(LISTING.entries, found)
    assert stands.entries == LISTING.entries
    assert [(d.entry, other) for d, other in stands.against] == [(7, "entry 8")]


@given(st.permutations(list(range(1, 15))))
@settings(max_examples=30, deadline=None)
def test_any_order_is_made_as_it_stands(order: list[int]) -> None:
    """Whatever is moved, the entries come out in the order of the form."""
    rows = ticked(table(LISTING))
    first = next(i for i, r in enumerate(rows) if r[0] == "1")
    shuffled = [*rows[:first], *(r for n in order for r in rows if r[0] == str(n)), rows[-1]]
    found = differences(read(text(shuffled), LISTING), LISTING)
    assert len(found) == len(order) - len(longest_rising(order))
    assert [x.number for x in made(LISTING.entries, found).entries] == order


FIELDS = [(x.number, label) for x in LISTING.entries for label in ("kind", *(f.label for f in x.fields))]
VALUES = sorted({f.value for x in LISTING.entries for f in x.fields} | {x.kind for x in LISTING.entries} | {"missing"})


@given(st.dictionaries(st.sampled_from(FIELDS), st.sampled_from(VALUES), min_size=1, max_size=4))
@settings(max_examples=120, deadline=None)
def test_whatever_stands_there_is_no_fault(cells: dict[tuple[int, str], str]) -> None:
    filled = form(text(entering(cells)(table(LISTING))).encode(), LISTING)
    if isinstance(filled, tuple):
        return
    assert isinstance(filled, Form)
    found = differences(filled, LISTING)
    for some in ((), found, *((d,) for d in found)):
        stands = made(LISTING.entries, some)
        back = raised(stands.entries, GUARD, None, lost=stands.lost)
        assert isinstance(back, RuleSet) or all(isinstance(p, Problem) for p in back)
    for d in found:
        assert all(difference(d, {x.number: x for x in LISTING.entries}))
