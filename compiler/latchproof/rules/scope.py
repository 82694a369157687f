"""Names: what they stand for, where they can be seen, and the book that a resolution keeps."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from latchproof.diagnostics import Diagnostic, Label, Severity
from latchproof.rules.limits import SUGGESTIONS
from latchproof.rules.numbers import Amount
from latchproof.rules.suggest import did_you_mean
from latchproof.rules.words import ANNOUNCED, KIND, MEANS, Kind
from latchproof.source import Source, Span
from latchproof.syntax import tree


@dataclass(frozen=True, slots=True, eq=False)
class Entity:
    """A named thing. `name` is its full name (`restart.locked`), `place` its first mention.

    `scope` is where its own expressions are read; for what a part takes, that is the scope of the `use`.
    `inner` is the inside of a part in use. `guarded`: taken by a part as a plain value or signal, so no more than that.
    """

    name: str
    kind: Kind
    place: Span
    node: tree.Statement | tree.Phase | tree.Binding | tree.Announce | None
    scope: "Scope"
    inner: "Scope | None" = None
    guarded: bool = False


@dataclass(slots=True, eq=False)
class Scope:
    """The names of the file (`prefix` empty, `part` None) or of one use of a part."""

    prefix: str = ""
    part: tree.Part | None = None
    names: dict[str, Entity | None] = field(default_factory=dict)
    """None: a name whose thing could not be made out; it was reported, and says nothing more."""
    roles: dict[str, tree.Role] = field(default_factory=dict)
    rehearsal: bool = False
    """A part that nothing uses, read only for its faults: what it takes is unknown."""


@dataclass(slots=True, eq=False)
class Book:
    """What one resolution gathers."""

    sources: Mapping[str, Source]
    diagnostics: list[Diagnostic] = field(default_factory=list)
    amounts: dict[str, Amount | None] = field(default_factory=dict)
    """By full name, for everything that is a number."""
    used: set[str] = field(default_factory=set)
    inlined: int = 0
    too_long: bool = False
    """What a channel follows, written out, was too long; that was said."""
    steering: set[str] | None = None
    """Sticks and knobs that a channel with declared directions follows; None until somebody asks."""
    muted: bool = False
    _unknown: set[tuple[str, str]] = field(default_factory=set)
    _said: set[tuple[str, Span]] = field(default_factory=set)

    def say(self, severity: Severity, code: str, title: str, labels: tuple[Label, ...], hints: tuple[str, ...]) -> None:
        """Each code once at a place."""
        if self.muted or (labels and (code, labels[0].span) in self._said):
            return
        if labels:
            self._said.add((code, labels[0].span))
        self.diagnostics.append(Diagnostic(code, title, labels, hints, severity))

    def first_time(self, prefix: str, name: str) -> bool:
        """Whether this unknown name has not been reported yet."""
        if self.muted or (prefix, name) in self._unknown:
            return False
        self._unknown.add((prefix, name))
        return True

    def many_unknown(self) -> bool:
        return len(self._unknown) > SUGGESTIONS


@dataclass(frozen=True, slots=True)
class Env:
    """Where an expression stands: its scope, the uses that led there, and what is special about the place."""

    book: Book
    scope: Scope
    trail: tuple[Label, ...] = ()
    promise: bool = False
    """In a claim or assumption, where the true quantity may be spoken of."""
    follows: bool = False
    """In what a channel follows, where a stick is what the actions have made of it."""
    inside: tuple[str, ...] = ()
    """Values being written out in what a channel follows."""
    written: int = 0
    """How many levels of expressions they are together."""

    def error(self, code: str, title: str, *labels: Label, hints: tuple[str, ...] = ()) -> None:
        self.book.say("error", code, title, labels + self.trail, hints)

    def warn(self, code: str, title: str, *labels: Label, hints: tuple[str, ...] = ()) -> None:
        self.book.say("warning", code, title, labels + self.trail, hints)

    def text(self, span: Span) -> str:
        """What is written there, comments dropped and white space folded; empty if the source is not at hand."""
        source = self.book.sources.get(span.source)
        if source is None:
            return ""
        lines = source.text[span.start : span.end].split("\n")
        return " ".join(" ".join(line.partition("#")[0] for line in lines).split())

    def comment_in(self, span: Span) -> bool:
        """Whether the writer has explained something there. Only for a span without texts in quotation marks."""
        source = self.book.sources.get(span.source)
        return source is not None and "#" in source.text[span.start : span.end]

    def full(self, name: str) -> str:
        return self.scope.prefix + name

    def named(self, entity: Entity) -> "Env":
        """Where the expressions of that thing stand; what a part is given stands outside of it."""
        outside = isinstance(entity.node, tree.Binding)
        return replace(self, scope=entity.scope, trail=self.trail[:-1] if outside else self.trail)


def found(ref: tree.Ref, env: Env) -> Entity | None:
    """What a reference stands for; None after reporting that nobody knows."""
    entity = look_up(ref, env, quiet=False)
    if entity is not None and not env.book.muted:
        env.book.used.add(entity.name)
    return entity


def look_up(ref: tree.Ref, env: Env, quiet: bool = True) -> Entity | None:
    first, *rest = ref.parts
    scope = env.scope
    if first.text in scope.names:
        entity = scope.names[first.text]
    elif not rest and first.text in scope.roles:
        role = scope.roles[first.text]
        return Entity(first.text, "role", role.role.span, role, scope)
    else:
        if not quiet:
            unknown(first, env, ref.text)
        return None
    if entity is None or not rest:
        return entity
    return _inner(entity, ref, env, quiet)


def unknown(name: tree.Name, env: Env, whole: str | None = None, only: frozenset[Kind] | None = None) -> None:
    """Report an unknown name, once, with the most similar one among those of the kinds wanted."""
    if env.scope.rehearsal and name.text in env.scope.names:
        return
    if not env.book.first_time(env.scope.prefix, name.text):
        return
    scope = env.scope
    hints: tuple[str, ...] = ()
    if not env.book.many_unknown():
        wanted = (n for n, e in scope.names.items() if e is not None and (only is None or e.kind in only))
        hints = did_you_mean(name.text, (*wanted, *scope.roles))
    if scope.part is not None and not hints:
        hints = (f"a part sees only what it takes: add it to `takes` of {scope.part.name.text}",)
    env.error("unknown-name", f"nothing is called {whole or name.text}", Label(name.span, "not known"), hints=hints)


def _inner(entity: Entity, ref: tree.Ref, env: Env, quiet: bool) -> Entity | None:
    outer, name = ref.parts[0], ref.parts[1]
    known: list[str]
    match entity.node:
        case tree.Use() if entity.inner is not None and entity.inner.part is not None:
            part = entity.inner.part
            known = [g.text for g in part.gives]
            if name.text in known:
                return entity.inner.names.get(name.text)
            if not quiet:
                hidden = name.text in entity.inner.names
                reason = f"{part.name.text} keeps it to itself" if hidden else f"{part.name.text} gives no such thing"
                hints = did_you_mean(name.text, known)
                if hidden:
                    hints = (f"add {name.text} to `gives` of the part {part.name.text}",)
                env.error(
                    "unknown-name", f"{outer.text} has no {name.text} to give", Label(name.span, reason), hints=hints
                )
            return None
        case tree.Rule(actions=actions):
            announced = means_of(actions)
            known = [*announced, ANNOUNCED] if announced else []
            if name.text in known:
                return Entity(f"{entity.name}.{name.text}", "announcement", entity.place, None, entity.scope)
        case tree.Sequence(phases=phases):
            for phase in phases:
                if phase.name.text == name.text:
                    return Entity(f"{entity.name}.{name.text}", "phase", phase.name.span, phase, entity.scope)
            announced = means_of(tuple(a for p in phases for a in p.actions))
            known = [p.name.text for p in phases] + ([*announced, ANNOUNCED] if announced else [])
            if name.text in known:
                return Entity(f"{entity.name}.{name.text}", "announcement", entity.place, None, entity.scope)
        case _:
            known = []
    if not quiet and env.book.first_time(env.scope.prefix, ref.text):
        hints = did_you_mean(name.text, known)
        if known and not hints:
            hints = (f"{outer.text} has {', '.join(known)}",)
        elif isinstance(entity.node, tree.Rule) and not known:
            hints = (f'write announce voice "..." in {outer.text}, then {outer.text}.voice tells that it is in force',)
        env.error(
            "unknown-name",
            f"{outer.text} has no {name.text}",
            Label(name.span, "not known"),
            Label(entity.place, f"{outer.text} is {KIND[entity.kind]}"),
            hints=hints,
        )
    return None


def means_of(actions: tuple[tree.Action, ...]) -> list[str]:
    """By what means the actions announce something."""
    used = {a.means.text for a in actions if isinstance(a, tree.Announce)}
    return [m for m in MEANS if m in used]


def entities(scope: Scope) -> Iterator[Entity]:
    """Every thing declared in the scope itself."""
    return (e for e in scope.names.values() if e is not None)
