"""What can be asked of a named thing: the age and truth of a sensor, the pilot's own value of a channel."""

from collections.abc import Callable
from dataclasses import replace

from latchproof.diagnostics import Label
from latchproof.rules.expressions import Own, Truth
from latchproof.rules.numbers import Amount
from latchproof.rules.scope import Entity, Env, found
from latchproof.rules.units import NO_UNIT
from latchproof.rules.walk import bare
from latchproof.rules.words import KIND, per_second
from latchproof.syntax import tree


def single(e: tree.Of, env: Env) -> tree.Expr | None:
    """The one thing that the function is of."""
    if len(e.arguments) == 1:
        return e.arguments[0]
    env.error(
        "one-thing-only",
        f"{e.function.text} of takes one thing",
        Label(e.arguments[1].span if e.arguments else e.span, "one too many"),
        hints=(f"write {e.function.text} of (...) once for each",),
    )
    return None


def of_sensor(e: tree.Of, env: Env, build: Callable[[str, Amount], Amount]) -> Amount | None:
    entity = _argument_entity(e, env, ("sensor",), "a sensor")
    amount = None if entity is None else env.book.amounts.get(entity.name)
    return None if entity is None or amount is None else build(entity.name, amount)


def truth(e: tree.Of, env: Env) -> Amount | None:
    entity = _argument_entity(e, env, ("sensor",), "a sensor")
    amount = None if entity is None else env.book.amounts.get(entity.name)
    if entity is None or amount is None:
        return None
    if not env.promise:
        env.error(
            "truth-in-rules",
            f"a transmitter cannot know the true {entity.name}",
            Label(e.span, "only claims and assumptions may speak of it"),
            hints=(f"write {entity.name}, which is what the sensor shows",),
        )
        return None
    node = entity.node
    if isinstance(node, tree.Sensor) and not any(c.kind == "changes" for c in node.clauses):
        rate = per_second(amount.unit or NO_UNIT).symbol
        env.error(
            "truth-needs-changes",
            f"nothing is known of how fast the true {entity.name} changes",
            Label(e.span, "the true quantity, between the frames"),
            Label(entity.place, "has no `changes from ... to ...`"),
            hints=(f'add to sensor {entity.name}: changes from -3 {rate} to 3 {rate}  assumed "how you know"',),
        )
        return None
    return replace(amount, number=Truth(entity.name, span=e.span), measured=True)


def pilot_value(e: tree.Of, env: Env) -> Amount | None:
    entity = _argument_entity(e, env, ("channel", "stick", "knob"), "a channel, stick or knob")
    amount = None if entity is None else env.book.amounts.get(entity.name)
    return (
        None if entity is None or amount is None else replace(amount, number=Own(entity.name, span=e.span), held=False)
    )


def _argument_entity(e: tree.Of, env: Env, kinds: tuple[str, ...], wanted: str) -> Entity | None:
    argument = single(e, env)
    if argument is None:
        return None
    inner = bare(argument)
    if not isinstance(inner, tree.Ref):
        env.error(
            "wrong-kind",
            f"{e.function.text} of needs the name of {wanted}",
            Label(inner.span, f"not the name of {wanted}"),
            hints=(f"write {e.function.text} of NAME",),
        )
        return None
    entity = found(inner, env)
    if entity is None:
        return None
    if entity.kind not in kinds or entity.guarded:
        env.error(
            "wrong-kind",
            f"{e.function.text} of needs {wanted}",
            Label(inner.span, f"this is {KIND[entity.kind]}"),
            Label(entity.place, "declared here"),
            hints=(f"name {wanted} here",),
        )
        return None
    return entity
