"""Terms and systems as SMT-LIB 2.6 text. The small separate path by which proofs are checked again."""

from collections.abc import Iterable
from fractions import Fraction

from latchproof.machine.cone import System
from latchproof.machine.model import DT
from latchproof.machine.terms import (
    Add,
    And,
    AtMost,
    Bool,
    Equal,
    If,
    Less,
    Not,
    Or,
    Real,
    Scale,
    Sort,
    Term,
    Var,
    walk,
)


def symbol(name: str) -> str:
    return f"|{name}|"


def number(value: Fraction) -> str:
    text = (
        f"{abs(value.numerator)}.0" if value.denominator == 1 else f"(/ {abs(value.numerator)}.0 {value.denominator}.0)"
    )
    return f"(- {text})" if value < 0 else text


def sort(kind: Sort) -> str:
    return "Bool" if kind == "bool" else "Real"


def define(roots: Iterable[tuple[str, Term]], prefix: str) -> list[str]:
    """`define-fun` lines for every shared part and, under their names, for the roots."""
    named = list(roots)
    shown: dict[int, str] = {}
    lines: list[str] = []
    for term in walk(root for _, root in named):
        match term:
            case Var(name):
                shown[id(term)] = symbol(name)
            case Bool(value):
                shown[id(term)] = "true" if value else "false"
            case Real(value):
                shown[id(term)] = number(value)
            case _:
                shown[id(term)] = f"|{prefix}{len(lines)}|"
                lines.append(f"(define-fun {shown[id(term)]} () {_sort(term)} {_body(term, shown)})")
    for name, root in named:
        lines.append(f"(define-fun {symbol(name)} () {_sort(root)} {shown[id(root)]})")
    return lines


def _sort(term: Term) -> str:
    match term:
        case Var(_, kind) | If(_, _, _, kind):
            return sort(kind)
        case Real() | Add() | Scale():
            return "Real"
        case _:
            return "Bool"


def _body(term: Term, shown: dict[int, str]) -> str:
    match term:
        case Not(a):
            return f"(not {shown[id(a)]})"
        case And(several):
            return f"(and {' '.join(shown[id(a)] for a in several)})"
        case Or(several):
            return f"(or {' '.join(shown[id(a)] for a in several)})"
        case If(c, a, b):
            return f"(ite {shown[id(c)]} {shown[id(a)]} {shown[id(b)]})"
        case Add(several):
            return f"(+ {' '.join(shown[id(a)] for a in several)})"
        case Scale(factor, a):
            return f"(* {number(factor)} {shown[id(a)]})"
        case AtMost(a, b):
            return f"(<= {shown[id(a)]} {shown[id(b)]})"
        case Less(a, b):
            return f"(< {shown[id(a)]} {shown[id(b)]})"
        case Equal(a, b):
            return f"(= {shown[id(a)]} {shown[id(b)]})"
        case Var() | Bool() | Real():
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
    return lines + define(names, "r") + [f"(assert {symbol(name)})" for name, _ in names]


def start(system: System) -> list[str]:
    """Assertions: the state is one at power-up."""
    named = [(f"first {s.name}", s.initial) for s in system.states if s.initial is not None]
    facts = [(f"start {k}", c.term) for k, c in enumerate(system.starts)]
    lines = define([*named, *facts], "i")
    lines += [
        f"(assert (= {symbol(s.name)} {symbol(f'first {s.name}')}))" for s in system.states if s.initial is not None
    ]
    return lines + [f"(assert {symbol(name)})" for name, _ in facts]


def step(system: System) -> list[str]:
    """The ordinary step: `next NAME` for every state, `goal`, and assertions of cycle time, ranges and facts."""
    named = [(f"next {s.name}", s.next) for s in system.states]
    facts = [(f"fact {k}", c.term) for k, c in enumerate(system.constraints)]
    lines = define([*named, *facts, ("goal", system.goal)], "t")
    dt = symbol(DT)
    lines.append(f"(assert (and (<= {number(system.shortest)} {dt}) (<= {dt} {number(system.longest)})))")
    for i in system.inputs:
        if i.low is not None and i.high is not None:
            x = symbol(i.name)
            lines.append(f"(assert (and (<= {number(i.low)} {x}) (<= {x} {number(i.high)})))")
    return lines + [f"(assert {symbol(name)})" for name, _ in facts]


def invariant(system: System, body: str, name: str) -> str:
    """The invariant as a function of tunes and state, in that order."""
    arguments = [f"({symbol(p.name)} Real)" for p in system.parameters]
    arguments += [f"({symbol(s.name)} {sort(s.sort)})" for s in system.states]
    return f"(define-fun {symbol(name)} ({' '.join(arguments)}) Bool {body})"


def applied(system: System, name: str, prefix: str = "") -> str:
    names = [symbol(p.name) for p in system.parameters] + [symbol(f"{prefix}{s.name}") for s in system.states]
    return f"({symbol(name)} {' '.join(names)})" if names else symbol(name)


def three_queries(system: System, body: str) -> tuple[str, str, str]:
    """The checks of a certificate, each unsatisfiable exactly when it holds: start, step, claim."""
    head = ["(set-logic ALL)", *declarations(system), invariant(system, body, "invariant"), *tunes(system)]
    here, there = applied(system, "invariant"), applied(system, "invariant", "next ")
    first = [*head, *start(system), f"(assert (not {here}))"]
    kept = [*head, *step(system), f"(assert {here})", f"(assert (not {there}))"]
    claim = [*head, *step(system), f"(assert {here})", f"(assert {symbol('goal')})"]
    return tuple("\n".join([*lines, "(check-sat)", ""]) for lines in (first, kept, claim))  # type: ignore[return-value]
