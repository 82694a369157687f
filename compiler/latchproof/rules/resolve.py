"""A rule file's tree to its `RuleSet`.

Every name is declared first, then every named number is resolved in the order in which they need one another, then
every statement by itself; text order never matters. What a statement gets wrong is reported once, and whatever hangs
on it says nothing more.
"""

from collections.abc import Mapping

from latchproof.diagnostics import Diagnostic, Label, has_errors, in_order
from latchproof.rules import model
from latchproof.rules.amounts import numbers_in, settle
from latchproof.rules.channels import distinct_numbers
from latchproof.rules.clauses import at_most_once
from latchproof.rules.expressions import Signal
from latchproof.rules.gather import Gathered, handed_over, statement
from latchproof.rules.includes import parts_of
from latchproof.rules.inputs import default_cycle
from latchproof.rules.limits import ACTING, MESSAGES, REQUIRES, STAGES
from latchproof.rules.order import kill_first, without_cycle
from latchproof.rules.parts import Expansion, expand
from latchproof.rules.scope import Book, Env, Scope
from latchproof.rules.stages import met, spans_of, stage
from latchproof.rules.usage import unused
from latchproof.source import Source
from latchproof.syntax import tree


def resolve(
    file: tree.File, included: Mapping[str, tree.File | None], sources: Mapping[str, Source]
) -> tuple[model.RuleSet | None, tuple[Diagnostic, ...]]:
    """The rule set of a file, None if it has an error; and everything that is to be said about it, in order.

    `included` holds the included files by the path as written, None for one that could not be read (which was
    reported by whoever tried). `sources` holds the texts of all files by name: claims are quoted from them.
    """
    book = Book(sources)
    env = Env(book, Scope())
    parts, complete = parts_of(file, included, env)
    if not complete and _uses_more(file, parts):
        # what the missing file would have brought must not be missed a second time
        return None, _the_first(book.diagnostics)
    expansion = expand(file, parts, env)
    if expansion.overflow or _too_many(expansion, env):
        return None, _the_first(book.diagnostics)
    rules = _rule_set(file, expansion, env)
    found = _the_first(book.diagnostics)
    return (None if has_errors(found) else rules), found


def _too_many(expansion: Expansion, env: Env) -> bool:
    """Whether there are more of the statements that are compared with one another than anybody needs."""
    kinds: tuple[tuple[str, int, tuple[type, ...]], ...] = (
        ("rules and sequences", ACTING, (tree.Rule, tree.Sequence)),
        ("requirements", REQUIRES, (tree.Require,)),
        ("stages", STAGES, (tree.Stage,)),
    )
    found = False
    for what, most, types in kinds:
        places = [p.statement.span for p in expansion.placed if isinstance(p.statement, types)]
        if len(places) > most:
            found = True
            env.error(
                "too-large",
                f"more than {most} {what}",
                Label(places[most], "too much from here on"),
                hints=("split the file",),
            )
    return found


def _the_first(diagnostics: list[Diagnostic]) -> tuple[Diagnostic, ...]:
    """The messages in order; of very many only the first, errors before warnings."""
    found = in_order(diagnostics)
    if len(found) <= MESSAGES:
        return found
    return in_order(sorted(found, key=lambda d: d.severity != "error")[:MESSAGES])


def _uses_more(file: tree.File, parts: Mapping[str, tree.Part]) -> bool:
    uses = [s for s in file.statements if isinstance(s, tree.Use)]
    uses += [s for p in parts.values() for s in p.body if isinstance(s, tree.Use)]
    return any(u.part.text not in parts for u in uses)


def _rule_set(file: tree.File, expansion: Expansion, env: Env) -> model.RuleSet:
    seen = {id(p.env.scope): p.env for p in expansion.placed} | {id(i): e for _, _, i, e in expansion.uses}
    settle(numbers_in([env, *(e for e in seen.values() if e.scope is not env.scope)]))
    got, rehearsed = Gathered(), Gathered()
    handed_over(expansion, got)
    for placed in expansion.placed:
        statement(placed, rehearsed if placed.env.scope.rehearsal else got)
    _said_once(expansion, env)
    return _finished(file, got, env)


def _said_once(expansion: Expansion, env: Env) -> None:
    """What the file may say once, and names that only have to differ among their like."""
    own = [p.statement for p in expansion.placed if p.env.scope is env.scope]
    at_most_once((s.span for s in own if isinstance(s, tree.Cycle)), "the cycle", env)
    at_most_once((s.span for s in own if isinstance(s, tree.Device)), "the device", env)
    distinct_numbers([s for s in own if isinstance(s, tree.Channel)], env)
    claims: dict[str, tree.Name] = {}
    stages: dict[str, tree.Name] = {}
    for placed in expansion.placed:
        match placed.statement:
            case tree.Claim(name=name) | tree.Assume(name=name):
                _distinct(name, "claims or assumptions", placed.env, claims)
            case tree.Stage(name=name):
                _distinct(name, "stages", placed.env, stages)
            case _:
                pass


def _distinct(name: tree.Name, what: str, env: Env, known: dict[str, tree.Name]) -> None:
    first = known.setdefault(env.full(name.text), name)
    if first is not name and first.span != name.span:
        env.error(
            "duplicate-name",
            f"two {what} called {name.text}",
            Label(name.span, "the second"),
            Label(first.span, "the first"),
            hints=(f"give one of them another name, such as {name.text}_2",),
        )


def _finished(file: tree.File, got: Gathered, env: Env) -> model.RuleSet:
    tunes, requires = tuple(got.tunes), tuple(got.requires)
    spans = spans_of(tuple(got.facts), tunes)
    fine = met(requires, spans, env)
    by_name = {t.name: t for t in tunes}
    stages = [stage(s, by_name, fine, spans, env) for s in got.stages]
    declared = tuple(dict.fromkeys(got.precedences))
    implied = _order(declared, got, env)
    if not has_errors(env.book.diagnostics):
        unused(env)
    header = file.header
    return model.RuleSet(
        title="untitled rules" if header is None else header.title.value,
        version=None if header is None or header.version is None else header.version.value,
        cycle=got.cycles[0] if got.cycles else default_cycle(file.span),
        facts=tuple(got.facts),
        tunes=tunes,
        requires=requires,
        switches=tuple(got.switches),
        buttons=tuple(got.buttons),
        controls=tuple(got.controls),
        sensors=tuple(got.sensors),
        channels=tuple(got.channels),
        values=tuple(got.values),
        samples=tuple(got.samples),
        signals=tuple(got.signals),
        latches=tuple(got.latches),
        counters=tuple(got.counters),
        rules=tuple(got.rules),
        sequences=tuple(got.sequences),
        precedences=declared + implied,
        roles=tuple(got.roles),
        claims=tuple(got.claims),
        assumptions=tuple(got.assumptions),
        accepted=tuple(got.accepted),
        stages=tuple(s for s in stages if s is not None),
        device=got.devices[0] if got.devices else model.Device(),
    )


def _order(declared: tuple[model.Precedence, ...], got: Gathered, env: Env) -> tuple[model.Precedence, ...]:
    """What the kill switch adds to the declared priorities."""
    acting: tuple[model.Rule | model.Sequence, ...] = (*got.rules, *got.sequences)
    if not without_cycle(declared, env):
        return ()
    kill = next((r for r in got.roles if r.role == "kill"), None)
    meanings: dict[str, Signal] = {r.role: r.signal for r in reversed(got.roles)}
    meanings |= {s.name: s.signal for s in got.signals}
    return kill_first(acting, declared, kill, meanings, env)
