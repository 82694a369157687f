"""Proofs checked again: the three questions made anew from the rules, and each put to a fresh solver.

Nothing here knows an engine or what engines work with: rules, machine, the part of it that matters for a claim, text.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import zip_longest
from typing import Literal

from latchproof.machine.allowance import allowed
from latchproof.machine.cone import System, cone
from latchproof.machine.model import Machine, Property
from latchproof.prove.formulas import NoFormulaError
from latchproof.prove.processes import Failed, Processes
from latchproof.prove.record_file import ASKS, DamagedError, Listed, RecordList, read_list
from latchproof.prove.records import (
    LIST,
    Origin,
    checksum,
    facts_of,
    file_name,
    file_stems,
    questions,
    says,
    subject,
)
from latchproof.prove.smtlib import Asks, three_queries
from latchproof.prove.solvers import Solver, Word, ask, work
from latchproof.prove.statement import from_engine, from_record

LONGEST_TOLD = 200
"""Characters of a text from a record that are told in a message."""


def certificate_holds(system: System, invariant: str) -> bool | None:
    """True when none of the three questions has an answer, False when one has; None when the solver gives up, or when
    the invariant is not one that can be written down."""
    try:
        statement = from_engine(system, invariant)
    except NoFormulaError:
        return None
    answers = [ask("z3", query.script()) for query in three_queries(system, statement)]
    if "sat" in answers:
        return False
    return True if all(a == "unsat" for a in answers) else None


@dataclass(frozen=True, slots=True)
class Compared:
    """A promise of the rules beside its record: either the texts that they agree on, or why they do not.

    `absent`: there is no record of it.
    """

    name: str
    impossible: bool = False
    """The record is of a promise that something can happen, and says that it cannot."""
    scripts: tuple[str, ...] = ()
    refused: str = ""
    absent: bool = False
    facts: tuple[str, ...] = ()
    allowance: int = 0
    """How many cycles late the promise may be, on a device whose entries read late."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """`refused`: why the whole folder is not a record of these rules. `notes`: what is worth knowing and no fault."""

    refused: str = ""
    notes: tuple[str, ...] = ()
    claims: tuple[Compared, ...] = ()


def expected_files(machine: Machine) -> frozenset[str]:
    """The names of all files that a folder of records of this machine may have."""
    stems = file_stems(machine).values()
    return frozenset({LIST, *(file_name(stem, asks) for stem in stems for asks in ASKS)})


def compare(
    machine: Machine, origin: Origin, program: str, files: Mapping[str, bytes], others: Iterable[str] = ()
) -> Comparison:
    """The rules beside a folder of records: what stands in the expected files that are there, and the names of other
    files that look like a record's."""
    if LIST not in files:
        return Comparison(f"it has no {LIST}")
    try:
        found = read_list(files[LIST])
    except DamagedError as error:
        return Comparison(f"{LIST}: {error}")
    if (found.origin.title, found.origin.version) != (origin.title, origin.version):
        return Comparison(f"it is of other rules: {_named(found.origin)}; the rule file is {_named(origin)}")
    if found.origin.stage != origin.stage:
        return Comparison(f"it is of {_staged(found.origin)}, and not of {_staged(origin)}")
    notes = []
    if [t.sha256 for t in found.origin.texts] != [t.sha256 for t in origin.texts]:
        notes.append("the rule file has been changed since; each promise is compared with what the rules come to now")
    if found.program != program:
        notes.append(f"the record was written by {_cut(found.program)}; this is {program}")
    stems = file_stems(machine)
    claims = [_compared(machine, p, stems[p.name], found, files) for p in machine.properties]
    known = {p.name for p in machine.properties}
    claims += [Compared(name, refused="the rules make no such promise") for name in found.proofs if name not in known]
    used = {name for one in found.proofs.values() for name, _ in one.files.values()}
    stray = sorted({*others, *(name for name in files if name not in used and name != LIST)})
    claims += [Compared(name, refused=f"{LIST} does not know this file") for name in stray]
    return Comparison("", tuple(notes), tuple(claims))


def _named(origin: Origin) -> str:
    return f'"{_cut(origin.title)}"' + ("" if origin.version is None else f" version {_cut(origin.version)}")


def _staged(origin: Origin) -> str:
    return "no stage" if origin.stage is None else f"stage {_cut(origin.stage)}"


def _cut(text: str) -> str:
    """What a stranger wrote, at a length that can be read."""
    return text if len(text) <= LONGEST_TOLD else f"{text[:LONGEST_TOLD]} ..."


