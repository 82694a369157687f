"""Formulas that come from outside, read strictly: one formula of linear arithmetic over known names, or none.

Text that goes to a solver can say more than a formula: a bracket too many ends the assertion, and what follows is a
command. So a text from a file is taken only if it is a single formula in the few words of SMT-LIB 2.6 that invariants
are written in, every name of it known and every operation fed with what it works on.
"""

import re
from collections.abc import Generator, Mapping, Sequence
from typing import Any

from latchproof.machine.terms import Sort

LONGEST = 2_000_000
"""Characters; the largest invariant of the examples has a few thousand."""

Tree = str | list["Tree"]
"""A word, or what stands between two brackets."""

_TOKEN = re.compile(r"[ \t\r\n]*(?:([()])|(\|[^|\\\0-\x1f]*\|)|([0-9A-Za-z~!@$%^&*_+=<>.?/-]+))")
_NUMBER = re.compile(r"(?:0|[1-9][0-9]*)\.[0-9]+")
_NAME = re.compile(r"\|[^|]*\||[A-Za-z~!@$%^&*_+=<>.?/-][0-9A-Za-z~!@$%^&*_+=<>.?/-]*")
_RESERVED = frozenset(("true", "false", "not", "and", "or", "xor", "distinct", "ite", "let", "as", "exists", "forall"))
_RESERVED |= frozenset(("match", "par", "_", "!", "=>", "=", "<=", "<", ">=", ">", "+", "-", "*", "/"))

Scope = Mapping[str, Sort]


class NoFormulaError(ValueError):
    """The text is not one formula over these names; the message says why."""


def trees(text: str, longest: int = LONGEST) -> list[Tree]:
    """What the text consists of, brackets resolved; depth is no limit. `longest` is for a text of our own.

    Raises NoFormulaError for anything but words and matching brackets.
    """
    if len(text) > longest:
        raise NoFormulaError("it is too long")
    end = len(text.rstrip(" \t\r\n"))
    top: list[Tree] = []
    open_lists = [top]
    place = 0
    while place < end:
        token = _TOKEN.match(text, place)
        if token is None:
            raise NoFormulaError(f"no word begins at character {place}")
        place = token.end()
        bracket, quoted, simple = token.groups()
        if bracket == "(":
            inner: list[Tree] = []
            open_lists[-1].append(inner)
            open_lists.append(inner)
        elif bracket == ")":
            if len(open_lists) == 1:
                raise NoFormulaError("a bracket is closed that was not opened")
            open_lists.pop()
        else:
            open_lists[-1].append(quoted or simple)
    if len(open_lists) > 1:
        raise NoFormulaError("a bracket is not closed")
    return top


def one_tree(text: str) -> Tree:
    """Raises NoFormulaError when the text is not one word or one pair of brackets."""
    found = trees(text)
    if len(found) != 1:
        raise NoFormulaError("it is not one formula")
    return found[0]


def formula(text: str, symbols: Scope) -> Tree:
    """The formula that the text is, over these names.

    Raises NoFormulaError when it is none, or more than one, or not a Boolean.
    """
    found = one_tree(text)
    if _run(_sort(found, symbols)) != "bool":
        raise NoFormulaError("it is a number")
    return found


def is_formula(text: str, symbols: Scope) -> bool:
    try:
        formula(text, symbols)
    except NoFormulaError:
        return False
    return True


def conjuncts(tree: Tree) -> list[str]:
    """A formula as texts that together say the same: its conjunction taken apart, `let` names given back to each."""
    found: list[str] = []
    waiting: list[tuple[Tree, tuple[list[Tree], ...]]] = [(tree, ())]
    while waiting:
        here, lets = waiting.pop()
        match here:
            case ["let", list(bindings), body]:
                waiting.append((body, (*lets, bindings)))
            case ["and", *parts]:
                waiting += [(part, lets) for part in reversed(parts)]
            case _:
                found.append(_with_lets(here, lets))
    return found


def written(tree: Tree) -> str:
    words: list[str] = []
    waiting: list[Tree] = [tree]
    while waiting:
        match waiting.pop():
            case str(word):
                words.append(word)
            case list(parts):
                waiting += [")", *reversed(parts), "("]
    return " ".join(words)


