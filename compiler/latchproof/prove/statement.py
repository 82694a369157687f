"""The statement of a proof, from an engine or from a stranger's record, as text that goes into the three questions.

It is read strictly (`formulas`) and written anew, so that nothing of the text that was read reaches a solver but the
formula that it is.
"""

import re
from collections.abc import Iterable

from latchproof.machine.cone import System
from latchproof.machine.terms import Sort
from latchproof.prove.formulas import NoFormulaError, Tree, formula, written
from latchproof.prove.smtlib import plain

_SHORTHAND = re.compile(r"[a-z]![0-9]+")
"""Names that a `let` gives. No name of the rules has an exclamation mark."""
_SIGN = re.compile(r"true|false|not|and|or|xor|=>|ite|let|[=<>+*/-]|<=|>=|[0-9]+\.[0-9]+")


def from_engine(system: System, text: str) -> tuple[str, ...]:
    """The lines of an invariant that speaks of cells and tunes by the names they have in the machine.

    Raises NoFormulaError when it is none.
    """
    if text.strip() == "and":  # how a conjunction of nothing is printed
        text = "true"
    return _lines(_read(text, {name: (plain(name), sort) for name, sort in _cells(system)}))


def from_record(system: System, text: str) -> tuple[str, ...]:
    """The lines of a statement that calls cells and tunes as the three questions do.

    Raises NoFormulaError when it is none.
    """
    return _lines(_read(text, {plain(name): (plain(name), sort) for name, sort in _cells(system)}))


def _cells(system: System) -> Iterable[tuple[str, Sort]]:
    for p in system.parameters:
        yield p.name, "number"
    for s in system.states:
        yield s.name, s.sort


def _read(text: str, names: dict[str, tuple[str, Sort]]) -> Tree:
    tree = formula(text, {name: sort for name, (_, sort) in names.items()})
    return _rewritten(tree, {name: f"|{shown}|" for name, (shown, _) in names.items()})


def _rewritten(tree: Tree, names: dict[str, str]) -> Tree:
    """Names as the questions write them; no `and` or `or` of one."""
    result: list[Tree] = []
    waiting: list[tuple[Tree, list[Tree]]] = [(tree, result)]
    while waiting:
        here, place = waiting.pop()
        while isinstance(here, list) and len(here) == 2 and here[0] in ("and", "or", "xor", "=>", "+"):
            here = here[1]
        if isinstance(here, str):
            place.append(_word(here, names))
            continue
        inner: list[Tree] = []
        place.append(inner)
        # Parts are taken from the end of the list, so this one's come before what stands behind it.
        waiting += [(part, inner) for part in reversed(here)]
    return result[0]


def _word(word: str, names: dict[str, str]) -> str:
    if word.startswith("|"):
        return names[word[1:-1]] if word[1:-1] in names else _strange(word)
    if word in names:
        return names[word]
    return word if _SHORTHAND.fullmatch(word) or _SIGN.fullmatch(word) else _strange(word)


def _strange(word: str) -> str:
    raise NoFormulaError(f"a name that is not known: {word[:40]}")


def _lines(tree: Tree) -> tuple[str, ...]:
    """As text, with a line for each name that is given and each part of the conjunction that it comes to."""
    lines: list[str] = []
    closing = ""
    while isinstance(tree, list) and tree[0] == "let":
        _, bindings, tree = tree
        lines += ["(let (", *(f"  {_flat(b)}" for b in bindings), ")"]
        closing += ")"
    if isinstance(tree, list) and tree[0] == "and":
        lines += ["(and", *(f"  {_flat(part)}" for part in tree[1:])]
        closing += ")"
    else:
        lines.append(_flat(tree))
    return (*lines, closing) if closing else tuple(lines)


def _flat(tree: Tree) -> str:
    return written(tree).replace("( ", "(").replace(" )", ")")