def _compared(
    machine: Machine, property_: Property, stem: str, found: RecordList, files: Mapping[str, bytes]
) -> Compared:
    listed = found.proofs.get(property_.name)
    impossible = property_.kind == "reach"
    if listed is None:
        return Compared(property_.name, impossible, absent=True, refused="there is no proof record of it")
    late = listed.proof.allowance
    if not 0 <= late <= _greatest_allowance(machine, property_.name):
        return Compared(property_.name, impossible, refused=f"no promise of these rules may be {late} cycles late")
    refused, scripts = _texts(*subject(machine, property_.name, late), stem, listed, files)
    return Compared(property_.name, impossible, scripts, refused, facts=listed.facts, allowance=late)


def _greatest_allowance(machine: Machine, name: str) -> int:
    claim = next((c for c in machine.rules.claims if c.name == name), None)
    return 0 if claim is None else allowed(claim, machine.chain, machine.rules)


def _texts(
    machine: Machine, property_: Property, stem: str, listed: Listed, files: Mapping[str, bytes]
) -> tuple[str, tuple[str, ...]]:
    """Why the record is refused, or the texts that are to be judged."""
    said = says(machine, property_, listed.proof.allowance)
    if listed.says != said:
        return f"the record is of another promise: {_cut(listed.says)}", ()
    system = cone(machine, property_, facts=listed.proof.with_facts)
    if listed.facts != facts_of(system):
        return "the facts that the record takes for granted are not those of the rules", ()
    try:
        statement = from_record(system, "\n".join(listed.proof.statement))
    except NoFormulaError as error:
        return f"what the record states is no formula about this machine: {error}", ()
    if statement != listed.proof.statement:
        return "what the record states is not written as it is by this program", ()
    made = questions(machine, property_, said, system, statement)
    for asks, text in made.items():
        name, digest = listed.files[asks]
        why = _differs(file_name(stem, asks), text, name, digest, files)
        if why:
            return why, ()
    return "", tuple(made.values())


def _differs(name: str, text: str, listed: str, digest: str, files: Mapping[str, bytes]) -> str:
    """Why a file is not the text that the rules come to; empty when it is."""
    if listed != name:
        return f"{LIST} names the file {_cut(listed)}, not {name}"
    if name not in files:
        return f"{name} is missing"
    data = text.encode("utf-8")
    if files[name] == data:
        return "" if digest == checksum(text) else f"{LIST} has another checksum of {name}"
    pairs = zip_longest(files[name].split(b"\n"), data.split(b"\n"))
    line = next(k for k, (a, b) in enumerate(pairs, 1) if a != b)
    return f"{name}, line {line}, is not what the rules come to"


# ---------- the solvers' answers

Result = Literal["holds", "fails", "refused", "absent", "not decided"]

Time = Literal["goes on", "open", "too late", "not asked"]
"""Whether the facts of a record leave the world a next moment: `open` where that was not shown, `too late` where the
seconds were not enough."""


@dataclass(frozen=True, slots=True)
class Opinion:
    """What the check of one record comes to. `answers` of each solver, one for each question, or why there is none.

    `time`: what is known of the facts by themselves.
    """

    compared: Compared
    answers: Mapping[Solver, tuple[Word, ...] | Failed]
    time: Time = "not asked"

    @property
    def result(self) -> Result:
        if self.compared.refused:
            return "absent" if self.compared.absent else "refused"
        given = [a for a in self.answers.values() if not isinstance(a, Failed)]
        if any("sat" in a for a in given):
            return "fails"
        agreed = self.answers and len(given) == len(self.answers) and all(set(a) == {"unsat"} for a in given)
        agreed = agreed and all(len(a) == len(ASKS) for a in given) and self.time not in ("open", "too late")
        return "holds" if agreed else "not decided"

    def answered(self, word: Word) -> tuple[tuple[Solver, Asks], ...]:
        """Which solver said that of which question."""
        return tuple(
            (solver, asks)
            for solver, given in self.answers.items()
            if not isinstance(given, Failed)
            for asks, said in zip(ASKS, given, strict=False)
            if said == word
        )


Task = tuple[Solver, tuple[str, ...]]
Ask = Callable[[Task, float], tuple[Word, ...] | Failed]


class Solvers(Processes[Task, tuple[Word, ...]]):
    """One process for each solver and record."""

    def __init__(self, solvers: Sequence[Solver]) -> None:
        super().__init__(work, ["latchproof.prove.solvers", *solvers])


def opinions(
    comparison: Comparison, solvers: Sequence[Solver], ask: Ask, *, seconds: float, at_once: int
) -> Iterator[Opinion]:
    """In the order of the comparison; `seconds` for each solver and record."""
    with ThreadPoolExecutor(max_workers=at_once) as threads:
        asked = [
            (c, {s: threads.submit(ask, (s, c.scripts), seconds) for s in solvers} if not c.refused else {})
            for c in comparison.claims
        ]
        try:
            for compared, given in asked:
                yield Opinion(compared, {solver: future.result() for solver, future in given.items()})
        finally:
            for _, given in asked:
                for future in given.values():
                    future.cancel()