def words_of(tree: Tree) -> set[str]:
    found: set[str] = set()
    waiting: list[Tree] = [tree]
    while waiting:
        match waiting.pop():
            case str(word):
                found.add(word)
            case list(parts):
                waiting += parts
    return found


def _with_lets(tree: Tree, lets: Sequence[list[Tree]]) -> str:
    needed = words_of(tree)
    for bindings in reversed(lets):
        kept: list[Tree] = [b for b in bindings if isinstance(b, list) and b and b[0] in needed]
        if kept:
            tree = ["let", kept, tree]
            needed |= words_of(kept)
    return written(tree)


# Each of the following yields the parts whose sorts it wants to know: a loop instead of recursion, so that a deep
# formula is no danger.

_Asking = Generator[tuple[Tree, Scope], Sort, Sort]


def _run(asking: _Asking) -> Sort:
    stack = [asking]
    answer: Any = None
    while stack:
        try:
            part, scope = stack[-1].send(answer)
        except StopIteration as done:
            stack.pop()
            answer = done.value
        else:
            stack.append(_sort(part, scope))
            answer = None
    found: Sort = answer
    return found


def _sort(tree: Tree, scope: Scope) -> _Asking:
    match tree:
        case str(word):
            return _word(word, scope)
        case ["let", [*bindings], body] if bindings:
            fresh: dict[str, Sort] = {}
            for binding in bindings:
                match binding:
                    case [str(name), value] if _NAME.fullmatch(name) and name not in _RESERVED:
                        fresh[_bare(name)] = yield value, scope
                    case _:
                        raise NoFormulaError("a let without a name")
            if len(fresh) != len(bindings):
                raise NoFormulaError("a let gives a name twice")
            return (yield body, {**scope, **fresh})
        case [("not" | "and" | "or" | "=>" | "xor") as operation, *parts] if parts:
            if operation == "not" and len(parts) != 1:
                raise NoFormulaError("not of several")
            for part in parts:
                yield from _want("bool", part, scope)
            return "bool"
        case ["ite", condition, then, otherwise]:
            yield from _want("bool", condition, scope)
            sort = yield then, scope
            yield from _want(sort, otherwise, scope)
            return sort
        case ["=", first, *others] if others:
            sort = yield first, scope
            for part in others:
                yield from _want(sort, part, scope)
            return "bool"
        case ["<=" | "<" | ">=" | ">", *parts] if len(parts) >= 2:
            for part in parts:
                yield from _want("number", part, scope)
            return "bool"
        case ["+" | "-", *parts] if parts:
            for part in parts:
                yield from _want("number", part, scope)
            return "number"
        case ["*", factor, part] if _constant(factor):
            yield from _want("number", part, scope)
            return "number"
        case ["/", _, _] if _constant(tree):
            return "number"
    raise NoFormulaError("an operation that does not belong in it")


def _want(sort: Sort, part: Tree, scope: Scope) -> Generator[tuple[Tree, Scope], Sort, None]:
    if (yield part, scope) != sort:
        raise NoFormulaError(f"a {sort} is wanted")


def _word(word: str, scope: Scope) -> Sort:
    if word in ("true", "false"):
        return "bool"
    if _NUMBER.fullmatch(word):
        return "number"
    if word in _RESERVED or not _NAME.fullmatch(word):
        raise NoFormulaError("a word that is no name")
    sort = scope.get(_bare(word))
    if sort is None:
        raise NoFormulaError("a name that is not known")
    return sort


def _bare(name: str) -> str:
    return name[1:-1] if name.startswith("|") else name


def _constant(tree: Tree) -> bool:
    """A number as it is written: `2.0`, `(- 2.0)`, `(/ 1.0 3.0)`, `(- (/ 1.0 3.0))`."""
    match tree:
        case str(word):
            return _NUMBER.fullmatch(word) is not None
        case ["-", inner]:
            return inner[:1] != ["-"] and _constant(inner)
        case ["/", top, str(below)] if _NUMBER.fullmatch(below) and below.strip("0."):
            return (isinstance(top, str) or top[:1] == ["-"]) and _constant(top)
    return False
