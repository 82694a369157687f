"""The table of contents: from a path to everything that is made of it.

    path -> source -> tree -> rule set -> machine -> verdicts -> listing
                                            \\-> run

What only some commands need is loaded where it is used: `check` is to answer at once.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from latchproof.diagnostics import Diagnostic, has_errors, in_order
from latchproof.machine.loops import loops
from latchproof.rules import RuleSet, resolve
from latchproof.rules.gathered import gathered
from latchproof.source import Source, by_name
from latchproof.source.read import read
from latchproof.syntax import parse

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers


@dataclass(frozen=True, slots=True)
class Checked:
    """What a rule file means, None if it has an error; its text and those it includes, by name; what is wrong."""

    rules: RuleSet | None
    sources: dict[str, Source] = field(default_factory=dict)
    diagnostics: tuple[Diagnostic, ...] = ()


def check(path: str) -> Checked:
    """The rules of a file, or of standard input for `-`."""
    source, found = read(path)
    if source is None or found:
        return Checked(None, by_name(source), found)
    return check_text(source, Path() if path == "-" else Path(path).parent)


def check_text(source: Source, folder: Path) -> Checked:
    """The rules of a text; what it includes is read from `folder`."""
    tree, found = parse(source)
    if tree is None:
        return Checked(None, by_name(source), found)
    included = gathered(tree, folder)
    sources = by_name(source) | included.sources
    rules, more = resolve(tree, included.files, sources)
    found = in_order(found + included.diagnostics + more + (loops(rules) if rules else ()))
    return Checked(None if has_errors(found) else rules, sources, found)


def machine(rules: RuleSet) -> "Machine":
    """The rules as a machine. They were checked, so nothing in them goes round in a circle."""
    from latchproof.machine.compile import compile_rules

    made, found = compile_rules(rules)
    if made is None:
        raise AssertionError(found)
    return made


def workers() -> "Workers":
    """Processes for the solver, which begin to load at once; to be used in a `with`."""
    from latchproof.prove.workers import loading

    return loading()


def prove(machine: "Machine", workers: "Workers", time_limit: float, at_once: int) -> "Iterator[Verdict]":
    """The verdicts on all claims, as they arrive; `time_limit` in seconds for each."""
    from latchproof.prove.prover import prove_all

    return prove_all(machine, workers, time_limit=time_limit, at_once=at_once)
