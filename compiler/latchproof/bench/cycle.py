"""One pass of a machine as a Python function made for it: the same terms as the interpreter reads, only faster.

Exact: numbers are whole multiples of one over `unit`, chosen so that no division leaves a remainder; where no such
unit exists, they stay fractions. Nothing of a rule file gets into the text that is made; names are places in tuples.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import assert_never

from latchproof.machine.model import DT, Machine
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
    Term,
    Var,
    children,
    walk,
)
from latchproof.run.program import prepare

Number = int | Fraction
Values = tuple[Number, ...]
Step = Callable[[Values, Values, Number], tuple[Values, Values, Values]]
"""Memory, inputs and cycle time to: memory, how every comparison and Boolean memory came out, what was asked for."""

DEEPEST = 4
"""Numbers scaled more often than this, one after the other, are kept as fractions."""


@dataclass(frozen=True)
class Cycle:
    """A machine's pass. `still`: places of numbers in memory that change at events only. `numbers`: how many of what is
    asked for are numbers, which come first; `signals`: the places of the others."""

    step: Step
    cells: tuple[str, ...]
    still: tuple[int, ...]
    booleans: frozenset[str]
    unit: int | None
    numbers: int
    signals: tuple[int, ...]

    def amount(self, value: Fraction | int) -> Number:
        """A number as the function takes it."""
        if self.unit is None:
            return Fraction(value)
        scaled = value * self.unit
        return int(scaled) if isinstance(scaled, int) or scaled.denominator == 1 else scaled.__floor__()

    def worth(self, value: Number) -> Fraction:
        return Fraction(value) if self.unit is None else Fraction(value, self.unit)


def unit_of(machines: Iterable[Machine], others: Iterable[Fraction]) -> int | None:
    """One unit in which all numbers of all these machines, and some others, are whole; None if there is none."""
    below = lcm(*(x.denominator for x in others))
    by, deepest = 1, 0
    for m in machines:
        for term in walk(_roots(m)):
            match term:
                case Real(value):
                    below = lcm(below, value.denominator)
                case Scale(factor, _):
                    by = lcm(by, factor.denominator)
                case _:
                    pass
        for p in m.parameters:
            below = lcm(below, p.value.denominator)
        depth = _depth(m)
        if depth is None:
            return None
        deepest = max(deepest, depth)
    return below * int(by**deepest)


def cycle(
    machine: Machine, inputs: tuple[str, ...], numbers: tuple[Term, ...], signals: tuple[Term, ...], unit: int | None
) -> Cycle:
    """A pass that shows these numbers and signals.

    `inputs`: the order in which inputs are given; one that the machine has and nobody gives is 0 or false.
    """
    text = _Text(machine, inputs, unit)
    known: dict[str, object] = {"Fraction": Fraction}
    exec(compile(text.written((*numbers, *signals)), "<pass>", "exec"), known)
    step = known["step"]
    assert callable(step)
    still = tuple(k for k, s in enumerate(machine.states) if s.sort == "number" and not s.flows)
    kinds = frozenset(s.name for s in machine.states if s.sort == "bool")
    told = tuple(range(len(numbers), len(numbers) + len(signals)))
    return Cycle(step, tuple(s.name for s in machine.states), still, kinds, unit, len(numbers), told)


def at_power_up(machine: Machine, c: Cycle, free: str) -> Values:
    """Memory at power-up; what may hold anything holds the least, the most, or what is nearest to nothing."""
    values: dict[str, bool | Fraction] = {p.name: p.value for p in machine.parameters}
    known = [s for s in machine.states if s.initial is not None]
    first = dict(zip((s.name for s in known), prepare(s.initial for s in known if s.initial).run(values), strict=True))
    made: list[Number] = []
    for s in machine.states:
        value = first.get(s.name)
        if value is None and s.sort == "number":
            value = _free(s.holds, free)
        made.append(bool(value) if s.sort == "bool" else c.amount(Fraction(value or 0)))
    return tuple(made)


def _free(holds: tuple[Fraction | None, Fraction | None], free: str) -> Fraction:
    least, most = holds
    if free == "most" and most is not None:
        return most
    if free == "least" and least is not None:
        return least
    value = Fraction(0) if least is None else max(Fraction(0), least)
    return value if most is None else min(value, most)


def _roots(m: Machine) -> list[Term]:
    return [s.next for s in m.states] + list(m.definitions.values())


def _depth(m: Machine) -> int | None:
    """How often a number is divided on its way, at most; None if it goes round."""
    found: dict[str, int] = {s.name: 0 for s in m.states}
    for _ in range(DEEPEST + 2):
        before = dict(found)
        depth = _depths(m, found)
        for s in m.states:
            found[s.name] = depth[id(s.next)]
        if found == before:
            return max(depth.values(), default=0)
    return None


def _depths(m: Machine, cells: Mapping[str, int]) -> dict[int, int]:
    depth: dict[int, int] = {}
    for term in walk(_roots(m)):
        match term:
            case Var(name, "number"):
                depth[id(term)] = cells.get(name, 0)
            case Scale(factor, operand):
                depth[id(term)] = depth[id(operand)] + (factor.denominator != 1)
            case If(_, then, otherwise, "number"):
                depth[id(term)] = max(depth[id(then)], depth[id(otherwise)])
            case Add(operands):
                depth[id(term)] = max(depth[id(o)] for o in operands)
            case _:
                depth[id(term)] = 0
    return depth


class _Text:
    """The text of the function."""

    def __init__(self, machine: Machine, inputs: tuple[str, ...], unit: int | None) -> None:
        self.machine, self.unit = machine, unit
        self.places = {name: f"i[{k}]" for k, name in enumerate(inputs)}
        self.places |= {s.name: f"s[{k}]" for k, s in enumerate(machine.states)}
        self.places |= {p.name: self.number(p.value) for p in machine.parameters}
        self.places[DT] = "d"
        self.names: dict[int, str] = {}
        self.lines: list[str] = []
        self.compared: list[str] = []

    def number(self, value: Fraction) -> str:
        if self.unit is None:
            return f"Fraction({value.numerator}, {value.denominator})"
        return f"{int(value * self.unit)}" if value >= 0 else f"({int(value * self.unit)})"

    def written(self, wanted: tuple[Term, ...]) -> str:
        nexts = [s.next for s in self.machine.states]
        for term in walk([*nexts, *wanted]):
            self.names[id(term)] = self.operation(term)
        booleans = [self.names[id(s.next)] for s in self.machine.states if s.sort == "bool"]
        results = ([self.names[id(x)] for x in nexts], self.compared + booleans, [self.names[id(x)] for x in wanted])
        tuples = ", ".join(f"({''.join(f'{x}, ' for x in part)})" for part in results)
        body = "".join(f"    {line}\n" for line in [*self.lines, f"return {tuples}"])
        return f"def step(s, i, d):\n{body}"

    def kept(self, text: str) -> str:
        name = f"v{len(self.lines)}"
        self.lines.append(f"{name} = {text}")
        return name

    def operation(self, term: Term) -> str:
        p = [self.names[id(c)] for c in children(term)]
        match term:
            case Var(name, sort):
                return self.places.get(name, "False" if sort == "bool" else "0")
            case Bool(value):
                return str(value)
            case Real(value):
                return self.number(value)
            case Not():
                return self.kept(f"not {p[0]}")
            case And():
                return self.kept(" and ".join(p))
            case Or():
                return self.kept(" or ".join(p))
            case If():
                return self.kept(f"{p[1]} if {p[0]} else {p[2]}")
            case Add():
                return self.kept(" + ".join(p))
            case Scale(factor, _):
                over = "" if factor.denominator == 1 else f"{'/' if self.unit is None else '//'} {factor.denominator}"
                return self.kept(f"{factor.numerator} * {p[0]} {over}")
            case AtMost():
                self.compared.append(self.kept(f"{p[0]} <= {p[1]}"))
                return self.compared[-1]
            case Less():
                self.compared.append(self.kept(f"{p[0]} < {p[1]}"))
                return self.compared[-1]
            case Equal():
                # Which side is greater is part of what came out, so that numbers do not cross unseen.
                self.compared.append(self.kept(f"({p[0]} > {p[1]}) - ({p[0]} < {p[1]})"))
                return self.kept(f"{self.compared[-1]} == 0")
            case _:
                assert_never(term)
