"""The dangers that `latchproof hazards` looks for, as ones that may notice a weakening where no promise does.

A hazard notices when nothing about it was amiss for that element of the rules as they are, and with the weakened ones
it occurs. Cheapest question first: what the text alone shows, kept flights and a short search; then proofs.
"""

import time
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from threading import Lock

from latchproof.hazards.model import Check, Outcome, Seen
from latchproof.hazards.report import acceptance, machines, outcomes
from latchproof.hazards.site import Site
from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.prover import prove_each
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import RuleSet
from latchproof.strength.alike import Key, system_key
from latchproof.strength.flights import Flight, is_can, reached
from latchproof.strength.kept_flights import flyable
from latchproof.strength.looking import looked
from latchproof.strength.notice import Known, Look

Pair = tuple[str, str]
"""A hazard, and the element that it is about."""

Name = tuple[str, str]
"""Of a check: its variant of the rules, and what its verdict is called by."""


@dataclass(frozen=True, slots=True)
class Danger:
    """`hazard` is its number; `about` the rule, latch or other element that runs into it; `said` what no longer holds,
    or what is wrong, in a pilot's words."""

    hazard: str
    about: str
    said: str


@dataclass(frozen=True, slots=True)
class Warned:
    """The first danger that was found; or those of which it is not settled whether they occur. `new`: flights that were
    found on the way."""

    by: Danger | None = None
    open: tuple[Danger, ...] = ()
    new: tuple[Flight, ...] = ()


