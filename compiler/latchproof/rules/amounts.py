"""What every named number is: resolved in the order in which they need one another, whatever the order of the text.

A value may refer to itself through `previous`; its unit then follows from the rest of it. Such rings are resolved
quietly until their units settle, and once more aloud.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from latchproof.diagnostics import Label
from latchproof.rules.expressions import NamedNumber
from latchproof.rules.kinds import NUMBER_KINDS
from latchproof.rules.numbers import Amount, Varies
from latchproof.rules.quantities import amount_of, expressions_of
from latchproof.rules.scope import Entity, Env, entities, look_up
from latchproof.rules.units import Unit
from latchproof.rules.walk import refs

_ROUNDS = 4


def settle(things: Sequence[tuple[Entity, Env]]) -> None:
    """Fill the book with the amounts of all named numbers."""
    if not things:
        return
    book = things[0][1].book
    envs = {e.name: (e, env) for e, env in things}
    order, looped = _in_order(envs)
    for name in order:
        if name in looped:
            book.amounts[name] = _not_yet(*envs[name])
    if looped:
        book.muted = True
        for _ in range(_ROUNDS):
            before = _units(looped, book.amounts)
            for name in order:
                book.amounts[name] = _loose(amount_of(*envs[name])) if name in looped else amount_of(*envs[name])
            if _units(looped, book.amounts) == before:
                break
        book.muted = False
    for name in order:
        amount = amount_of(*envs[name])
        if name in looped:
            amount = _loose(amount)
            if amount is not None and amount.unit is None:
                _no_unit(*envs[name])
                amount = None
        book.amounts[name] = amount


def _units(names: Iterable[str], amounts: Mapping[str, Amount | None]) -> dict[str, Unit | None]:
    return {n: a.unit if (a := amounts[n]) is not None else None for n in names}


def _not_yet(entity: Entity, env: Env) -> Amount:
    return Amount(NamedNumber(entity.name, span=entity.place), None, Varies.FLYING)


def _loose(amount: Amount | None) -> Amount | None:
    """Without bounds: in a ring they would depend on how often one goes round."""
    return None if amount is None else replace(amount, low=None, high=None, varies=Varies.FLYING)


def _no_unit(entity: Entity, env: Env) -> None:
    env.error(
        "unit-unknown",
        f"{entity.name} what? nothing tells its unit",
        Label(entity.place, "made of nothing but itself"),
        hints=("add a number with a unit, such as + 0 m",),
    )


def _in_order(envs: dict[str, tuple[Entity, Env]]) -> tuple[list[str], set[str]]:
    """Names with what they need first, and the names that stand in a ring (Tarjan's walk, without recursion)."""
    order: list[str] = []
    looped: set[str] = set()
    number: dict[str, int] = {}
    lowest: dict[str, int] = {}
    open_: dict[str, None] = {}
    for root in envs:
        if root in number:
            continue
        work: list[tuple[str, Iterator[str]]] = []
        fresh: str | None = root
        while fresh is not None or work:
            if fresh is not None:
                number[fresh] = lowest[fresh] = len(number)
                open_[fresh] = None
                work.append((fresh, iter(_needs(*envs[fresh]))))
                fresh = None
            name, needed = work[-1]
            for other in needed:
                if other not in envs:
                    continue
                if other not in number:
                    fresh = other
                    break
                if other == name:
                    looped.add(name)
                elif other in open_:
                    lowest[name] = min(lowest[name], number[other])
            if fresh is not None:
                continue
            work.pop()
            order.append(name)
            if work:
                lowest[work[-1][0]] = min(lowest[work[-1][0]], lowest[name])
            if lowest[name] == number[name]:
                ring: list[str] = []
                while not ring or ring[-1] != name:
                    ring.append(open_.popitem()[0])
                if len(ring) > 1:
                    looped.update(ring)
    return order, looped


def _needs(entity: Entity, env: Env) -> Iterable[str]:
    inside = env.named(entity)
    for ref in refs(*expressions_of(entity)):
        needed = look_up(ref, inside)
        if needed is not None and needed.kind in NUMBER_KINDS:
            yield needed.name


def numbers_in(envs: Iterable[Env]) -> list[tuple[Entity, Env]]:
    """The named numbers of the scopes, each once."""
    found: dict[str, tuple[Entity, Env]] = {}
    for env in envs:
        for entity in entities(env.scope):
            if entity.kind in NUMBER_KINDS and entity.name not in found and not entity.guarded:
                found[entity.name] = (entity, env)
    return list(found.values())
