"""Systems as SMT-LIB 2.6 text: the small separate path by which proofs are checked again.

A proof is a statement about the machine's memory and tunes. It stands when three questions have no answer: a state at
power-up for which the statement is false; an ordinary step from a state for which it is true to one for which it is
not; such a step in which what is claimed never to happen does.

Names of the machine are kept, in bars. What is added here has a name of several words, the first of which begins no
name of the machine: names of rules are one word, and those of monitors begin with "claim" or "assumption".
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from latchproof.machine import terms as t
from latchproof.machine.cone import System
from latchproof.machine.model import DT

LOGIC = "QF_LRA"
"""Booleans and linear arithmetic over the reals, without quantifiers: most solvers know it."""

STATEMENT = "the statement"
FORBIDDEN = "what never happens"
"""The Boolean that the claim says is never true."""


def plain(name: str) -> str:
    """The name by which a text calls a cell, input or tune. Standard names do not begin with `@` or `.`."""
    if name == DT:
        return "cycle time"
    return f"unnamed {name[1:]}" if name.startswith("@") else name


def symbol(name: str) -> str:
    return f"|{plain(name)}|"


def number(value: Fraction) -> str:
    text = (
        f"{abs(value.numerator)}.0" if value.denominator == 1 else f"(/ {abs(value.numerator)}.0 {value.denominator}.0)"
    )
    return f"(- {text})" if value < 0 else text


def sort(kind: t.Sort) -> str:
    return "Bool" if kind == "bool" else "Real"


def define(roots: Iterable[tuple[str, t.Term]], prefix: str) -> list[str]:
    """`define-fun` lines for every shared part and, under their names, for the roots."""
    named = list(roots)
    shown: dict[int, str] = {}
    lines: list[str] = []
    for term in t.walk(root for _, root in named):
        match term:
            case t.Var(name):
                shown[id(term)] = symbol(name)
            case t.Bool(value):
                shown[id(term)] = "true" if value else "false"
            case t.Real(value):
                shown[id(term)] = number(value)
            case _:
                shown[id(term)] = f"|{prefix} {len(lines)}|"
                lines.append(f"(define-fun {shown[id(term)]} () {_sort(term)} {_body(term, shown)})")
    for name, root in named:
        lines.append(f"(define-fun {symbol(name)} () {_sort(root)} {shown[id(root)]})")
    return lines


def _sort(term: t.Term) -> str:
    match term:
        case t.Var(_, kind) | t.If(_, _, _, kind):
            return sort(kind)
        case t.Real() | t.Add() | t.Scale():
            return "Real"
        case _:
            return "Bool"


def _body(term: t.Term, shown: dict[int, str]) -> str:
    match term:
        case t.Not(a):
            return f"(not {shown[id(a)]})"
        case t.And(several):
            return f"(and {' '.join(shown[id(a)] for a in several)})"
        case t.Or(several):
            return f"(or {' '.join(shown[id(a)] for a in several)})"
        case t.If(c, a, b):
            return f"(ite {shown[id(c)]} {shown[id(a)]} {shown[id(b)]})"
        case t.Add(several):
            return f"(+ {' '.join(shown[id(a)] for a in several)})"
        case t.Scale(factor, a):
            return f"(* {number(factor)} {shown[id(a)]})"
        case t.AtMost(a, b):
            return f"(<= {shown[id(a)]} {shown[id(b)]})"
        case t.Less(a, b):
            return f"(< {shown[id(a)]} {shown[id(b)]})"
        case t.Equal(a, b):
            return f"(= {shown[id(a)]} {shown[id(b)]})"
        case t.Var() | t.Bool() | t.Real():
            return shown[id(term)]


def declarations(system: System) -> list[str]:
    """Constants for tunes, state, inputs and the cycle time of one step."""
    lines = [f"(declare-const {symbol(p.name)} Real)" for p in system.parameters]
    lines += [f"(declare-const {symbol(s.name)} {sort(s.sort)})" for s in system.states]
    lines += [f"(declare-const {symbol(i.name)} {sort(i.sort)})" for i in system.inputs]
    return [*lines, f"(declare-const {symbol(DT)} Real)"]


def tunes(system: System) -> list[str]:
    """Assertions: tunes in range and meeting the requirements."""
    lines = []
    for p in system.parameters:
        x = symbol(p.name)
        lines.append(f"(assert (and (<= {number(p.low)} {x}) (<= {x} {number(p.high)})))")
        if p.steps:
            lines.append(f"(assert (or {' '.join(f'(= {x} {number(v)})' for v in p.steps)} false))")
    names = [(f"require {k}", r.term) for k, r in enumerate(system.requires)]
    return lines + define(names, "part of a requirement") + [f"(assert {symbol(name)})" for name, _ in names]


def start(system: System) -> list[str]:
    """Assertions: the state is one at power-up."""
    named = [(f"first {s.name}", s.initial) for s in system.states if s.initial is not None]
    facts = [(f"start {k}", c.term) for k, c in enumerate(system.starts)]
    lines = define([*named, *facts], "part of the start")
    lines += [
        f"(assert (= {symbol(s.name)} {symbol(f'first {s.name}')}))" for s in system.states if s.initial is not None
    ]
    return lines + [f"(assert {symbol(name)})" for name, _ in facts]


def step(system: System) -> list[str]:
    """The ordinary step: `next NAME` for every state, what never happens; cycle time, ranges and facts asserted."""
    named = [(f"next {s.name}", s.next) for s in system.states]
    facts = [(f"fact {k}", c.term) for k, c in enumerate(system.constraints)]
    lines = define([*named, *facts, (FORBIDDEN, system.goal)], "part")
    dt = symbol(DT)
    lines.append(f"(assert (and (<= {number(system.shortest)} {dt}) (<= {dt} {number(system.longest)})))")
    for i in system.inputs:
        if i.low is not None and i.high is not None:
            x = symbol(i.name)
            lines.append(f"(assert (and (<= {number(i.low)} {x}) (<= {x} {number(i.high)})))")
    return lines + [f"(assert {symbol(name)})" for name, _ in facts]


def applied(system: System, prefix: str = "") -> str:
    """The statement about the state before the step, or with the prefix about the one after it."""
    names = [symbol(p.name) for p in system.parameters] + [symbol(f"{prefix}{s.name}") for s in system.states]
    return f"({symbol(STATEMENT)} {' '.join(names)})" if names else symbol(STATEMENT)


def stated(system: System, statement: Sequence[str]) -> list[str]:
    """The statement as a function of tunes and state, in that order; its lines are taken as they are."""
    arguments = [f"({symbol(p.name)} Real)" for p in system.parameters]
    arguments += [f"({symbol(s.name)} {sort(s.sort)})" for s in system.states]
    return [f"(define-fun {symbol(STATEMENT)} ({' '.join(arguments)}) Bool", *statement, ")"]


Asks = Literal["start", "step", "claim"]


@dataclass(frozen=True, slots=True)
class Part:
    """Some lines that belong together, and what they are."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Query:
    """One of the three questions; it has no answer exactly when its part of the proof stands."""

    asks: Asks
    parts: tuple[Part, ...]

    def script(self, *comments: str) -> str:
        """A text for any solver, complete in itself. Comments must be single lines."""
        lines = [*(f"; {c}" for c in comments), f"(set-logic {LOGIC})"]
        for part in self.parts:
            lines += ["", f"; {part.title}", *part.lines]
        return "\n".join([*lines, "", "(check-sat)", ""])


def three_queries(system: System, statement: Sequence[str]) -> tuple[Query, Query, Query]:
    """The questions of a proof: start, step, claim."""
    head = (
        Part("the machine: tunes, memory, what the world gives, the seconds of one cycle", tuple(declarations(system))),
        Part("the tunes lie in their ranges and meet every requirement", tuple(tunes(system))),
        Part("the statement of the proof, about tunes and memory", tuple(stated(system, statement))),
    )
    first = Part("the memory is as it is at power-up", tuple(start(system)))
    cycle = Part("one cycle from this memory: `next NAME` is what a cell holds after it", tuple(step(system)))
    here, there = applied(system), applied(system, "next ")
    before = Part("the statement is true before it", (f"(assert {here})",))
    broken = Part("and in it happens what never may", (f"(assert {symbol(FORBIDDEN)})",))
    return (
        Query("start", (*head, first, Part("and the statement is not true", (f"(assert (not {here}))",)))),
        Query("step", (*head, cycle, before, Part("and not after it", (f"(assert (not {there}))",)))),
        Query("claim", (*head, cycle, before, broken)),
    )
