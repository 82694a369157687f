"""Linear temporal logic on finite runs, read twice: can what follows still make it true, has what came made it so.

The formulas are written as on the pattern pages: [] <> ! & | -> U W and o (next).
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

State = Mapping[str, bool]
TOKEN = re.compile(r"\s*(\[\]|<>|->|[!&|()]|[A-Za-z])")


@dataclass(frozen=True)
class Formula:
    """`sign` is an operator, or the letter of a proposition."""

    sign: str
    parts: tuple["Formula", ...] = ()


@cache
def parse(text: str) -> Formula:
    tokens = TOKEN.findall(text)
    assert "".join(tokens) == re.sub(r"\s", "", text)
    formula, rest = _implication(tuple(tokens))
    assert rest == (), rest
    return formula


def _implication(tokens: tuple[str, ...]) -> tuple[Formula, tuple[str, ...]]:
    left, tokens = _several(tokens, "|")
    if tokens[:1] == ("->",):
        right, tokens = _implication(tokens[1:])
        return Formula("->", (left, right)), tokens
    return left, tokens


def _several(tokens: tuple[str, ...], sign: str) -> tuple[Formula, tuple[str, ...]]:
    left, tokens = _several(tokens, "&") if sign == "|" else _until(tokens)
    while tokens[:1] == (sign,):
        right, tokens = _several(tokens[1:], "&") if sign == "|" else _until(tokens[1:])
        left = Formula(sign, (left, right))
    return left, tokens


def _until(tokens: tuple[str, ...]) -> tuple[Formula, tuple[str, ...]]:
    left, tokens = _one(tokens)
    if tokens[:1] in (("U",), ("W",)):
        right, rest = _until(tokens[1:])
        return Formula(tokens[0], (left, right)), rest
    return left, tokens


def _one(tokens: tuple[str, ...]) -> tuple[Formula, tuple[str, ...]]:
    first, tokens = tokens[0], tokens[1:]
    if first in ("!", "[]", "<>", "o"):
        part, tokens = _one(tokens)
        return Formula(first, (part,)), tokens
    if first == "(":
        inner, tokens = _implication(tokens)
        assert tokens[:1] == (")",), tokens
        return inner, tokens[1:]
    assert first in "PQRST", first
    return Formula(first), tokens


def broken(text: str, run: Sequence[State]) -> bool:
    """Nothing that could follow makes it true."""
    return not _value(parse(text), run, 0, True)


def fulfilled(text: str, run: Sequence[State]) -> bool:
    """Nothing that could follow makes it false."""
    return _value(parse(text), run, 0, False)


def _value(f: Formula, run: Sequence[State], k: int, hope: bool) -> bool:
    """The value at `k`; `hope` is the value of everything that lies beyond the end of the run."""
    if k >= len(run):
        return hope
    match f.sign:
        case "!":
            return not _value(f.parts[0], run, k, not hope)
        case "&":
            return all(_value(p, run, k, hope) for p in f.parts)
        case "|":
            return any(_value(p, run, k, hope) for p in f.parts)
        case "->":
            return not _value(f.parts[0], run, k, not hope) or _value(f.parts[1], run, k, hope)
        case "o":
            return _value(f.parts[0], run, k + 1, hope)
        case "[]":
            return _value(f.parts[0], run, k, hope) and _value(f, run, k + 1, hope)
        case "<>":
            return _value(f.parts[0], run, k, hope) or _value(f, run, k + 1, hope)
        case "U" | "W":
            now, goal = f.parts
            return _value(goal, run, k, hope) or (_value(now, run, k, hope) and _value(f, run, k + 1, hope))
        case letter:
            return run[k][letter]
