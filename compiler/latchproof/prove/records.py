"""Proof records: what is left of a proof for others to check, with any solver and without this program.

Three texts a claim, each a question that must have no answer, and one list (`proofs.json`) of what they are of and what
they were made from. Checksums tell damage from what was written; they are no signature, and nothing rests on them: who
checks a record makes the texts again from the rules.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import PurePath
from typing import TYPE_CHECKING, assert_never

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import System, cone
from latchproof.machine.model import Fight, Glitch, Machine, Property
from latchproof.prove.smtlib import Asks, three_queries
from latchproof.prove.statement import from_engine
from latchproof.source import Source

if TYPE_CHECKING:
    from latchproof.prove.verdicts import Verdict

FORMAT = "latchproof.proofs/1"
LIST = "proofs.json"

LONGEST_NAME = 80
"""Of a file, before its ending. Longer names of claims are cut."""

_TAKEN = re.compile(r"(?i)con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that some systems do not allow a file to have."""

_ASKED: Mapping[Asks, tuple[str, str]] = {
    "start": ("Can the memory at power-up be such that the statement of the proof is not true?", "it cannot"),
    "step": (
        "Can one cycle lead from a memory of which the statement is true to one of which it is not?",
        "none can",
    ),
    "claim": ("Can it happen in a cycle that begins with the statement true?", "it never can"),
}


