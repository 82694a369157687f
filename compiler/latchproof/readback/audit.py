"""What the differences between a listing and a transmitter come to: raised to a machine again and proved.

The listing itself is proved first: what it does not keep is no fault of a difference, and never said to hold. Then each
difference is judged alone and all together, so that two that hide each other are seen. Equal: it shows nothing. Else
every promise that may be concerned is proved again, and every hazard.
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from latchproof.hazards.model import Check, Outcome, Seen
from latchproof.hazards.report import acceptance, machines, outcomes
from latchproof.hazards.site import Site
from latchproof.listing.model import Listing
from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.readback.desk import WHERE
from latchproof.readback.differences import Difference
from latchproof.readback.differences_made import Standing, aside, echoes, made
from latchproof.readback.equal import Compared, Differ, Equal, equal
from latchproof.readback.model import Problem
from latchproof.readback.pair import LoopError
from latchproof.readback.raised import raised
from latchproof.readback.rows import Rows
from latchproof.rules.model import RuleSet
from latchproof.source import Source
from latchproof.strength.alike import Key, system_key
from latchproof.transmitter.model import Transmitter

Prover = Callable[[Sequence[Machine]], Iterator[tuple[int, Verdict]]]
"""Proves every property of some machines, in any order: verdicts, each with the place of its machine."""

OF_THE_TEXT = ("H39",)
"""Hazards of how a rule file is written, which say nothing of what stands in a transmitter."""


Before = Literal["", "kept", "fails", "not decided"]
"""What a promise or hazard comes to in the listing itself; empty: it has none such."""
BEFORE: Mapping[str | None, Before] = {None: "", "proved": "kept", "refuted": "fails"}


@dataclass(frozen=True, slots=True)
class Failing:
    """A promise or hazard that the transmitter does not keep to. `hazard`: its number. `verdict` has the trace; None
    where the entries alone show it."""

    said: str
    hazard: str = ""
    machine: Machine | None = None
    verdict: Verdict | None = None
    before: Before = ""


@dataclass(frozen=True, slots=True)
class AsListed:
    """What the listing itself comes to, whatever was typed. `fails` and `open`: sentences of promises. `elsewhere`:
    those that a stage which only warns cannot keep, and the full rules do."""

    promises: int
    fails: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    elsewhere: tuple[str, ...] = ()

    @property
    def amiss(self) -> int:
        return len(self.fails) + len(self.open)


@dataclass(frozen=True, slots=True)
class Harmless:
    """Nothing that can be seen or heard is ever different."""


@dataclass(frozen=True, slots=True)
class Holds:
    """It does something else, as `outputs` show, but of `promises` all hold that hold as listed: all but `amiss`.
    `asked`: how many had to be proved again."""

    promises: int
    asked: int
    hazards: bool
    outputs: tuple[str, ...] = ()
    amiss: int = 0


@dataclass(frozen=True, slots=True)
class Dangerous:
    failing: tuple[Failing, ...]
    open: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotDecided:
    open: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoMachine:
    """The entries do not make sense, alone with this difference."""

    problems: tuple[Problem, ...]


Outcome_ = Harmless | Holds | Dangerous | NotDecided | NoMachine


@dataclass(frozen=True, slots=True)
class Judged:
    difference: Difference
    outcome: Outcome_ | None
    """None for what only tells a thing again that another entry decides."""


@dataclass(frozen=True, slots=True)
class Audit:
    """`together`: with all differences; None where there are none. `against`: what is told differently in two places,
    with what the other place says."""

    each: tuple[Judged, ...]
    together: Outcome_ | None
    against: tuple[tuple[Difference, str], ...] = ()

    @property
    def masked(self) -> bool:
        """Differences that hide each other: bad alone, and not seen together."""
        bad = any(isinstance(j.outcome, Dangerous) for j in self.each)
        return bad and isinstance(self.together, Harmless | Holds)


@dataclass(frozen=True)
class Ground:
    """What differences are held against. `rules`: what the listing was made of. `sources`: the rule file, for the
    hazards. `hazards`: whether to look for them."""

    listing: Listing
    rules: RuleSet
    sources: Mapping[str, Source]
    workers: Workers
    prover: Prover
    transmitter: Transmitter | None = None
    seconds: float = 20
    hazards: bool = True

    def raised(self, stands: Standing) -> RuleSet | tuple[Problem, ...]:
        return raised(stands.entries, self.rules, self.transmitter, lost=stands.lost)

    @cached_property
    def listed(self) -> RuleSet:
        """The rules that the listing itself comes to."""
        found = raised(self.listing.entries, self.rules, self.transmitter)
        if isinstance(found, tuple):
            raise AssertionError(found)
        return found

    @property
    def in_order(self) -> bool:
        return self.rules.device.reads == "this cycle"

    def devices(self, rules: RuleSet) -> tuple[RuleSet, ...]:
        """What has to be asked so that it holds on every device that the transmitter may be."""
        if self.transmitter is None:
            return (rules,)
        from latchproof.transmitter.variants import to_ask

        return to_ask(rules, self.transmitter)

    @cached_property
    def machines(self) -> tuple[Machine, ...]:
        return tuple(_machine(r) for r in self.devices(self.listed))

    @cached_property
    def keys(self) -> tuple[dict[str, Key], ...]:
        return tuple(_keys(m) for m in self.machines)

    @cached_property
    def known(self) -> dict[tuple[int, str], Verdict]:
        """Verdicts on the listing itself: each promise, on each device."""
        return {(i, v.claim): v for i, v in self.prover(self.machines)}

    @cached_property
    def as_listed(self) -> AsListed:
        worst = {p.name: self.before(p.name) for m in self.machines for p in m.properties}
        said = {p.name: _sentence(m, p.name) for m in self.machines for p in m.properties}
        return AsListed(
            len(worst),
            tuple(said[name] for name, answer in worst.items() if answer == "fails"),
            tuple(said[name] for name, answer in worst.items() if answer == "not decided"),
        )

    def without(self, elsewhere: Collection[str]) -> AsListed:
        """The same, where what fails and is proved of the full rules (names of claims) is no fault of the stage."""
        excused = {_sentence(m, p.name) for m in self.machines for p in m.properties if p.name in elsewhere}
        mine = self.as_listed
        return replace(
            mine,
            fails=tuple(x for x in mine.fails if x not in excused),
            elsewhere=tuple(x for x in mine.fails if x in excused),
        )

    def before(self, claim: str) -> Before:
        """The worst of what a promise comes to in the listing, over all devices."""
        answers = {v.answer for (_, name), v in self.known.items() if name == claim}
        if not answers:
            return ""
        return "fails" if "refuted" in answers else "kept" if answers == {"proved"} else "not decided"

    @cached_property
    def found(self) -> tuple[Outcome, ...]:
        """Hazards of the listing itself."""
        return outcomes(self.site(self.devices(self.listed)[0]))

    @cached_property
    def checked(self) -> dict[tuple[str, str], Verdict]:
        """Verdicts on those, as far as somebody asked."""
        return {}

    def site(self, rules: RuleSet) -> Site:
        """What is read back stands in no file; the text in its place is blank."""
        longest = max((x.number for x in self.listing.entries), default=0) + 10_000
        return Site(rules, {**self.sources, WHERE: Source(WHERE, " " * longest)})


def audit(ground: Ground, found: Sequence[Difference]) -> Iterator[Judged | Audit]:
    """Each difference as it is judged, and the whole at the end."""
    rows = ground.listing.entries
    known: dict[Rows, Outcome_] = {}
    each: list[Judged] = []
    every = made(rows, found, in_order=ground.in_order)
    for x in found:
        if echoes(x):
            judged = Judged(x, None)
        elif why := aside(x, rows):
            judged = Judged(x, NotDecided((why,)))
        else:
            alone = made(rows, (x,), in_order=ground.in_order)
            if alone.entries not in known:
                known[alone.entries] = judge(ground, alone)
            judged = Judged(x, known[alone.entries])
        each.append(judged)
        yield judged
    together: Outcome_ | None = None
    if every.entries != rows or any(j.outcome is None for j in each):
        together = known.get(every.entries) or judge(ground, every)
    elif each:
        together = next(j.outcome for j in each if j.outcome is not None)
    yield Audit(tuple(each), together, every.against)


def judge(ground: Ground, stands: Standing) -> Outcome_:
    back = ground.raised(stands)
    if isinstance(back, tuple):
        return NoMachine(back)
    try:
        compared: Compared = equal(ground.listed, back, ground.workers, ground.seconds)
        there = tuple(_machine(r) for r in ground.devices(back))
    except LoopError as error:
        return NoMachine((Problem(f"entries read one another round in a circle: {error}"),))
    if isinstance(compared, Equal) and ground.in_order and ground.rules.device.starts == "reset":
        return Harmless()
    failing, open_, asked = _promises(ground, there)
    looked = ground.hazards and not failing
    if looked:
        more, unsettled = _hazards(ground, ground.devices(back)[0])
        failing += more
        open_ += unsettled
    if failing:
        return Dangerous(tuple(failing), tuple(open_))
    if open_:
        return NotDecided(tuple(open_))
    outputs = compared.outputs if isinstance(compared, Differ) else ()
    return Holds(ground.as_listed.promises, asked, looked, outputs, ground.as_listed.amiss)


def _machine(rules: RuleSet) -> Machine:
    machine, found = compile_rules(rules)
    if machine is None:
        raise LoopError(found[0].title if found else "")
    return machine


def _keys(machine: Machine) -> dict[str, Key]:
    return {p.name: _key(machine, p) for p in machine.properties}


def _key(machine: Machine, p: Property) -> Key:
    return system_key(flatten(cone(machine, p)))


def _promises(ground: Ground, there: tuple[Machine, ...]) -> tuple[list[Failing], list[str], int]:
    """Only what is not, to the letter, the same question as of the listing can have another answer."""
    touched = tuple(
        replace(m, properties=tuple(p for p in m.properties if keys.get(p.name) != _key(m, p)))
        for keys, m in zip(ground.keys, there, strict=True)  # the same transmitter, so the same devices
    )
    asked = {p.name for m in touched for p in m.properties}
    failing: list[Failing] = []
    open_: list[str] = []
    for i, v in ground.prover(touched):
        if v.answer == "proved":
            continue
        listed = ground.known.get((i, v.claim))
        if listed is not None and listed.answer == v.answer == "refuted":
            continue
        said = _sentence(there[i], v.claim)
        if v.answer == "refuted":
            failing.append(Failing(said, "", there[i], v, ground.before(v.claim)))
        else:
            open_.append(f"whether this still holds could not be settled (--time-limit gives it more): {said}")
    return failing, open_, len(asked)


def _sentence(machine: Machine, name: str) -> str:
    claim = next((c for c in machine.rules.claims if c.name == name), None)
    if claim is None:
        return name
    return claim.sentence or f"{claim.name}: {claim.text}"


# ---------- hazards


def _hazards(ground: Ground, back: RuleSet) -> tuple[list[Failing], list[str]]:
    counted = [
        o for o in outcomes(ground.site(back))
        if isinstance(o, Check | Seen) and o.hazard not in OF_THE_TEXT and acceptance(back, o) is None
    ]  # fmt: skip
    failing = [
        Failing(f"{o.about}: {o.said}", o.hazard, before="kept")
        for o in counted
        if isinstance(o, Seen) and _is_new(ground, o)
    ]
    checks = {(o.variant, o.name): o for o in counted if isinstance(o, Check)}
    listed = {(o.variant, o.name): o for o in ground.found if isinstance(o, Check)}
    mine, yours = _by_variant(tuple(checks.values())), _by_variant(tuple(listed.values()))
    touched = {v: replace(m, properties=_touched(m, yours.get(v))) for v, m in mine.items()}
    names = list(touched)
    verdicts = [(names[k], v) for k, v in ground.prover(tuple(touched.values()))]
    amiss = [(variant, v) for variant, v in verdicts if v.answer != "proved"]
    _look_at_dangers(ground, yours, [(variant, v.claim) for variant, v in amiss])
    open_ = []
    for variant, v in amiss:
        check = checks[variant, v.claim]
        listed_as = ground.checked.get((variant, v.claim))
        before = None if listed_as is None else listed_as.answer
        if before == v.answer == "refuted":
            continue
        said = check.unwritten if check.claim is None else check.claim.sentence or check.claim.text
        if v.answer == "refuted":
            failing.append(
                Failing(f"{check.about}: {said}", check.hazard, mine[variant], v, BEFORE.get(before, "not decided"))
            )
        else:
            open_.append(f"whether this can happen could not be settled: {check.hazard}, {check.about}: {said}")
    return failing, open_


def _is_new(ground: Ground, o: Seen) -> bool:
    before = [x for x in ground.found if isinstance(x, Seen) and (x.hazard, x.about) == (o.hazard, o.about)]
    return not o.fine and all(x.fine for x in before)


def _by_variant(checks: tuple[Check, ...]) -> dict[str, Machine]:
    variants = tuple(dict.fromkeys(c.variant for c in checks))
    return dict(zip(variants, machines(checks), strict=True))


def _touched(machine: Machine, listed: Machine | None) -> tuple[Property, ...]:
    known = {} if listed is None else _keys(listed)
    return tuple(p for p in machine.properties if known.get(p.name) != _key(machine, p))


def _look_at_dangers(ground: Ground, listed: Mapping[str, Machine], asked: Sequence[tuple[str, str]]) -> None:
    wanted = set(asked) - set(ground.checked)
    some = {
        v: replace(m, properties=tuple(p for p in m.properties if (v, p.name) in wanted)) for v, m in listed.items()
    }
    some = {v: m for v, m in some.items() if m.properties}
    names = list(some)
    for k, verdict in ground.prover(tuple(some.values())):
        ground.checked[names[k], verdict.claim] = verdict
