"""Parts are written out: every `use` becomes a scope of its own, whose names are `use.inner`."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from latchproof.diagnostics import Label
from latchproof.rules.limits import CHARACTERS, NAMES, NESTING, USES_DEEP, WIDTH
from latchproof.rules.scope import Entity, Env, Scope, look_up, unknown
from latchproof.rules.suggest import did_you_mean, listed
from latchproof.rules.walk import bare, deeper_than
from latchproof.rules.words import ANNOUNCED, KIND, MEANS, ROLES, Kind
from latchproof.syntax import tree


@dataclass(frozen=True, slots=True)
class Placed:
    """A statement and where it stands."""

    statement: tree.Statement
    env: Env


@dataclass(slots=True)
class Expansion:
    """What comes of writing the parts out."""

    parts: Mapping[str, tree.Part]
    placed: list[Placed] = field(default_factory=list)
    uses: list[tuple[tree.Use, Env, Scope, Env]] = field(default_factory=list)
    """Outermost first: the use, where it stands, its inside and where that stands."""
    written: set[str] = field(default_factory=set)
    characters: int = 0
    overflow: bool = False
    """There is more than can be read; what is missing then is no fault of its own."""


def expand(file: tree.File, parts: Mapping[str, tree.Part], env: Env) -> Expansion:
    """Declare every name and write every part out; parts that nothing uses are only rehearsed for their faults."""
    expansion = Expansion(parts)
    _declare(file.statements, env, (), expansion)
    for part in parts.values():
        if part.name.text not in expansion.written and not expansion.overflow:
            scope = Scope(f"{part.name.text}/", part, rehearsal=True)
            _write_out(part, None, replace(env, scope=scope), (part.name.text,), expansion)
    for use, outer, inner, inner_env in expansion.uses:
        _bind(use, outer, inner, inner_env)
    return expansion


def _declare(statements: tuple[tree.Statement, ...], env: Env, chain: tuple[str, ...], expansion: Expansion) -> None:
    for s in statements:
        expansion.characters += s.span.end - s.span.start
        if len(expansion.placed) >= NAMES or expansion.characters > CHARACTERS:
            if not expansion.overflow:
                env.error(
                    "too-large",
                    f"more than {NAMES} statements, or {CHARACTERS} characters, with all parts written out",
                    Label(s.span, "too much from here on"),
                    hints=("use parts fewer times, or split the file",),
                )
            expansion.overflow = True
            return
        if width(s) > WIDTH:
            env.error(
                "too-large",
                f"more than {WIDTH} pieces in one statement",
                Label(s.span, "too much"),
                hints=("split it",),
            )
            expansion.overflow = True
            return
        expansion.placed.append(Placed(s, env))
        match s:
            case tree.Use():
                inner = _inside(s, env, chain, expansion)
                _add(s.name, "use", s, env, inner)
            case tree.Role():
                _role(s, env)
            case tree.Device(clauses=clauses):
                for clause in clauses:
                    if clause.kind == "gives" and clause.name is not None:
                        _add(clause.name, "signal", s, env)
            case _:
                found = name_of(s)
                if found is not None:
                    _add(found[0], found[1], s, env)


def width(s: tree.Statement) -> int:
    """Of how many clauses, actions, phases, positions or names a statement is made."""
    match s:
        case tree.Switch(positions=pieces):
            return len(pieces)
        case (
            tree.Sensor(clauses=clauses)
            | tree.Latch(clauses=clauses)
            | tree.Counter(clauses=clauses)
            | tree.Device(clauses=clauses)
        ):
            return len(clauses)
        case tree.Channel(clauses=clauses):
            return sum(len(c.rows) if isinstance(c, tree.FollowsTable) else 1 for c in clauses)
        case tree.Rule(actions=actions):
            return _acts(actions)
        case tree.Sequence(phases=phases):
            return sum(1 + _acts(p.actions) for p in phases)
        case tree.Part(takes=takes, gives=gives):
            return len(takes) + len(gives)
        case tree.Use(bindings=bindings):
            return len(bindings)
        case tree.Priority(names=names):
            return len(names)
        case tree.Stage(tunes=tunes):
            return len(tunes)
        case tree.Claim(arriving=arriving):
            return len(arriving)
        case _:
            return 1


def _acts(actions: tuple[tree.Action, ...]) -> int:
    return sum(1 if isinstance(a, tree.Announce) else len(a.channels) + len(a.modifiers) for a in actions)


def name_of(s: tree.Statement) -> tuple[tree.Name, Kind] | None:
    """The name that a statement gives to a thing which others may speak of."""
    match s:
        case tree.Fact(name=name):
            return name, "fact"
        case tree.Tune(name=name):
            return name, "tune"
        case tree.Value(name=name):
            return name, "value"
        case tree.Sample(name=name):
            return name, "sample"
        case tree.Signal(name=name):
            return name, "signal"
        case tree.Switch(name=name):
            return name, "switch"
        case tree.Button(name=name):
            return name, "button"
        case tree.Control(name=name, kind=kind):
            return name, kind
        case tree.Sensor(name=name):
            return name, "sensor"
        case tree.Channel(name=name):
            return name, "channel"
        case tree.Latch(name=name):
            return name, "latch"
        case tree.Counter(name=name):
            return name, "counter"
        case tree.Rule(name=name):
            return name, "rule"
        case tree.Sequence(name=name):
            return name, "sequence"
        case tree.Use(name=name):
            return name, "use"
        case _:
            return None


def _add(name: tree.Name, kind: Kind, s: tree.Statement, env: Env, inner: Scope | None = None) -> None:
    scope = env.scope
    first = scope.names.get(name.text)
    if name.text not in scope.names:
        scope.names[name.text] = Entity(env.full(name.text), kind, name.span, s, scope, inner)
    elif first is not None:
        env.error(
            "duplicate-name",
            f"{name.text} is the name of two things",
            Label(name.span, f"here {KIND[kind]}"),
            Label(first.place, f"and here already {KIND[first.kind]}"),
            hints=(f"give one of them another name, such as {name.text}_2",),
        )


def _role(s: tree.Role, env: Env) -> None:
    name = s.role
    if name.text not in ROLES:
        env.error(
            "unknown-role",
            f"there is no role {name.text}",
            Label(name.span, "not a role"),
            hints=did_you_mean(name.text, ROLES) or (f"the roles are {listed(ROLES)}",),
        )
        return
    first = env.scope.roles.setdefault(name.text, s)
    if first is not s:
        env.error(
            "repeated-role",
            f"two things for the role {name.text}",
            Label(name.span, "the second"),
            Label(first.span, "the first"),
            hints=(f"join them: role {name.text} is ... or ...",),
        )


# ---------- the inside of a part


def _inside(use: tree.Use, env: Env, chain: tuple[str, ...], expansion: Expansion) -> Scope | None:
    part = expansion.parts.get(use.part.text)
    if part is None:
        if env.book.first_time("part", use.part.text):
            env.error(
                "unknown-part",
                f"there is no part {use.part.text}",
                Label(use.part.span, "not known"),
                hints=did_you_mean(use.part.text, expansion.parts)
                or ('include the file it is in: include "parts/name.latch"',),
            )
        env.scope.names.setdefault(use.name.text, None)
        return None
    if part.name.text in chain or len(chain) >= USES_DEEP:
        env.scope.names.setdefault(use.name.text, None)
        around = part.name.text in chain
        path = [*chain[chain.index(part.name.text) if around else 0 :], part.name.text]
        env.error(
            "part-loop",
            "a part cannot use itself" if around else f"parts use parts more than {USES_DEEP} deep",
            Label(use.part.span, "used by " + " used by ".join(reversed(path[:-1])) if path[:-1] else "used here"),
            Label(part.name.span, f"the part {part.name.text}"),
            hints=("take this use out of the part",),
        )
        return None
    scope = Scope(f"{env.full(use.name.text)}.", part, rehearsal=env.scope.rehearsal)
    trail = (*env.trail, Label(use.span, f"in the part used here as {use.name.text}"))
    inner_env = replace(env, scope=scope, trail=trail)
    expansion.uses.append((use, env, scope, inner_env))
    _write_out(part, use, inner_env, (*chain, part.name.text), expansion)
    return scope


def _write_out(part: tree.Part, use: tree.Use | None, env: Env, chain: tuple[str, ...], expansion: Expansion) -> None:
    expansion.written.add(part.name.text)
    for parameter in part.takes:
        if parameter.name.text in env.scope.names:
            first = next(p for p in part.takes if p.name.text == parameter.name.text)
            env.error(
                "duplicate-name",
                f"{parameter.name.text} is taken twice",
                Label(parameter.name.span, "the second"),
                Label(first.name.span, "the first"),
                hints=("give one of them another name",),
            )
        env.scope.names[parameter.name.text] = None
    taken = {p.name.text: p for p in part.takes}
    body: list[tree.Statement] = []
    for s in part.body:
        if isinstance(s, _ONLY_IN_FILE):
            env.error(
                "not-in-part",
                "this belongs into the rule file, not into a part",
                Label(s.span, "a part holds logic, rules and claims"),
                hints=("move it out, and let the part take what it needs: takes signal ..., value ..., sensor ...",),
            )
            continue
        found = name_of(s)
        if found is not None and found[0].text in taken:
            env.error(
                "duplicate-name",
                f"{found[0].text} is the name of two things",
                Label(found[0].span, f"here {KIND[found[1]]}"),
                Label(taken[found[0].text].name.span, "and here already what the part takes"),
                hints=(f"give one of them another name, such as {found[0].text}_2",),
            )
            continue
        body.append(s)
    _declare(tuple(body), env, chain, expansion)
    own = {n for n, e in env.scope.names.items() if e is not None}
    for given in part.gives:
        if given.text not in own and not expansion.overflow:
            reason = "only taken, not made here" if given.text in taken else "nothing in the part has this name"
            env.error(
                "unknown-name",
                f"the part gives {given.text}, but has no such thing",
                Label(given.span, reason),
                hints=did_you_mean(given.text, own),
            )


_ONLY_IN_FILE = (
    tree.Include, tree.Part, tree.Cycle, tree.Device, tree.Role, tree.Stage, tree.Switch, tree.Button, tree.Control,
    tree.Sensor, tree.Channel,
)  # fmt: skip


# ---------- what a use hands over


def _bind(use: tree.Use, outer: Env, inner: Scope, inner_env: Env) -> None:
    part = inner.part
    assert part is not None
    takes = {p.name.text: p for p in part.takes}
    given: dict[str, tree.Binding] = {}
    for binding in use.bindings:
        name = binding.name
        if name.text not in takes:
            outer.error(
                "unknown-parameter",
                f"{part.name.text} does not take {name.text}",
                Label(name.span, "not taken"),
                Label(part.name.span, f"it takes {listed(takes) or 'nothing'}"),
                hints=did_you_mean(name.text, takes),
            )
        elif name.text in given:
            outer.error(
                "repeated-clause",
                f"{name.text} is given twice",
                Label(name.span, "once more"),
                Label(given[name.text].name.span, "first here"),
                hints=("keep one of the two",),
            )
        else:
            given[name.text] = binding
    for parameter in part.takes:
        if parameter.name.text not in given:
            outer.error(
                "missing-binding",
                f"{part.name.text} needs {parameter.name.text}",
                Label(use.span, f"{parameter.name.text} is not given here"),
                Label(parameter.name.span, f"{parameter.kind} {parameter.name.text} is taken here"),
                hints=(f"add: with {parameter.name.text} = ...",),
            )
        else:
            binding = given[parameter.name.text]
            inner.names[parameter.name.text] = _handed_over(parameter, binding, outer, inner)


def _handed_over(parameter: tree.Parameter, binding: tree.Binding, outer: Env, inner: Scope) -> Entity | None:
    """What the parameter stands for inside: the thing itself where one is named, else a value or signal of its own."""
    e = bare(binding.value)
    if deeper_than(NESTING, e):
        return None
    named = look_up(e, outer) if isinstance(e, tree.Ref) else None
    if parameter.kind == "sensor" or parameter.kind == "channel":
        if isinstance(e, tree.Ref) and named is None:
            if e.parts[0].text not in outer.scope.names:
                unknown(e.parts[0], outer, e.text, frozenset({parameter.kind}))
            return None
        if named is None or named.kind != parameter.kind or named.guarded:
            outer.error(
                "wrong-kind",
                f"{parameter.name.text} must be a {parameter.kind}",
                Label(
                    binding.value.span,
                    f"this is {KIND[named.kind]}" if named else f"this is not the name of a {parameter.kind}",
                ),
                Label(parameter.name.span, f"{parameter.kind} {parameter.name.text} is taken here"),
                hints=(f"name a {parameter.kind} here",),
            )
            return None
        outer.book.used.add(named.name)
        return named
    plain: tuple[Kind, ...] = ("signal", "latch", "phase") if parameter.kind == "signal" else (
        "fact", "tune", "value", "sample", "counter", "stick", "knob", "sensor", "channel",
    )  # fmt: skip
    if named is not None and named.kind in plain:
        outer.book.used.add(named.name)
        return replace(named, guarded=True)
    return Entity(inner.prefix + parameter.name.text, parameter.kind, parameter.name.span, binding, outer.scope)


def reserved_phase(name: str) -> bool:
    """Names that a phase cannot have, since `gear.voice` and the like mean something else."""
    return name in MEANS or name == ANNOUNCED
