"""A claim as Horn clauses in SMT-LIB 2.6, for any solver of such: ordinary steps and nothing else.

The clauses say of one unknown relation, `reachable`, that it holds of every memory at power-up and, with a memory, of
every one that an ordinary cycle leads to; and that from none of them a cycle meets the goal. They can be met exactly
when the goal cannot be reached. Terms become text by the same small path by which proofs are checked again.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from latchproof.machine.cone import System, cone
from latchproof.machine.model import DT, Machine, Property
from latchproof.prove.formulas import Tree, trees, words_of, written
from latchproof.prove.meanings import UNITS, meanings
from latchproof.prove.records import facts_of, one_line, says
from latchproof.prove.smtlib import FORBIDDEN, sort, start, step, symbol, tunes

RELATION = "reachable"
WIDTH = 100
"""Longer parts are broken into several lines."""
SHORT = 60
"""A part that is used once and is no longer than this stands where it is used."""


def horn_file(machine: Machine, property_: Property, program: str) -> str:
    """The claim with comments that say what it is and what the answers mean. `program`: who wrote it."""
    system = cone(machine, property_)
    said = meanings(machine.rules, system)
    names = [*(p.name for p in system.parameters), *(s.name for s in system.states), *(i.name for i in system.inputs)]
    reach = property_.kind == "reach"
    comments = [
        f"{property_.name}: {says(machine, property_)}",
        f"Of the rules {one_line(machine.rules.title)}, written by {program}.",
        "sat: " + ("this can never happen, so the claim fails." if reach else "the claim holds."),
        "unsat: " + ("it can happen, so the claim holds." if reach else "the claim fails."),
        UNITS,
        *(f"Taken for granted: {one_line(fact)}" for fact in facts_of(system)),
        "",
        *(f"{symbol(name)}  {said[name]}" for name in (*names, DT)),
        "|next NAME| is what a memory cell holds after the cycle.",
    ]
    return horn_clauses(system, comments)


def horn_clauses(system: System, comments: Iterable[str] = ()) -> str:
    """The system in logic HORN: satisfiable exactly when the goal cannot be reached. Comments are single lines."""
    tuned = [(symbol(p.name), "Real") for p in system.parameters]
    cells = [(symbol(s.name), sort(s.sort)) for s in system.states]
    after = [(symbol(f"next {s.name}"), sort(s.sort)) for s in system.states]
    world = [(symbol(i.name), sort(i.sort)) for i in system.inputs] + [(symbol(DT), "Real")]
    here: Tree = _applied([*tuned, *cells])
    there: Tree = _applied([*tuned, *after])
    first = _read([*tunes(system), *start(system)])
    cycle = _read(step(system))
    # `step` defines what a cell holds afterwards; here that is a variable of its own, equal to the definition.
    wanted = {name for name, _ in after}
    values = {name: f"|value of {name[1:-1]}|" for name in wanted}
    parts = {values.get(name, name): value for name, value in cycle.parts.items()}
    follow: list[Tree] = [["=", name, values[name]] for name, _ in after]
    lines = [
        *(f"; {comment}".rstrip() for comment in comments),
        "(set-logic HORN)",
        "",
        f"(declare-fun {RELATION} ({' '.join(kind for _, kind in (*tuned, *cells))}) Bool)",
        "",
        "; the memory at power-up",
        *_clause([*tuned, *cells], first.parts, first.facts, here),
        "",
        "; an ordinary cycle",
        *_clause([*tuned, *cells, *world, *after], parts, [here, *cycle.facts, *follow], there),
        "",
        "; a cycle that meets the goal",
        *_clause([*tuned, *cells, *world], parts, [here, *cycle.facts, symbol(FORBIDDEN)], "false"),
        "",
        "(check-sat)",
        "",
    ]
    return "\n".join(lines)


@dataclass(frozen=True, slots=True)
class _Said:
    """What some lines define, in the order of need, and what they assert."""

    parts: dict[str, Tree]
    facts: list[Tree]


def _read(lines: Sequence[str]) -> _Said:
    parts: dict[str, Tree] = {}
    facts: list[Tree] = []
    text = "\n".join(lines)
    for command in trees(text, len(text)):
        match command:
            case ["define-fun", str(name), [], _, value]:
                parts[name] = value
            case ["assert", ["and", *several]]:
                facts += several
            case ["assert", fact]:
                facts.append(fact)
            case _:
                raise AssertionError(command)
    return _Said(parts, facts)


def _applied(variables: Sequence[tuple[str, str]]) -> Tree:
    return [RELATION, *(name for name, _ in variables)] if variables else RELATION


def _clause(
    variables: Sequence[tuple[str, str]], parts: Mapping[str, Tree], body: Sequence[Tree], head: Tree
) -> list[str]:
    """`for all variables: body implies head`, shared parts named by `let`."""
    parts, body = _tidied(*_tidied(parts, list(body)))
    lines: list[str] = []
    closing = ""
    if variables:
        lines.append("(assert (forall (")
        lines += _filled([f"({name} {kind})" for name, kind in variables], "    ", ")")
        closing += "))"
    else:
        lines.append("(assert")
        closing += ")"
    for level in _levels(parts):
        bindings = [_broken([name, parts[name]], "    ") for name in level]
        lines.append("  (let (" + bindings[0][0].lstrip())
        lines += bindings[0][1:]
        lines += [line for binding in bindings[1:] for line in binding]
        lines[-1] += ")"
        closing += ")"
    lines.append("  (=> (and")
    lines += [line for part in body for line in _broken(part, "    ")]
    lines[-1] += ")"
    lines += _broken(head, "    ")
    lines[-1] += ")" + closing
    return lines


def _tidied(parts: Mapping[str, Tree], body: list[Tree]) -> tuple[dict[str, Tree], list[Tree]]:
    """Without the parts that nothing uses; short ones that are used once stand where they are used."""
    uses: Counter[str] = Counter()
    waiting: list[Tree] = list(body)
    while waiting:
        match waiting.pop():
            case str(word):
                uses[word] += 1
                if uses[word] == 1 and word in parts:
                    waiting.append(parts[word])
            case list(several):
                waiting += several
    kept: dict[str, Tree] = {}
    placed: dict[str, Tree] = {}
    for name, value in parts.items():  # parts before wholes
        if not uses[name]:
            continue
        whole = _placed(value, placed)
        alone = uses[name] == 1 and (name in body or len(_close(written(whole))) <= SHORT)
        if isinstance(whole, str) or alone:
            placed[name] = whole
        else:
            kept[name] = whole
    facts: list[Tree] = []
    for part in body:
        match _placed(part, placed):
            case ["and", *several]:
                facts += several
            case fact:
                facts.append(fact)
    return kept, facts or ["true"]


def _placed(tree: Tree, placed: Mapping[str, Tree]) -> Tree:
    """One level of brackets, as `define` writes them, or a fact, with some names replaced."""
    if isinstance(tree, str):
        return placed.get(tree, tree)
    return [_placed(part, placed) for part in tree]


def _levels(parts: Mapping[str, Tree]) -> list[list[str]]:
    """Names by what they need: each level needs only those before it."""
    level: dict[str, int] = {}
    for name, value in parts.items():
        level[name] = max((level[word] + 1 for word in words_of(value) if word in level), default=0)
    return [[n for n in parts if level[n] == k] for k in range(max(level.values(), default=-1) + 1)]


def _broken(tree: Tree, indent: str) -> list[str]:
    """A part on one line if it is short, else an operand a line."""
    whole = _close(written(tree))
    if len(indent) + len(whole) <= WIDTH or isinstance(tree, str):
        return [indent + whole]
    first, *others = tree
    if first == RELATION:
        return [f"{indent}({RELATION}", *_filled([w for w in others if isinstance(w, str)], indent + "  ", ")")]
    lines = [f"{indent}({_close(written(first))}"]
    for part in others:
        lines += _broken(part, indent + "  ")
    lines[-1] += ")"
    return lines


def _close(text: str) -> str:
    """Without the blanks beside brackets. Names with blanks stand in bars and have no brackets."""
    return text.replace("( ", "(").replace(" )", ")")


def _filled(words: Sequence[str], indent: str, ending: str) -> list[str]:
    lines: list[str] = []
    for word in words:
        if lines and len(lines[-1]) + 1 + len(word) <= WIDTH:
            lines[-1] += f" {word}"
        else:
            lines.append(indent + word)
    lines[-1] += ending
    return lines
