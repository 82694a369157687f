"""Who acts on a channel or control, and which drive wins over which."""

from dataclasses import dataclass

from latchproof.machine.actions import Acting, acting_on, in_priority
from latchproof.rules.model import Drive, Limit, Move, RuleSet


@dataclass(frozen=True, slots=True)
class Layers:
    """Moves, then limits, then drives from the weakest to the strongest.

    `loose`: for each drive those (by place) with which it has no order and which could act together with it.
    """

    moves: tuple[Acting, ...]
    limits: tuple[Acting, ...]
    drives: tuple[Acting, ...]
    loose: tuple[frozenset[int], ...]

    @property
    def all(self) -> tuple[Acting, ...]:
        return (*self.moves, *self.limits, *self.drives)


def layers_of(rules: RuleSet, name: str) -> Layers:
    acting = acting_on(rules, name)
    drives = in_priority(tuple(a for a in acting if isinstance(a.action, Drive)), rules)
    beneath = _closure(rules)
    loose = tuple(
        frozenset(j for j, b in enumerate(drives) if i != j and not (_ordered(a, b, beneath) or _in_turn(a, b)))
        for i, a in enumerate(drives)
    )
    return Layers(
        tuple(a for a in acting if isinstance(a.action, Move)),
        tuple(a for a in acting if isinstance(a.action, Limit)),
        drives,
        loose,
    )


def _closure(rules: RuleSet) -> dict[str, set[str]]:
    """For each rule all that it outranks, directly or not."""
    below: dict[str, list[str]] = {}
    for p in rules.precedences:
        below.setdefault(p.over, []).append(p.under)
    total: dict[str, set[str]] = {}
    for root in below:
        reached, stack = total.setdefault(root, set()), list(below[root])
        while stack:
            name = stack.pop()
            if name not in reached:
                reached.add(name)
                stack.extend(below.get(name, ()))
    return total


def _ordered(a: Acting, b: Acting, beneath: dict[str, set[str]]) -> bool:
    return b.rule in beneath.get(a.rule, ()) or a.rule in beneath.get(b.rule, ())


def _in_turn(a: Acting, b: Acting) -> bool:
    """Two phases of one sequence never act together, unless one of them hands back slowly."""
    phases = a.rule == b.rule and a.name.split("@")[1] != b.name.split("@")[1]
    return phases and a.action.modifiers.back is None and b.action.modifiers.back is None
