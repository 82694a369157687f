"""A claim as a node of the synchronous dataflow language Lustre (version 4), for any checker that reads it.

One instant is one cycle. What the world gives, the cycle time and the tunes are inputs under assertion; a memory cell
is a flow that begins with its value at power-up and then is what the cycle before left in it. The output `ok` is to be
true in every instant. The language: N. Halbwachs, P. Caspi, P. Raymond, D. Pilaud, "The synchronous data flow
programming language LUSTRE", Proceedings of the IEEE 79 (9), 1991. Of it only a node without calls is used: `bool` and
`real`, `->`, `pre`, `if`, the operators, `assert`. Everything is in brackets, so that no precedence is relied upon.
"""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import assert_never

from latchproof.machine import terms as t
from latchproof.machine.cone import System, cone
from latchproof.machine.model import DT, Machine, Property
from latchproof.prove.meanings import UNITS, meanings
from latchproof.prove.records import facts_of, one_line, says

RESERVED = frozenset(
    (
        *("and", "array", "assert", "assume", "bool", "by", "case", "check", "const", "contract", "current", "default"),
        *("div", "do", "downto", "each", "else", "elsif", "end", "ensure", "enum", "even", "extern", "false", "fby"),
        *("fill", "fillred", "forall", "exists", "function", "guarantee", "if", "imported", "include", "init", "int"),
        *("is", "let", "lines", "main", "map", "merge", "mod", "mode", "model", "needs", "nor", "not", "of", "on"),
        *("open", "operator", "or", "package", "pre", "property", "provides", "real", "red", "require", "returns"),
        *("state", "step", "struct", "subrange", "tel", "the", "then", "to", "true", "type", "unless", "unsafe"),
        *("until", "uses", "var", "weakly", "when", "with", "xor", "automaton", "activate", "every", "restart"),
        *("resume", "reachable", "from", "within", "at", "last", "initial", "invariant", "integer", "nodes"),
    )
)
"""Words of the language and of what grew from it."""

NODE = "claim"
OK = "ok"
SHORT = 60
"""A part that is used once and is no longer than this stands where it is used."""


def lustre_file(machine: Machine, property_: Property, program: str, cycle: Fraction | None = None) -> str:
    """The claim with comments that say what it is. `program`: who wrote it; `cycle`: seconds of every cycle, else any
    that the rules allow."""
    system = cone(machine, property_)
    said = meanings(machine.rules, system)
    names = names_for(system)
    reach = property_.kind == "reach"
    comments = [
        f"{property_.name}: {says(machine, property_)}",
        f"Of the rules {one_line(machine.rules.title)}, written by {program}.",
        f"{OK} always true: " + ("this can never happen, so the claim fails." if reach else "the claim holds."),
        f"{OK} false in some cycle: " + ("it can happen, so the claim holds." if reach else "the claim fails."),
        "One instant is one cycle of the transmitter." + ("" if cycle is None else f" Each takes {cycle} s."),
        UNITS,
        *(f"Taken for granted: {one_line(fact)}" for fact in facts_of(system)),
        "",
        *(f"{names[name]}: {said[name]}" for name in names if name in said),
    ]
    return lustre_node(system, comments, cycle)


def lustre_node(system: System, comments: Iterable[str] = (), cycle: Fraction | None = None) -> str:
    """The system as a node whose output `ok` is false exactly in the instants that meet the goal. Comments are single
    lines."""
    names = names_for(system)
    free = [s for s in system.states if s.initial is None]
    inputs = [f"{names[p.name]}: real" for p in system.parameters]
    inputs += [f"{first(names[s.name])}: {sort(s.sort)}" for s in free]
    inputs += [f"{names[i.name]}: {sort(i.sort)}" for i in system.inputs]
    memory = [f"{names[s.name]}: {sort(s.sort)}" for s in system.states]
    seconds = f"{names[DT]}: real"
    if cycle is None:
        inputs.append(seconds)
    if not inputs:
        inputs.append("nothing: bool")
    roots = [s.next for s in system.states] + [s.initial for s in system.states if s.initial is not None]
    roots += [c.term for c in (*system.requires, *system.starts, *system.constraints)] + [system.goal]
    words = Words(roots, names)
    equations: list[str] = []
    for s in system.states:
        begins = first(names[s.name]) if s.initial is None else words.of(s.initial)
        equations.append(f"{names[s.name]} = {begins} -> (pre {after(names[s.name])});")
        equations.append(f"{after(names[s.name])} = {words.of(s.next)};")
    asserted = [*_tuned(system, names), *(words.of(r.term) for r in system.requires)]
    asserted += [f"({words.of(c.term)} -> true)" for c in system.starts]
    if cycle is None:
        asserted.append(_between(names[DT], system.shortest, system.longest))
    else:
        equations.insert(0, f"{names[DT]} = {number(cycle)};")
    for i in system.inputs:
        if i.low is not None and i.high is not None:
            asserted.append(_between(names[i.name], i.low, i.high))
    asserted += [words.of(c.term) for c in system.constraints]
    memory += [f"{after(names[s.name])}: {sort(s.sort)}" for s in system.states]
    memory += [f"{part}: {kind}" for part, kind, _ in words.parts]
    memory += [seconds] if cycle is not None else []
    lines = [
        *(f"-- {comment}".rstrip() for comment in comments),
        "",
        f"node {NODE}(",
        *_declared(inputs),
        ")",
        f"returns ({OK}: bool);",
        *(["var", *(f"  {m};" for m in memory)] if memory else []),
        "let",
        *(f"  assert {a};" for a in asserted),
        *(f"  {part} = {value};" for part, _, value in words.parts),
        *(f"  {e}" for e in equations),
        f"  {OK} = (not {words.of(system.goal)});",
        f"  --%PROPERTY {OK};",
        "  --%MAIN;",
        "tel",
        "",
    ]
    return "\n".join(lines)


