"""Actions and announcements put together to rules, as far as possible under the names that the rule file gives them.

What is printed decides: when the entries of one rule do not act together any more, or who wins over whom cannot be said
of whole rules, each action becomes a rule of its own.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from graphlib import CycleError
from itertools import pairwise

from latchproof.listing.layers import Layers, layers_of
from latchproof.machine.ordering import lined_up
from latchproof.readback.desk import Back, yields
from latchproof.readback.doing import LISTS, Does, Has, Tells
from latchproof.rules import expressions as e
from latchproof.rules.model import Action, Precedence, Rule, RuleSet
from latchproof.rules.model import Sequence as Phases

Doing = Does | Tells


@dataclass
class Put:
    """Rules made of entries. `owners`: under which names the rules stand that the file has one name for.
    `where`: the rule of each entry."""

    rules: list[Rule] = field(default_factory=list)
    sequences: list[Phases] = field(default_factory=list)
    precedences: list[Precedence] = field(default_factory=list)
    owners: dict[str, list[str]] = field(default_factory=dict)
    where: dict[int, str] = field(default_factory=dict)


def put_together(
    b: Back, header: RuleSet, does: list[Does], tells: list[Tells], has: list[Has], apart: set[int]
) -> Put:
    """`apart`: announcements that an entry asks about on their own. Reports lists that contradict one another."""
    orders = _orders(b, does, has)
    for single in (False, True):
        made = _put(b, header, does, tells, orders, apart, single=single)
        if made is not None and not _against(b, header, made, does, orders):
            return made
    made = _put(b, header, does, tells, orders, apart, single=True)
    if made is None:
        b.problems.append(b.wrong(does[0].entry, "who wins over whom goes round in a circle", "", "wins over").problem)
        return Put()
    b.problems += [b.wrong(n, why, "", label).problem for n, label, why in _against(b, header, made, does, orders)[:1]]
    return made


def _orders(b: Back, does: list[Does], has: list[Has]) -> dict[str, tuple[tuple[int, ...], ...]]:
    """For each thing that is acted on the three lists of who acts, as its entry has them; without one, as numbered."""
    acting: dict[str, list[Does]] = {}
    for d in does:
        acting.setdefault(d.acts_on, []).append(d)
    found: dict[str, tuple[tuple[int, ...], ...]] = {}
    for h in has:
        mine = acting.get(h.name, [])
        for label, listed in zip(LISTS, h.lists, strict=True):
            wanted = {d.entry.number for d in mine if d.layer == label}
            wrong = sorted(set(listed) ^ wanted)
            if wrong or len(listed) != len(wanted):
                number = wrong[0] if wrong else listed[0]
                b.problems.append(b.wrong(h.entry, f"entry {number} and this list do not agree", "", label).problem)
        found[h.name] = h.lists
    for name, several in acting.items():
        if name not in found:
            found[name] = tuple(tuple(d.entry.number for d in several if d.layer == label) for label in LISTS)
    return found


def _put(
    b: Back, header: RuleSet, does: list[Does], tells: list[Tells], orders: dict[str, tuple[tuple[int, ...], ...]],
    apart: set[int], *, single: bool,
) -> Put | None:  # fmt: skip
    made = Put()
    at = {n: (name, k) for name, lists in orders.items() for k, n in enumerate(n for several in lists for n in several)}
    groups: dict[str, list[Doing]] = {}
    phases = {f"{s.name}.{p.name}" for s in header.sequences for p in s.phases}
    entries = {name for n, name in b.named.items() if n in b.entries and yields(b.entries[n]) in ("state", "number")}
    taken = {b.named[n] for n in b.named} | {r.name for r in header.rules} | {s.name for s in header.sequences}
    acting: list[Doing] = [*does, *tells]
    pieces = {f"{s.name}{by}{p.name}": s.name for s in b.rules.sequences for p in s.phases for by in "._"}
    for x in acting:
        alone = single and isinstance(x, Does)
        name = _group(groups, phases, taken, entries, x, single=alone, apart=x.entry.number in apart)
        groups.setdefault(name, []).append(x)
        owner = pieces.get(x.place, x.place)
        made.owners.setdefault(owner, [])
        own = name if name not in phases else name.rpartition(".")[0]
        if own not in made.owners[owner]:
            made.owners[owner].append(own)
        made.where[x.entry.number] = own
        b.named[x.entry.number] = own
    for several in groups.values():
        several.sort(key=lambda x: at.get(x.entry.number, ("", -1))[1] if single else x.entry.number)
    place = {r.name: k for k, r in enumerate(header.rules)}
    first = {n: (place.get(n, len(place)), min(_numbers(several))) for n, several in groups.items()}
    names = sorted((n for n in groups if n not in phases), key=first.__getitem__)
    before = _before(names, groups, orders)
    made.precedences = [p for p in _precedences(b, does, made) if p.over != p.under]
    try:
        names = lined_up(before, {n: k for k, n in enumerate(names)}.__getitem__)
        _lined(made)
    except CycleError:
        return None
    made.rules = [Rule(n, groups[n][0].condition, _actions(groups[n]), span=b.span(groups[n][0].entry)) for n in names]
    made.sequences = [
        replace(s, phases=tuple(replace(p, actions=_actions(groups.get(f"{s.name}.{p.name}", []))) for p in s.phases))
        for s in header.sequences
    ]
    return made


def _numbers(several: Iterable[Doing]) -> list[int]:
    return [x.entry.number for x in several]


def _actions(several: Iterable[Doing]) -> tuple[Action, ...]:
    return tuple(x.action for x in several)


def _group(
    groups: dict[str, list[Doing]],
    phases: set[str],
    taken: set[str],
    entries: set[str],
    x: Doing,
    *,
    single: bool,
    apart: bool,
) -> str:
    """Under which name it stands: that of its rule or phase while it acts together with what stands there."""
    mine = f"{x.place}_entry_{x.entry.number}".replace(".", "_")
    while mine in taken:
        mine += "_"
    if x.place in phases:
        together = isinstance(x.condition, e.NamedSignal) and x.condition.name == x.place
        return x.place if together and not single and not apart else mine
    # A phase that is no part of a sequence any more is a state of that name, and its actions stand in a rule beside it.
    name = x.place.replace(".", "_") if x.place in entries else x.place
    together = name not in groups or groups[name][0].condition == x.condition
    return name if together and not single and not apart else mine


def _before(
    names: Sequence[str], groups: dict[str, list[Doing]], orders: dict[str, tuple[tuple[int, ...], ...]]
) -> dict[str, list[str]]:
    """Limits act one after the other, in the order in which their rules stand."""
    where = {x.entry.number: name for name in names for x in groups[name]}
    before: dict[str, list[str]] = {name: [] for name in names}
    for lists in orders.values():
        rules = [where[n] for n in lists[1] if n in where]
        for one, other in pairwise(rules):
            if one != other:
                before[other].append(one)
    return before


def _precedences(b: Back, does: list[Does], made: Put) -> Iterator[Precedence]:
    seen: set[tuple[str, str]] = set()
    for d in does:
        for n in d.over or ():
            pair = (made.where.get(d.entry.number, ""), made.where.get(n, ""))
            if all(pair) and pair not in seen:
                seen.add(pair)
                yield Precedence(*pair, span=b.span(d.entry))


def _lined(made: Put) -> None:
    """Raises CycleError where priorities go round in a circle."""
    under: dict[str, list[str]] = {}
    for p in made.precedences:
        under.setdefault(p.over, []).append(p.under)
        under.setdefault(p.under, [])
    place = {name: k for k, name in enumerate(under)}
    lined_up(under, place.__getitem__)


def _against(
    b: Back, header: RuleSet, made: Put, does: list[Does], orders: dict[str, tuple[tuple[int, ...], ...]]
) -> list[tuple[int, str, str]]:
    """Where the rules made do not act in the order of the lists: entry, field, and what is wrong."""
    rules = replace(
        header, rules=tuple(made.rules), sequences=tuple(made.sequences), precedences=tuple(made.precedences)
    )
    found: list[tuple[int, str, str]] = []
    number = {id(d.action): d.entry.number for d in does}
    by_number = {d.entry.number: d for d in does}
    for name, lists in orders.items():
        layers = layers_of(rules, name)
        limits = tuple(number[id(a.action)] for a in layers.limits)
        drives = tuple(number[id(a.action)] for a in layers.drives)
        if limits != lists[1] and lists[1]:
            found.append((lists[1][0], "acts on", "the limits on one channel cannot act in this order"))
        if drives != lists[2] and lists[2]:
            found.append((lists[2][0], "wins over", f"{_thing(name)} has another order of who replaces it"))
        if not found:
            found += _standing(layers, drives, by_number)
    return found


def _thing(name: str) -> str:
    return f"the entry of {name.replace('_', ' ')}"


def _standing(layers: Layers, drives: tuple[int, ...], by_number: dict[int, Does]) -> Iterator[tuple[int, str, str]]:
    """What each action says of the others must be what the order of all comes to."""
    for i, n in enumerate(drives):
        loose = {drives[j] for j in layers.loose[i]}
        wanted = {
            "wins over": {m for m in drives[:i] if m not in loose},
            "gives way to": {m for m in drives[i + 1 :] if m not in loose},
            "no order with": loose,
        }
        d = by_number[n]
        said = {"wins over": d.over or (), "gives way to": d.under or (), "no order with": d.loose}
        for label, several in wanted.items():
            if set(said[label]) != several:
                yield n, label, f"this does not agree with the other entries: {_some(several)} is meant"
    for a in (*layers.moves, *layers.limits):
        d = next(d for d in by_number.values() if d.action is a.action)
        if set(d.under or ()) != set(drives):
            yield (
                d.entry.number,
                "gives way to",
                f"this does not agree with the other entries: {_some(drives)} is meant",
            )


def _some(numbers: Iterable[int]) -> str:
    return ", ".join(f"entry {n}" for n in sorted(numbers)) or "none"