@dataclass
class Dangers:
    """`site` is the rules as they are. A hazard of them is proved when a weakening touches it for the first time."""

    site: Site
    workers: Workers
    time_limit: float
    at_once: int
    _lock: Lock = field(default_factory=Lock)
    _verdicts: dict[Name, Verdict] = field(default_factory=dict)

    def glance(self, rules: RuleSet, flights: Sequence[Flight]) -> Warned:
        """What the text of the weakened rules shows by itself, kept flights and a short search."""
        found = outcomes(Site(rules, self.site.sources))
        for o in found:
            if isinstance(o, Seen) and not o.fine and self._counts(o, rules):
                return Warned(Danger(o.hazard, o.about, o.said))
        asked = self._checks(found, rules)
        new: list[Flight] = []
        for variant, machine in _by_variant(tuple(asked.values())).items():
            touched = self._touched(variant, machine)
            for seen in _broken(
                replace(machine, properties=touched), (*new, *flights), self.workers, self.time_limit, new
            ):
                check = asked[variant, seen]
                if self._was_fine(check):
                    return Warned(_danger(check), new=tuple(new))
        return Warned(new=tuple(new))

    def look(self, rules: RuleSet, flights: Sequence[Flight]) -> Warned:
        """The same with proofs, in the time of one promise."""
        asked = self._checks(outcomes(Site(rules, self.site.sources)), rules)
        made = _by_variant(tuple(asked.values()))
        all_known = {variant: self._known(variant, machine, asked) for variant, machine in made.items()}
        until = time.monotonic() + self.time_limit
        unsettled: list[Danger] = []
        new: list[Flight] = []
        for variant, machine in made.items():
            fair = {key for key, c in asked.items() if not self._amiss(c.hazard, c.about)}
            machine = replace(machine, properties=tuple(p for p in machine.properties if (variant, p.name) in fair))
            look = Look(all_known[variant], machine, TimeGoesOn(self.workers), self.time_limit, until)
            able = [f for f in (*new, *flights) if not machine.starts or flyable(machine, f)]
            seen = look.run(able, ())
            new += seen.flights
            if seen.by is not None:
                return Warned(_danger(asked[variant, seen.by]), new=tuple(new))
            unsettled += [_danger(asked[variant, name]) for name in seen.open]
        return Warned(None, tuple(unsettled), tuple(new))

    # ---------- the rules as they are

    @cached_property
    def _found(self) -> tuple[Outcome, ...]:
        return outcomes(self.site)

    @cached_property
    def _machines(self) -> Mapping[str, Machine]:
        return _by_variant(tuple(o for o in self._found if isinstance(o, Check)))

    @cached_property
    def _keys(self) -> Mapping[Name, Key]:
        return {
            (variant, p.name): system_key(flatten(cone(m, p)))
            for variant, m in self._machines.items()
            for p in m.properties
        }

    @cached_property
    def _pairs(self) -> Mapping[Pair, tuple[Outcome, ...]]:
        pairs: defaultdict[Pair, list[Outcome]] = defaultdict(list)
        for o in self._found:
            if isinstance(o, Check | Seen):
                pairs[o.hazard, o.about].append(o)
        return {pair: tuple(several) for pair, several in pairs.items()}

    def _counts(self, o: Check | Seen, rules: RuleSet) -> bool:
        """Neither accepted, nor plainly there without the weakening."""
        before = self._pairs.get((o.hazard, o.about), ())
        return acceptance(rules, o) is None and not any(isinstance(x, Seen) and not x.fine for x in before)

    def _amiss(self, hazard: str, about: str) -> bool:
        """Whether the rules as they are run into it; what was not asked about them is not known to be so."""
        checks = [x for x in self._pairs.get((hazard, about), ()) if isinstance(x, Check)]
        known = (self._verdicts.get((c.variant, c.name)) for c in checks)
        return any(v is not None and v.answer != "proved" for v in known)

    def _checks(self, found: Sequence[Outcome], rules: RuleSet) -> dict[Name, Check]:
        checks = [o for o in found if isinstance(o, Check)]
        return {(c.variant, c.name): c for c in checks if self._counts(c, rules)}

    def _touched(self, variant: str, weakened: Machine) -> tuple[Property, ...]:
        """What is not the same, to the letter, as with the rules as they are."""
        return tuple(
            p
            for p in weakened.properties
            if self._keys.get((variant, p.name)) != system_key(flatten(cone(weakened, p)))
        )

    def _was_fine(self, c: Check) -> bool:
        with self._lock:
            self._prove({(c.hazard, c.about)})
        return not self._amiss(c.hazard, c.about)

    def _known(self, variant: str, weakened: Machine, asked: Mapping[Name, Check]) -> Known:
        """What is proved of the rules as they are, of all that the weakening touches."""
        touched = [asked[variant, p.name] for p in self._touched(variant, weakened)]
        with self._lock:
            self._prove({(c.hazard, c.about) for c in touched})
        machine = self._machines.get(variant)
        if machine is None:
            return Known(replace(weakened, properties=()), {}, {})
        proved = {name: v for (v_of, name), v in self._verdicts.items() if v_of == variant and v.answer == "proved"}
        keys = {p.name: self._keys[variant, p.name] for p in machine.properties if p.name in proved}
        return Known(machine, {name: v for name, v in proved.items() if not v.allowance}, keys)

    def _prove(self, pairs: set[Pair]) -> None:
        checks = [c for pair in pairs for c in self._pairs.get(pair, ()) if isinstance(c, Check)]
        missing = {(c.variant, c.name) for c in checks} - self._verdicts.keys()
        some = {
            variant: replace(machine, properties=wanted)
            for variant, machine in self._machines.items()
            if (wanted := tuple(p for p in machine.properties if (variant, p.name) in missing))
        }
        names = list(some)
        for k, v in prove_each(tuple(some.values()), self.workers, time_limit=self.time_limit, at_once=self.at_once):
            self._verdicts[names[k], v.claim] = v


def _by_variant(checks: tuple[Check, ...]) -> dict[str, Machine]:
    variants = tuple(dict.fromkeys(c.variant for c in checks))
    return dict(zip(variants, machines(checks), strict=True))


def _broken(
    machine: Machine, flights: Sequence[Flight], workers: Workers, seconds: float, new: list[Flight]
) -> Iterator[str]:
    """Names of what never should be and is, as they are found. `new` gets the flights that were not known."""
    left = [p for p in machine.properties if not is_can(machine, p.name)]
    waiting = [f for f in flights if not machine.starts or flyable(machine, f)]
    while left:
        for f in waiting:
            seen = reached(replace(machine, properties=tuple(left)), f)
            yield from (p.name for p in left if p.name in seen)
            left = [p for p in left if p.name not in seen]
        waiting = list(looked(machine, [p for p in left if p.kind == "safe"], workers, seconds / 2))
        new += waiting
        if not waiting:
            return


def _danger(c: Check) -> Danger:
    said = c.unwritten if c.claim is None else c.claim.sentence or c.claim.text
    return Danger(c.hazard, c.about, said)
