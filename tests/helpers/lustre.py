"""A reader and an evaluator for the part of Lustre that exports are written in, made for the tests alone.

Lexis, grammar and precedence are those of version 4 as published (N. Halbwachs, P. Caspi, P. Raymond, D. Pilaud,
Proceedings of the IEEE 79 (9), 1991, and the language's later manual), written down here from memory: one node; `var`;
equations and assertions between `let` and `tel`; from loose to tight `->`, `=>`, `or` and `xor`, `and`, comparisons
(which do not chain), `not`, `+ -`, `* /`, then unary minus and `pre`; `if` takes all that follows. Words and sorts are
checked strictly: one definition for every flow, `bool` and `real` never mixed, `/` and `*` only by numbers.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

Value = bool | Fraction
Expression = tuple[object, ...]

WORDS = frozenset(
    [
        "and",
        "array",
        "assert",
        "bool",
        "const",
        "current",
        "div",
        "each",
        "else",
        "enum",
        "false",
        "fby",
        "function",
        "if",
        "imported",
        "include",
        "int",
        "let",
        "map",
        "merge",
        "mod",
        "node",
        "not",
        "of",
        "operator",
        "or",
        "package",
        "pre",
        "real",
        "returns",
        "step",
        "struct",
        "tel",
        "then",
        "to",
        "true",
        "type",
        "var",
        "when",
        "with",
        "xor",
    ]
)

_TOKEN = re.compile(
    r"\s+|--[^\n]*|(?P<number>[0-9]+\.[0-9]+)|(?P<name>[A-Za-z_][A-Za-z0-9_]*)|(?P<sign>->|=>|<=|>=|<>|[-+*/<>=():;,])"
)


class NoLustreError(Exception):
    """The text is not in the language, or has no meaning."""


@dataclass
class Node:
    name: str
    inputs: dict[str, str]
    outputs: dict[str, str]
    locals: dict[str, str]
    equations: dict[str, Expression]
    asserts: list[Expression]
    properties: list[str]

    @property
    def sorts(self) -> dict[str, str]:
        return {**self.inputs, **self.outputs, **self.locals}


@dataclass
class Reader:
    tokens: list[str]
    place: int = 0

    def peek(self) -> str:
        return self.tokens[self.place] if self.place < len(self.tokens) else ""

    def next(self) -> str:
        self.place += 1
        return self.tokens[self.place - 1] if self.place <= len(self.tokens) else ""

    def want(self, *words: str) -> None:
        for word in words:
            if (found := self.next()) != word:
                raise NoLustreError(f"{word} expected, not {found}, at {self.tokens[self.place - 8 : self.place]}")

    def name(self) -> str:
        found = self.next()
        if not re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]*", found) or found in WORDS:
            raise NoLustreError(f"{found} is no name")
        return found


def read(text: str) -> Node:
    """The only node of the text. Raises NoLustreError."""
    tokens = []
    place = 0
    while place < len(text):
        token = _TOKEN.match(text, place)
        if token is None:
            raise NoLustreError(f"no word begins with {text[place : place + 10]!r}")
        place = token.end()
        if token.lastgroup:
            tokens.append(token.group())
    r = Reader(tokens)
    r.want("node")
    name = r.name()
    r.want("(")
    inputs = _declarations(r, ")")
    r.want(")", "returns", "(")
    outputs = _declarations(r, ")")
    r.want(")")
    if r.peek() == ";":
        r.next()
    local: dict[str, str] = {}
    if r.peek() == "var":
        r.next()
        local = _declarations(r, "let")
    r.want("let")
    equations: dict[str, Expression] = {}
    asserts: list[Expression] = []
    while r.peek() != "tel":
        if r.peek() == "assert":
            r.next()
            asserts.append(_expression(r))
        else:
            flow = r.name()
            if flow in equations:
                raise NoLustreError(f"{flow} is defined twice")
            r.want("=")
            equations[flow] = _expression(r)
        r.want(";")
    r.want("tel")
    if r.peek() == ";":
        r.next()
    if r.peek():
        raise NoLustreError(f"{r.peek()} after the node")
    node = Node(name, inputs, outputs, local, equations, asserts, re.findall(r"--%PROPERTY (\w+);", text))
    _check(node)
    return node


def _declarations(r: Reader, end: str) -> dict[str, str]:
    made: dict[str, str] = {}
    while r.peek() != end:
        names = [r.name()]
        while r.peek() == ",":
            r.next()
            names.append(r.name())
        r.want(":")
        sort = r.next()
        if sort not in ("bool", "real"):
            raise NoLustreError(f"{sort} is no sort")
        for name in names:
            if name in made:
                raise NoLustreError(f"{name} is declared twice")
            made[name] = sort
        if r.peek() == ";":
            r.next()
        elif r.peek() != end:
            raise NoLustreError("; expected")
    return made


_LEVELS: tuple[tuple[str, ...], ...] = (("or", "xor"), ("and",), ("<", "<=", ">", ">=", "=", "<>"))


def _expression(r: Reader) -> Expression:
    left = _implication(r)
    if r.peek() == "->":
        r.next()
        return ("->", left, _expression(r))
    return left


def _implication(r: Reader) -> Expression:
    left = _binary(r, 0)
    if r.peek() == "=>":
        r.next()
        return ("=>", left, _implication(r))
    return left


def _binary(r: Reader, level: int) -> Expression:
    if level == 2:
        left = _negation(r)
        if r.peek() in _LEVELS[2]:
            return (r.next(), left, _negation(r))
        return left
    left = _binary(r, level + 1)
    while r.peek() in _LEVELS[level]:
        left = (r.next(), left, _binary(r, level + 1))
    return left


def _negation(r: Reader) -> Expression:
    if r.peek() == "not":
        r.next()
        return ("not", _negation(r))
    return _sum(r)


def _sum(r: Reader) -> Expression:
    left = _product(r)
    while r.peek() in ("+", "-"):
        left = (r.next(), left, _product(r))
    return left


def _product(r: Reader) -> Expression:
    left = _unary(r)
    while r.peek() in ("*", "/"):
        left = (r.next(), left, _unary(r))
    return left


def _unary(r: Reader) -> Expression:
    match r.peek():
        case "-":
            r.next()
            return ("minus", _unary(r))
        case "pre":
            r.next()
            return ("pre", _unary(r))
        case "if":
            r.next()
            condition = _expression(r)
            r.want("then")
            then = _expression(r)
            r.want("else")
            return ("if", condition, then, _expression(r))
        case "(":
            r.next()
            inner = _expression(r)
            r.want(")")
            return inner
        case "true" | "false":
            return ("value", r.next() == "true")
        case text if re.fullmatch(r"[0-9]+\.[0-9]+", text):
            return ("value", Fraction(r.next()))
        case _:
            return ("flow", r.name())


def _check(node: Node) -> None:
    sorts = node.sorts
    if len(sorts) != len(node.inputs) + len(node.outputs) + len(node.locals):
        raise NoLustreError("a name is declared twice")
    missing = (node.outputs.keys() | node.locals.keys()) ^ node.equations.keys()
    if missing:
        raise NoLustreError(f"not defined, or not declared: {sorted(missing)}")
    for flow, expression in node.equations.items():
        if _sort(expression, sorts) != sorts[flow]:
            raise NoLustreError(f"{flow} is defined by another sort")
    for expression in node.asserts:
        if _sort(expression, sorts) != "bool":
            raise NoLustreError("what is asserted is a number")
    for flow in node.properties:
        if node.outputs.get(flow) != "bool":
            raise NoLustreError("a property that is no output")


def _sort(x: Expression, sorts: Mapping[str, str]) -> str:
    match x:
        case ("value", value):
            return "bool" if isinstance(value, bool) else "real"
        case ("flow", str(name)):
            if name not in sorts:
                raise NoLustreError(f"{name} is not declared")
            return sorts[name]
        case ("pre", tuple(a)):
            return _sort(a, sorts)
        case ("not", tuple(a)):
            return _all("bool", "bool", (a,), sorts)
        case ("minus", tuple(a)):
            return _all("real", "real", (a,), sorts)
        case ("and" | "or" | "xor" | "=>", tuple(a), tuple(b)):
            return _all("bool", "bool", (a, b), sorts)
        case ("+" | "-", tuple(a), tuple(b)):
            return _all("real", "real", (a, b), sorts)
        case ("*" | "/", tuple(a), tuple(b)):
            if not (_number(b) or (_number(a) and x[0] == "*")):
                raise NoLustreError("a product of two flows")
            return _all("real", "real", (a, b), sorts)
        case ("<" | "<=" | ">" | ">=", tuple(a), tuple(b)):
            return _all("bool", "real", (a, b), sorts)
        case ("=" | "<>", tuple(a), tuple(b)):
            return _all("bool", _sort(a, sorts), (b,), sorts)
        case ("->", tuple(a), tuple(b)):
            return _all(_sort(a, sorts), _sort(a, sorts), (b,), sorts)
        case ("if", tuple(c), tuple(a), tuple(b)):
            _all("bool", "bool", (c,), sorts)
            return _all(_sort(a, sorts), _sort(a, sorts), (b,), sorts)
    raise NoLustreError(f"no expression: {x}")


def _all(made: str, wanted: str, parts: Iterable[Expression], sorts: Mapping[str, str]) -> str:
    for part in parts:
        if _sort(part, sorts) != wanted:
            raise NoLustreError(f"{wanted} expected: {part}")
    return made


def _number(x: Expression) -> bool:
    match x:
        case ("value", Fraction()):
            return True
        case ("minus", tuple(a)):
            return _number(a)
        case ("/", tuple(a), tuple(b)):
            return _number(a) and _number(b)
    return False


@dataclass
class Run:
    """A node through a number of instants. Every instant's inputs are given before the first is asked for."""

    node: Node
    inputs: list[Mapping[str, Value]]
    known: dict[tuple[str, int], Value | None] = field(default_factory=dict)

    def flow(self, name: str, instant: int) -> Value:
        if name in self.node.inputs:
            return self.inputs[instant][name]
        key = (name, instant)
        if key not in self.known:
            self.known[key] = None
            self.known[key] = self.value(self.node.equations[name], instant)
        found = self.known[key]
        if found is None:
            raise NoLustreError(f"{name} depends on itself within one instant")
        return found

    def asserted(self, instant: int) -> bool:
        return all(self.value(a, instant) for a in self.node.asserts)

    def value(self, x: Expression, k: int) -> Value:
        match x:
            case ("value", bool() | Fraction() as value):
                return value
            case ("flow", str(name)):
                return self.flow(name, k)
            case ("pre", tuple(a)):
                if k == 0:
                    raise NoLustreError("nothing is before the first instant")
                return self.value(a, k - 1)
            case ("->", tuple(a), tuple(b)):
                return self.value(b if k else a, k)
            case ("if", tuple(c), tuple(a), tuple(b)):
                return self.value(a if self.value(c, k) else b, k)
            case ("not", tuple(a)):
                return not self.value(a, k)
            case ("minus", tuple(a)):
                return -Fraction(self.value(a, k))
            case (str(sign), tuple(a), tuple(b)):
                return _applied(sign, self.value(a, k), self.value(b, k))
        raise NoLustreError(f"no expression: {x}")


def _applied(sign: str, a: Value, b: Value) -> Value:
    match sign:
        case "and":
            return bool(a and b)
        case "or":
            return bool(a or b)
        case "xor" | "<>":
            return a != b
        case "=>":
            return bool(not a or b)
        case "=":
            return a == b
        case "<":
            return a < b
        case "<=":
            return a <= b
        case ">":
            return a > b
        case ">=":
            return a >= b
        case "+":
            return Fraction(a) + b
        case "-":
            return Fraction(a) - b
        case "*":
            return Fraction(a) * b
        case _:
            return Fraction(a) / b
