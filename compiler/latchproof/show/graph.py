"""The dependency graph for people: what is drawn, in which words, as a tree for the terminal and as DOT text."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import assert_never

from latchproof.machine.overview import Link, Thing, overview
from latchproof.rules.model import (
    Button,
    Channel,
    Control,
    Counter,
    Fact,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Pulse,
    Role,
    Rule,
    RuleSet,
    Sample,
    Sensor,
    Sequence,
    Switch,
    Tune,
)  # fmt: skip
from latchproof.rules.units import UNITS
from latchproof.show.quantities import quantity
from latchproof.show.style import PLAIN, Style
from latchproof.show.visible import visible, width


@dataclass(frozen=True, slots=True)
class Shown:
    """One thing of the graph: its kind in a word, and a number that says more (a tune's value, a channel's number)."""

    name: str
    kind: str
    more: str = ""

    @property
    def label(self) -> str:
        return f"{self.kind} {self.more}".rstrip()


INPUTS = frozenset({"switch", "button", "stick", "knob", "sensor", "tune", "fact"})
OUTPUTS = frozenset({"channel"})


def graph(rules: RuleSet) -> tuple[tuple[Shown, ...], tuple[Link, ...]]:
    """The things that read or are read, and who reads whom. Roles that nothing reads are left out."""
    seen = overview(rules)
    linked = {name for link in seen.links for name in (link.source, link.target)}
    read = {link.source for link in seen.links}
    names = [n for n in seen.things if n in linked and not (isinstance(seen.things[n], Role) and n not in read)]
    names += [n for n, thing in seen.things.items() if isinstance(thing, Channel) and n not in linked]
    kept = set(names)
    links = tuple(link for link in seen.links if link.source in kept and link.target in kept)
    return tuple(shown(n, seen.things[n]) for n in names), links


def shown(name: str, thing: Thing) -> Shown:
    match thing:
        case Switch():
            return Shown(name, "switch")
        case Button():
            return Shown(name, "button")
        case Control(kind=kind):
            return Shown(name, kind)
        case Sensor():
            return Shown(name, "sensor")
        case Tune(value=value, unit=unit):
            return Shown(name, "tune", quantity(value, unit))
        case Fact(low=low, high=high, unit=unit):
            return Shown(name, "fact", quantity(low, unit) if low == high else "")
        case Channel(number=number):
            return Shown(name, "channel", "" if number is None else str(number))
        case Latch(timeout=timeout):
            lasting = "" if timeout is None or timeout.duration.in_cycles else _seconds(timeout.duration.amount)
            return Shown(name, "latch", lasting)
        case NamedSignalDefinition():
            return Shown(name, "signal")
        case Pulse():
            return Shown(name, "start signal")
        case NamedValue():
            return Shown(name, "value")
        case Counter(limit=limit):
            return Shown(name, "counter", f"to {limit}")
        case Sample():
            return Shown(name, "sample")
        case Rule():
            return Shown(name, "rule")
        case Sequence(phases=phases):
            return Shown(name, "sequence", f"of {len(phases)}")
        case Role():
            return Shown(name, "role")
        case _:
            assert_never(thing)


def _seconds(amount: object) -> str:
    value = getattr(amount, "value", None)
    return "" if value is None else f"at most {quantity(value, UNITS['s'])}"


# ---------- the tree


def tree(rules: RuleSet, style: Style = PLAIN) -> str:
    """Each channel with what it depends on below it; what was told before is not told again."""
    things, links = graph(rules)
    by_name = {t.name: t for t in things}
    sources: dict[str, list[Link]] = {}
    for link in links:
        sources.setdefault(link.target, []).append(link)
    read = {link.source for link in links if not link.memory}
    tops = [t.name for t in things if t.kind in OUTPUTS] + [
        t.name for t in things if t.kind not in OUTPUTS and t.kind not in INPUTS and t.name not in read
    ]
    if not tops:
        return "nothing depends on anything here: there are no channels and no rules"
    told: set[str] = set()
    lines: list[str] = []
    for top in tops:
        lines.append(_line("", by_name[top], style, top=True))
        lines += _below(top, "", by_name, sources, told, style)
    return "\n".join(lines)


def _below(
    name: str, indent: str, by_name: dict[str, Shown], sources: dict[str, list[Link]], told: set[str], style: Style
) -> Iterator[str]:
    told.add(name)
    stack = [(name, indent, iter(_ordered(name, by_name, sources)))]
    while stack:
        _, lead, children = stack[-1]
        link, last = next(children, (None, False))
        if link is None:
            stack.pop()
            continue
        thing = by_name[link.source]
        branch = lead + ("`- " if last else "|- ")
        if link.memory:
            yield _line(branch, thing, style, note="as it was in the cycle before")
        elif link.source in told and sources.get(link.source):
            yield _line(branch, thing, style, note="see above")
        else:
            yield _line(branch, thing, style)
            told.add(link.source)
            deeper = lead + ("   " if last else "|  ")
            stack.append((link.source, deeper, iter(_ordered(link.source, by_name, sources))))


def _ordered(
    name: str, by_name: dict[str, Shown], sources: dict[str, list[Link]]
) -> Iterator[tuple[Link, bool]]:
    """What a thing reads, in the order of the text, and whether it is the last one."""
    place = {n: k for k, n in enumerate(by_name)}
    links = sorted(sources.get(name, ()), key=lambda link: (by_name[link.source].kind in INPUTS, place[link.source]))
    yield from ((link, n + 1 == len(links)) for n, link in enumerate(links))


def _line(lead: str, thing: Shown, style: Style, *, note: str = "", top: bool = False) -> str:
    tail = f" ({thing.label})" + (f", {note}" if note else "")
    name = visible(thing.name)
    room = max(8, style.width - width(lead) - width(tail))
    if width(name) > room:
        name = name[: room - 3] + "..."
    return lead + (style.paint(name, "strong") if top else name) + style.paint(tail, "secondary")


# ---------- DOT


def dot(rules: RuleSet) -> str:
    """For the usual programs that lay out graphs. Reading the cycle before is dashed."""
    things, links = graph(rules)
    lines = ["digraph rules {", "  rankdir=LR;", '  node [shape=box, style=rounded, fontname="sans-serif"];']
    lines += [f"  {_quoted(t.name)} [label={_quoted(t.name, t.label)}{_shape(t)}];" for t in things]
    for edge in ("source", "sink"):
        group = [t.name for t in things if t.kind in (INPUTS if edge == "source" else OUTPUTS)]
        if group:
            lines.append(f"  {{ rank={edge}; {' '.join(_quoted(n) + ';' for n in group)} }}")
    for link in links:
        back = " [style=dashed, constraint=false]" if link.memory else ""
        lines.append(f"  {_quoted(link.source)} -> {_quoted(link.target)}{back};")
    return "\n".join([*lines, "}"]) + "\n"


def _quoted(*texts: str) -> str:
    escaped = (visible(text).replace("\\", "\\\\").replace('"', '\\"') for text in texts)
    return '"' + "\\n".join(escaped) + '"'


def _shape(thing: Shown) -> str:
    if thing.kind in INPUTS:
        return ", style=filled, fillcolor=\"#eef3f8\""
    return ', style="filled,bold", fillcolor="#f3efe2"' if thing.kind in OUTPUTS else ""


