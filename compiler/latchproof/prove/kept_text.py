"""A keepsake as JSON text and back. Numbers are exact, as strings: `"1/3"`. Text that is not one gives None."""

import json
import re
from collections.abc import Mapping
from fractions import Fraction

from latchproof.prove.found import Found, Stretch
from latchproof.prove.memory import MOST_MOMENTS, Keepsake
from latchproof.run.program import Exact

SCHEMA = "latchproof.kept/1"

_NUMBER = re.compile(r"-?[0-9]{1,400}(?:/[0-9]{1,400})?")


def written(keepsake: Keepsake) -> str:
    found = keepsake.found
    row = {
        "schema": SCHEMA,
        "engine": keepsake.engine,
        "with_facts": keepsake.with_facts,
        "invariant": keepsake.invariant,
        "found": None if found is None else _found_row(found),
    }
    return json.dumps(row, ensure_ascii=True)


def read(text: str) -> Keepsake | None:
    try:
        match json.loads(text):
            case {
                "schema": "latchproof.kept/1",
                "engine": str(engine),
                "with_facts": bool(with_facts),
                "invariant": (str() | None) as invariant,
                "found": found,
            }:
                return Keepsake(engine, with_facts, invariant, None if found is None else _found(found))
    except (ValueError, RecursionError):
        pass
    return None


def _found_row(found: Found) -> dict[str, object]:
    return {
        "depth": found.depth,
        "parameters": exact_row(found.parameters or {}),
        "start": exact_row(found.start or {}),
        "moments": [
            {"dt": str(s.dt), "inputs": exact_row(s.inputs), "wait": str(s.wait), "meanwhile": exact_row(s.meanwhile)}
            for s in found.stretches or ()
        ],
    }


def _found(row: object) -> Found:
    """Raises ValueError for anything else than what `_found_row` writes."""
    match row:
        case {
            "depth": int(depth),
            "parameters": dict(parameters),
            "start": dict(start),
            "moments": [*moments],
        } if 0 < len(moments) <= MOST_MOMENTS and not isinstance(depth, bool) and 0 <= depth <= MOST_MOMENTS:
            tuned = {name: Fraction(value) for name, value in exact_values(parameters).items()}
            return Found(depth, tuple(_stretch(m) for m in moments), tuned, exact_values(start))
    raise ValueError("not a path")


def _stretch(row: object) -> Stretch:
    match row:
        case {"dt": str(dt), "inputs": dict(inputs), "wait": str(wait), "meanwhile": dict(meanwhile)}:
            return Stretch(_number(dt), exact_values(inputs), _number(wait), exact_values(meanwhile))
    raise ValueError("not a moment")


def exact_row(values: Mapping[str, Exact]) -> dict[str, bool | str]:
    return {name: value if isinstance(value, bool) else str(Fraction(value)) for name, value in values.items()}


def exact_values(row: Mapping[str, object]) -> dict[str, Exact]:
    made: dict[str, Exact] = {}
    for name, value in row.items():
        match value:
            case bool():
                made[name] = value
            case str():
                made[name] = _number(value)
            case _:
                raise ValueError("not a value")
    return made


def _number(text: str) -> Fraction:
    if not _NUMBER.fullmatch(text) or (not text.partition("/")[2].strip("0") and "/" in text):
        raise ValueError("not a number")
    return Fraction(text)
