"""Names that nothing uses: most often a line that was forgotten."""

from latchproof.diagnostics import Label
from latchproof.rules.scope import Entity, Env, entities
from latchproof.rules.words import KIND, Kind

_WORTH_SAYING: frozenset[Kind] = frozenset({"value", "sample", "signal", "latch", "counter", "tune"})


def unused(env: Env) -> None:
    """Warn of names of the file itself that no statement speaks of. Facts may stand there for the reader."""
    for entity in entities(env.scope):
        if entity.kind in _WORTH_SAYING and entity.name not in env.book.used:
            _warn(entity, env)


def _warn(entity: Entity, env: Env) -> None:
    env.warn(
        "unused",
        f"nothing uses {entity.name}",
        Label(entity.place, f"{KIND[entity.kind]} without any effect"),
        hints=("use it in a rule or a claim, or take it out",),
    )
