"""The grammar as tables.

`latchproof.lark` is the grammar. Building its LALR tables takes lark about 0.2 s, longer than everything else that
`check` does, so the tables are kept beside it as JSON, stamped with the checksum of the grammar that they were built
from. Tables with another stamp are not used: then they are built anew, in memory.

`pytest tests/syntax/test_grammar.py --update-goldens` writes the file again.
"""

import json
import zlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

GRAMMAR_FILE = "latchproof.lark"
TABLES_FILE = "latchproof.tables.json"
END = "$END"


@dataclass(frozen=True, slots=True)
class Terminal:
    """A kind of token: a fixed `text`, or a pattern. `ignored` ones do not reach the parser."""

    name: str
    text: str | None
    pattern: str | None
    priority: int
    ignored: bool


@dataclass(frozen=True, slots=True)
class Production:
    """`name` is what the builder calls it; `keep` are the positions of the children that carry meaning.

    `passes`: a single kept child stands for the whole. `spreads`: a repetition, whose items are given to its parent.
    """

    name: str
    origin: str
    size: int
    keep: tuple[int, ...]
    passes: bool
    spreads: bool


@dataclass(frozen=True, slots=True)
class Tables:
    """LALR tables. In `actions[state]` a number n >= 0 means go to state n, n < 0 reduce by production -n - 1.

    `gotos[state]` is by the origin of the production reduced. The text is read when `accept` is reached.
    """

    stamp: str
    terminals: tuple[Terminal, ...]
    productions: tuple[Production, ...]
    actions: tuple[dict[str, int], ...]
    gotos: tuple[dict[str, int], ...]
    start: int
    accept: int

    @property
    def keywords(self) -> tuple[str, ...]:
        """The words of the language, sorted."""
        return tuple(sorted(t.text for t in self.terminals if t.text is not None and t.text.isidentifier()))


def grammar_folder() -> Path:
    """Inside the installed package, or in the checkout beside `compiler/`."""
    package = Path(__file__).resolve().parents[1]
    packaged = package / "grammar"
    return packaged if (packaged / GRAMMAR_FILE).is_file() else package.parents[1] / "grammar"


def stamp_of(grammar: str) -> str:
    """Tells a grammar that was edited from the one the tables were built from; no defence against anybody."""
    return f"{zlib.crc32(grammar.encode()):08x}"


@cache
def tables() -> Tables:
    """The tables of the grammar."""
    folder = grammar_folder()
    grammar = (folder / GRAMMAR_FILE).read_text(encoding="utf-8")
    kept = folder / TABLES_FILE
    if kept.is_file():
        data = json.loads(kept.read_text(encoding="utf-8"))
        if data["stamp"] == stamp_of(grammar):
            return from_json(data)
    return build(grammar)


def build(grammar: str) -> Tables:
    """The tables of a grammar, worked out by lark. States are numbered in the order in which they are first reached."""
    from lark import Lark
    from lark.lexer import PatternStr
    from lark.parsers.lalr_analysis import Shift
    from lark.parsers.lalr_parser import LALR_Parser

    made = Lark(grammar, parser="lalr", lexer="basic")
    lalr = made.parser.parser
    assert isinstance(lalr, LALR_Parser)
    table = lalr._parse_table
    rules = {rule: number for number, rule in enumerate(made.rules)}
    start = table.start_states["start"]

    def key(item: tuple[str, tuple[Any, Any]]) -> str:
        return item[0]

    numbers = {start: 0}
    order = [start]
    for state in order:
        for _, (action, target) in sorted(table.states[state].items(), key=key):
            if action is Shift and target not in numbers:
                numbers[target] = len(order)
                order.append(target)
    terminal_names = {t.name for t in made.terminals} | {END}
    actions: list[dict[str, int]] = []
    gotos: list[dict[str, int]] = []
    for state in order:
        row: dict[str, int] = {}
        jumps: dict[str, int] = {}
        for symbol, (action, target) in sorted(table.states[state].items(), key=key):
            number = numbers[target] if action is Shift else -rules[target] - 1
            (row if symbol in terminal_names else jumps)[symbol] = number
        actions.append(row)
        gotos.append(jumps)
    terminals = tuple(
        Terminal(
            t.name,
            t.pattern.value if isinstance(t.pattern, PatternStr) else None,
            None if isinstance(t.pattern, PatternStr) else t.pattern.to_regexp(),
            t.priority,
            t.name in made.ignore_tokens,
        )
        for t in made.terminals
    )
    productions = tuple(_production(rule) for rule in made.rules)
    return Tables(
        stamp_of(grammar), terminals, productions, tuple(actions), tuple(gotos), 0, numbers[table.end_states["start"]]
    )


def _production(rule: Any) -> Production:
    keep = tuple(
        i
        for i, symbol in enumerate(rule.expansion)
        if rule.options.keep_all_tokens or not (symbol.is_term and symbol.filter_out)
    )
    origin = str(rule.origin.name)
    return Production(
        str(rule.alias or origin),
        origin,
        len(rule.expansion),
        keep,
        bool(rule.options.expand1 and not rule.alias),
        origin.startswith("_"),
    )


def to_json(t: Tables) -> str:
    """One state a line, so that a change of the grammar shows as a change of lines. Symbols are by number."""
    symbols = sorted({s for row in (*t.actions, *t.gotos) for s in row})
    number = {s: i for i, s in enumerate(symbols)}

    def pairs(row: dict[str, int]) -> list[list[object]]:
        groups: dict[int, list[int]] = {}
        for symbol, target in row.items():
            groups.setdefault(target, []).append(number[symbol])
        return [[target, *where] for target, where in groups.items()]

    def block(items: list[Any]) -> str:
        return "[\n" + ",\n".join(json.dumps(i, ensure_ascii=True, separators=(",", ":")) for i in items) + "\n]"

    terminals = [[x.name, x.text, x.pattern, x.priority, x.ignored] for x in t.terminals]
    productions = [[p.name, p.origin, p.size, p.keep, p.passes, p.spreads] for p in t.productions]
    states = [[pairs(row), pairs(jumps)] for row, jumps in zip(t.actions, t.gotos, strict=True)]
    return (
        f'{{"stamp": "{t.stamp}", "start": {t.start}, "accept": {t.accept},\n"symbols": {json.dumps(symbols)},\n'
        f'"terminals": {block(terminals)},\n"productions": {block(productions)},\n"states": {block(states)}}}\n'
    )


def from_json(data: dict[str, Any]) -> Tables:
    symbols: list[str] = data["symbols"]

    def row(groups: list[list[int]]) -> dict[str, int]:
        return {symbols[s]: target for target, *where in groups for s in where}

    return Tables(
        data["stamp"],
        tuple(Terminal(*t) for t in data["terminals"]),
        tuple(
            Production(name, origin, size, tuple(keep), passes, spreads)
            for name, origin, size, keep, passes, spreads in data["productions"]
        ),
        tuple(row(actions) for actions, _ in data["states"]),
        tuple(row(gotos) for _, gotos in data["states"]),
        data["start"],
        data["accept"],
    )
