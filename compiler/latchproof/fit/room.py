"""Whether the entries fit: counted by kind, as the listing makes them."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from latchproof.fit.model import Misfit
from latchproof.rules.model import RuleSet
from latchproof.transmitter.model import Kind, Transmitter

_KINDS: dict[str, Kind | None] = {
    "condition": "comparison",
    "logic": "gate",
    "delay": "delay",
    "latch": "latch",
    "counter": "counter",
    "sample": "kept value",
    "calculation": "calculation",
    "sequence": "latch",
    "action": "action",
    "announcement": "announcement",
    "channel": None,
    "sensor": None,
    "failsafe": None,
}
"""By section of the listing. None: not an entry of the logic, but a setting that the model has anyway."""


def kind_of(section: str, kind: str) -> Kind | None:
    """What an entry of the listing is for a transmitter; KeyError for a section that nobody has counted."""
    if section == "logic" and kind.startswith("true for one pass"):
        return "edge"
    if section == "latch" and kind.startswith("time-out"):
        return "delay"
    return _KINDS[section]


def exists(t: Transmitter, kind: Kind) -> bool:
    """Whether there is any entry of this kind."""
    if kind in t.room.absent:
        return False
    own = dict(t.room.each)
    return own[kind] > 0 if kind in own else t.room.total is not None


def crowded(
    kinds: Mapping[Kind, int], t: Transmitter, savings: Mapping[str, Mapping[Kind, int]] | None = None
) -> tuple[Misfit, ...]:
    """What is too many. `savings`: how many entries of each kind would go with each rule, by its name."""
    own = dict(t.room.each)
    found = [
        Misfit(
            "too many",
            f"{count} {plural(kind, count)}",
            str(count),
            str(own.get(kind, 0)),
            helps=_helps(savings, [kind], count - own.get(kind, 0)),
        )
        for kind, count in sorted(kinds.items())
        if count > own.get(kind, 0) and (kind in own or not exists(t, kind))
    ]
    shared = {kind: count for kind, count in sorted(kinds.items()) if kind not in own and exists(t, kind)}
    total = sum(shared.values())
    if t.room.total is not None and total > t.room.total:
        made = ", ".join(f"{count} {plural(kind, count)}" for kind, count in shared.items() if count)
        found.append(
            Misfit("too many", made, str(total), str(t.room.total), helps=_helps(savings, shared, total - t.room.total))
        )
    return tuple(found)


def _helps(savings: Mapping[str, Mapping[Kind, int]] | None, kinds: Iterable[Kind], wanted: int) -> tuple[str, ...]:
    """Rules without which it would fit, the one that costs least to lose first; else those that save most."""
    counted = {name: sum(saved.get(kind, 0) for kind in kinds) for name, saved in (savings or {}).items()}
    whole = {name: sum(saved.values()) for name, saved in (savings or {}).items()}
    enough = sorted((count, whole[name], name) for name, count in counted.items() if count >= wanted)
    if enough:
        return tuple(f"leaving out the rule {name} would save {count}" for count, _, name in enough[:3])
    most = sorted((-count, name) for name, count in counted.items() if count > 0)
    return tuple(
        f"leaving out the rule {name} would save {-count}, which alone is not enough" for count, name in most[:3]
    )


def savings(rules: RuleSet, count: Callable[[RuleSet], Mapping[Kind, int]]) -> dict[str, Counter[Kind]]:
    """How many entries of each kind would go with each rule; `count` is the counting of whoever makes the entries.

    One that would come instead counts less than nothing.
    """
    whole = Counter(count(rules))
    found: dict[str, Counter[Kind]] = {}
    for r in rules.rules:
        found[r.name] = Counter(whole)
        found[r.name].subtract(count(without(rules, r.name)))
    return found


def without(rules: RuleSet, name: str) -> RuleSet:
    """The rules with one rule doing nothing; it stays, so that what asks about it still has an answer."""
    return replace(rules, rules=tuple(replace(r, actions=()) if r.name == name else r for r in rules.rules))


def tally(sections: list[tuple[str, str]]) -> Counter[Kind]:
    """Counts entries given as (section, kind)."""
    found: Counter[Kind] = Counter()
    for section, kind in sections:
        counted = kind_of(section, kind)
        if counted is not None:
            found[counted] += 1
    return found


_PLURALS: dict[Kind, str] = {
    "latch": "latches",
}


def plural(kind: Kind, count: int) -> str:
    return kind if count == 1 else _PLURALS.get(kind, f"{kind}s")