@dataclass(frozen=True, slots=True)
class Text:
    """A text that the rules were read from."""

    name: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Origin:
    """What the records of a folder are of."""

    title: str
    version: str | None
    stage: str | None
    texts: tuple[Text, ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """What a proof consists of, beside what the rules say.

    `with_facts` as in `Certificate.facts`, `allowance` (in cycles) as in `Verdict.allowance`.
    """

    claim: str
    with_facts: bool
    statement: tuple[str, ...]
    allowance: int = 0


def subject(machine: Machine, claim: str, allowance: int) -> tuple[Machine, Property]:
    """What a proof speaks of: the machine whose claim of this name allows for so many cycles, and that claim."""
    made: Machine | None = machine
    if allowance:
        made, _ = compile_rules(machine.rules, allowances={claim: allowance})
    assert made is not None, "the rules were compiled before"
    return made, next(p for p in made.properties if p.name == claim)


def origin_of(machine: Machine, sources: Iterable[Source], stage: str | None) -> Origin:
    """`sources`: the rule file and what it includes, in that order. Line breaks count as one kind."""
    texts = tuple(Text(PurePath(s.name).name, checksum(s.text)) for s in sources)
    return Origin(machine.rules.title, machine.rules.version, stage, texts)


def proofs_of(machine: Machine, verdicts: Iterable["Verdict"]) -> tuple[Proof, ...]:
    """The proofs among the verdicts, in the order of the rule file."""
    given = {v.claim: v for v in verdicts}
    found = []
    for name in [p.name for p in machine.properties if p.name in given]:
        certificate, allowance = given[name].certificate, given[name].allowance
        if certificate is not None:
            mine, property_ = subject(machine, name, allowance)
            statement = from_engine(cone(mine, property_, facts=certificate.facts), certificate.invariant)
            found.append(Proof(name, certificate.facts, statement, allowance))
    return tuple(found)


def records(machine: Machine, proofs: Iterable[Proof], origin: Origin, program: str) -> dict[str, str]:
    """The files of a folder of records: name to text."""
    stems = file_stems(machine)
    files: dict[str, str] = {}
    rows: list[dict[str, object]] = []
    for proof in proofs:
        mine, property_ = subject(machine, proof.claim, proof.allowance)
        system = cone(mine, property_, facts=proof.with_facts)
        said = says(machine, property_, proof.allowance)
        texts = questions(machine, property_, said, system, proof.statement)
        files |= {file_name(stems[proof.claim], asks): text for asks, text in texts.items()}
        names = {asks: (file_name(stems[proof.claim], asks), checksum(text)) for asks, text in texts.items()}
        rows.append(row(proof, said, facts_of(system), names))
    return {**files, LIST: listed(origin, program, rows)}


def questions(
    machine: Machine, property_: Property, said: str, system: System, statement: Sequence[str]
) -> dict[Asks, str]:
    """The three texts of a proof of what is `said`."""
    version = "" if machine.rules.version is None else f", version {machine.rules.version}"
    texts: dict[Asks, str] = {}
    for number, query in enumerate(three_queries(system, statement), 1):
        asked, answer = _ASKED[query.asks]
        comments = (
            f"Proof record, question {number} of 3, of the rules {one_line(machine.rules.title)}{one_line(version)}",
            f"{property_.name}: {said}",
            "What never happens: "
            + ("the claim is broken" if property_.kind == "safe" else "what can be, says the claim"),
            *(f"Taken for granted: {one_line(fact)}" for fact in facts_of(system) if query.asks != "start"),
            f"Asked: {asked}",
            f"The good answer is unsat: {answer}.",
        )
        texts[query.asks] = query.script(*comments)
    return texts


def says(machine: Machine, property_: Property, allowance: int = 0) -> str:
    """What is proved, on one line, in the words of the rule file."""
    late = f", with an allowance of {allowance} cycle{'' if allowance == 1 else 's'}" if allowance else ""
    claim = next((c for c in machine.rules.claims if c.name == property_.name), None)
    if claim is not None:
        text = f"{one_line(claim.text)}{late}"
        return f'"{one_line(claim.sentence)}": {text}' if claim.sentence else text
    match property_.unwritten:
        case Fight(channel=channel, one=one, other=other):
            return f"{one} and {other} never drive {channel} to different values in one cycle"
        case Glitch(latch=latch):
            return f"entries that read one another late do not set {latch} by a glitch"
        case None:
            return one_line(property_.name)
        case _:
            assert_never(property_.unwritten)


def facts_of(system: System) -> tuple[str, ...]:
    """The facts of the world that a proof on this system takes for granted, beside the ranges of what can be read."""
    return tuple(dict.fromkeys(c.why for c in system.constraints))


def file_stems(machine: Machine) -> dict[str, str]:
    """What the names of a claim's files begin with: its own name where every system takes that for one, and no other
    claim's differs from it in capitals only."""
    stems: dict[str, str] = {}
    taken: set[str] = set()
    for property_ in machine.properties:
        stem = re.sub(r"[^\w.-]", "_", property_.name).strip(".")[:LONGEST_NAME]
        if not stem or _TAKEN.fullmatch(stem.partition(".")[0]):
            stem = f"{stem}_"
        plain, number = stem, 1
        while stem.casefold() in taken:
            number += 1
            stem = f"{plain}_{number}"
        taken.add(stem.casefold())
        stems[property_.name] = stem
    return stems


def file_name(stem: str, asks: Asks) -> str:
    return f"{stem}.{asks}.smt2"


def row(proof: Proof, said: str, facts: Sequence[str], files: Mapping[Asks, tuple[str, str]]) -> dict[str, object]:
    """A proof's place in the list."""
    return {
        "claim": proof.claim,
        "says": said,
        "allowance": proof.allowance,
        "with_facts": proof.with_facts,
        "facts": list(facts),
        "statement": list(proof.statement),
        "files": {asks: {"name": name, "sha256": digest} for asks, (name, digest) in files.items()},
    }


def listed(origin: Origin, program: str, rows: Sequence[Mapping[str, object]]) -> str:
    """The text of the list. Its last line holds the checksum of all before it."""
    body: dict[str, object] = {
        "format": FORMAT,
        "program": program,
        "rules": {
            "title": origin.title,
            "version": origin.version,
            "stage": origin.stage,
            "texts": [{"name": t.name, "sha256": t.sha256} for t in origin.texts],
        },
        "proofs": list(rows),
    }
    return _json({**body, "sha256": checksum(_json(body))})


def checksum(text: str) -> str:
    return sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _json(data: Mapping[str, object]) -> str:
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps(data, indent=1, ensure_ascii=True) + "\n"


def one_line(text: str) -> str:
    """On one line, without anything that could turn or hide what is read."""
    joined = " ".join(text.split())
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in joined)