def names_for(system: System) -> dict[str, str]:
    """A legal name for every tune, input and cell, and the cycle time; no two alike, and none that is a word of the
    language or that the node makes of another."""
    made: dict[str, str] = {}
    taken = {OK, NODE, "nothing"}
    tuned, world, cells = ([x.name for x in group] for group in (system.parameters, system.inputs, system.states))
    for name in (DT, *tuned, *world, *cells):
        plain = "cycle_time" if name == DT else _mangled(name)
        chosen, number_ = plain, 1
        while {chosen, after(chosen), first(chosen)} & taken or chosen in RESERVED:
            number_ += 1
            chosen = f"{plain}_{number_}"
        taken |= {chosen, after(chosen), first(chosen)}
        made[name] = chosen
    return made


def _mangled(name: str) -> str:
    """Letters, digits and `_`, beginning with a letter; `part_` is for the node's own."""
    plain = re.sub(r"[^A-Za-z0-9_]+", "_", name).strip("_") or "x"
    return f"x_{plain}" if not plain[0].isalpha() or plain.startswith("part_") else plain


def after(name: str) -> str:
    """The flow of what a cell holds after the cycle."""
    return f"next_{name}"


def first(name: str) -> str:
    """The input of which only the first value counts: what a cell may hold at power-up."""
    return f"first_{name}"


def sort(kind: t.Sort) -> str:
    return "bool" if kind == "bool" else "real"


def number(value: Fraction) -> str:
    """Exactly: a decimal where there is one, else a quotient of two."""
    size = abs(value)
    text = _decimal(size) or f"({size.numerator}.0 / {size.denominator}.0)"
    return f"(-{text})" if value < 0 else text


def _decimal(value: Fraction) -> str | None:
    places = 0
    while (value * 10**places).denominator != 1:
        places += 1
        if places > 12:
            return None
    digits = str(value * 10**places).rjust(places + 1, "0")
    return f"{digits[: len(digits) - places]}.{digits[len(digits) - places :] or '0'}"


def _between(name: str, low: Fraction, high: Fraction) -> str:
    return f"(({number(low)} <= {name}) and ({name} <= {number(high)}))"


def _tuned(system: System, names: Mapping[str, str]) -> Iterable[str]:
    for p in system.parameters:
        name = names[p.name]
        yield f"(true -> ({name} = (pre {name})))"
        yield _between(name, p.low, p.high)
        if p.steps:
            yield f"({' or '.join(f'({name} = {number(v)})' for v in p.steps)})"


def _declared(variables: Sequence[str]) -> list[str]:
    return [f"  {v};" for v in variables[:-1]] + [f"  {variables[-1]}"]


class Words:
    """Terms as expressions; what is shared or long is a flow of its own."""

    def __init__(self, roots: Sequence[t.Term], names: Mapping[str, str]) -> None:
        self.parts: list[tuple[str, str, str]] = []
        self._text: dict[int, str] = {}
        uses: Counter[int] = Counter(id(r) for r in roots)
        order = list(t.walk(roots))
        for term in order:
            uses.update(id(c) for c in t.children(term))
        for term in order:
            text = self._expression(term, names)
            atom = isinstance(term, t.Var | t.Bool | t.Real)
            if not atom and (uses[id(term)] > 1 or len(text) > SHORT):
                name = f"part_{len(self.parts)}"
                self.parts.append((name, sort(t.sort_of(term)), text))
                text = name
            self._text[id(term)] = text

    def of(self, term: t.Term) -> str:
        return self._text[id(term)]

    def _expression(self, term: t.Term, names: Mapping[str, str]) -> str:
        match term:
            case t.Var(name):
                return names[name]
            case t.Bool(value):
                return "true" if value else "false"
            case t.Real(value):
                return number(value)
            case t.Not(a):
                return f"(not {self.of(a)})"
            case t.And(several):
                return f"({' and '.join(self.of(a) for a in several)})"
            case t.Or(several):
                return f"({' or '.join(self.of(a) for a in several)})"
            case t.If(c, a, b):
                return f"(if {self.of(c)} then {self.of(a)} else {self.of(b)})"
            case t.Add(several):
                return f"({' + '.join(self.of(a) for a in several)})"
            case t.Scale(factor, a):
                return f"({number(factor)} * {self.of(a)})"
            case t.AtMost(a, b):
                return f"({self.of(a)} <= {self.of(b)})"
            case t.Less(a, b):
                return f"({self.of(a)} < {self.of(b)})"
            case t.Equal(a, b):
                return f"({self.of(a)} = {self.of(b)})"
            case _:
                assert_never(term)
