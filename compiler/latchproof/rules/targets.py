"""What an action acts on: a channel (the output), or a stick or knob (before mixing)."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules.channels import PLAIN_DIRECTIONS, declared_directions
from latchproof.rules.scope import Entity, Env, entities, found, look_up, unknown
from latchproof.rules.units import Unit
from latchproof.rules.walk import refs
from latchproof.rules.words import KIND
from latchproof.syntax import tree


@dataclass(frozen=True, slots=True)
class Target:
    """`low` and `high` are its end points in base units."""

    entity: Entity
    low: Fraction
    high: Fraction
    unit: Unit


def target(ref: tree.Ref, env: Env) -> Target | None:
    if len(ref.parts) == 1 and ref.text not in env.scope.names and ref.text not in env.scope.roles:
        unknown(ref.parts[0], env, None, frozenset({"channel", "stick", "knob"}))
        return None
    entity = found(ref, env)
    if entity is None:
        return None
    if entity.kind not in ("channel", "stick", "knob") or entity.guarded:
        env.error(
            "wrong-kind",
            f"{ref.text} is {'only taken as a value' if entity.guarded else KIND[entity.kind]}: nothing can act on it",
            Label(ref.span, "an action names a channel, a stick or a knob"),
            Label(entity.place, "declared here"),
            hints=("name the channel that is to be driven, moved or limited",),
        )
        return None
    amount = env.book.amounts.get(entity.name)
    if amount is None or amount.low is None or amount.high is None or amount.unit is None:
        return None
    return Target(entity, amount.low, amount.high, amount.unit)


def directions_of(on: Target, env: Env) -> tuple[tuple[str, int], ...]:
    """Direction words with their signs. A channel may declare its own; a stick has only the plain ones.

    It has only `more` and `less` if a channel that follows it declares what up or down is there: more on the stick
    might be down at the surface.
    """
    if isinstance(on.entity.node, tree.Channel):
        return declared_directions(on.entity.node) or PLAIN_DIRECTIONS
    if on.entity.name in _steering(on.entity, env):
        return tuple((w, s) for w, s in PLAIN_DIRECTIONS if w in ("more", "less"))
    return PLAIN_DIRECTIONS


def _steering(control: Entity, env: Env) -> set[str]:
    """The sticks and knobs named in what a channel with declared directions follows."""
    if env.book.steering is None:
        env.book.steering = {
            named.name
            for channel in entities(control.scope)
            if isinstance(channel.node, tree.Channel) and declared_directions(channel.node)
            for clause in channel.node.clauses
            if isinstance(clause, tree.Clause) and clause.kind == "follows"
            for ref in refs(*clause.expressions)
            if (named := look_up(ref, env.named(channel))) is not None
        }
    return env.book.steering
