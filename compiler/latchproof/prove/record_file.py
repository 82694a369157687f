"""The list of a folder of proof records, read back. It comes from strangers, and is taken as it was written or not at
all."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import cast

from latchproof.prove.records import FORMAT, Origin, Proof, Text, listed, row
from latchproof.prove.smtlib import Asks

LONGEST = 32_000_000
"""Bytes; the largest list of the examples has some ten thousand."""

ASKS: tuple[Asks, ...] = ("start", "step", "claim")


@dataclass(frozen=True, slots=True)
class Listed:
    """A proof with what the list says about it: `files` are names and checksums of the three texts."""

    proof: Proof
    says: str
    facts: tuple[str, ...]
    files: Mapping[Asks, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class RecordList:
    origin: Origin
    program: str
    proofs: Mapping[str, Listed]


class DamagedError(ValueError):
    """The list is not one that was written by this program; the message says what is wrong."""


def read_list(data: bytes) -> RecordList:
    """Raises DamagedError."""
    if len(data) > LONGEST:
        raise DamagedError("it is too long")
    try:
        found: object = json.loads(data.decode("utf-8"), object_pairs_hook=_pairs)
    except DamagedError:
        raise
    except (ValueError, RecursionError):
        raise DamagedError("it is not a list of proofs") from None
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise DamagedError(f"it is not of the format {FORMAT}")
    read = _list(found)
    rows = [row(x.proof, x.says, x.facts, x.files) for x in read.proofs.values()]
    if listed(read.origin, read.program, rows).encode() != data:
        raise DamagedError("it has been changed since it was written: its checksum is another")
    return read


def _pairs(pairs: list[tuple[str, object]]) -> dict[str, object]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise DamagedError("it says something twice")
    return made


def _list(data: dict[str, object]) -> RecordList:
    rules = _object(data.get("rules"))
    texts = tuple(Text(_text(t.get("name")), _text(t.get("sha256"))) for t in map(_object, _array(rules.get("texts"))))
    origin = Origin(_text(rules.get("title")), _maybe(rules.get("version")), _maybe(rules.get("stage")), texts)
    proofs: dict[str, Listed] = {}
    for entry in map(_object, _array(data.get("proofs"))):
        one = _proof(entry)
        if one.proof.claim in proofs:
            raise DamagedError("it has two proofs of one claim")
        proofs[one.proof.claim] = one
    return RecordList(origin, _text(data.get("program")), proofs)


def _proof(data: dict[str, object]) -> Listed:
    with_facts, allowance = data.get("with_facts"), data.get("allowance")
    if not isinstance(with_facts, bool) or not isinstance(allowance, int) or isinstance(allowance, bool):
        raise DamagedError(_SHAPE)
    files = _object(data.get("files"))
    named: dict[Asks, tuple[str, str]] = {}
    for asks in ASKS:
        file = _object(files.get(asks))
        named[asks] = (_text(file.get("name")), _text(file.get("sha256")))
    statement = tuple(_text(line) for line in _array(data.get("statement")))
    facts = tuple(_text(fact) for fact in _array(data.get("facts")))
    proof = Proof(_text(data.get("claim")), with_facts, statement, allowance)
    return Listed(proof, _text(data.get("says")), facts, named)


_SHAPE = "it is not a list of proofs"


def _object(value: object) -> dict[str, object]:
    if not isinstance(value, dict):
        raise DamagedError(_SHAPE)
    return cast("dict[str, object]", value)


def _array(value: object) -> list[object]:
    if not isinstance(value, list):
        raise DamagedError(_SHAPE)
    return cast("list[object]", value)


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise DamagedError(_SHAPE)
    return value


def _maybe(value: object) -> str | None:
    return None if value is None else _text(value)
