"""What makes a rule act: every test behind its condition, through signals and latches, and which way it helps."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal, assert_never

from latchproof.hazards.site import Site
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Drive, Latch, Limit, Move, Role, Rule, Sensor, Sequence

Test = e.AtPosition | e.Pressed | e.Comparison | e.RateComparison | e.Band | e.SensorState | e.ChannelState


@dataclass(frozen=True, slots=True)
class Cause:
    """A test, and whether its being true (`helps`) or its being false makes the rule act.

    `latch` is the nearest latch that it sets or resets, in the clause `clause`; both None in the condition itself.
    """

    test: Test
    helps: bool
    latch: str | None
    clause: e.Signal | None


@dataclass(frozen=True, slots=True)
class Behind:
    """All that stands behind a signal: tests, and latches with the way in which their being on helps."""

    tests: tuple[Cause, ...]
    latches: tuple[tuple[Latch, bool, str | None], ...]
    """With the latch that reads it, None for the signal itself."""

    @property
    def helping(self) -> tuple[Latch, ...]:
        """Latches that make it true by being on."""
        return tuple(dict.fromkeys(latch for latch, helps, _ in self.latches if helps))

    @property
    def at_once(self) -> tuple[Latch, ...]:
        """Those of them that the signal itself reads, not only by way of another latch."""
        return tuple(dict.fromkeys(latch for latch, helps, by in self.latches if helps and by is None))

    def setting(self, latch: Latch) -> tuple[Cause, ...]:
        """The tests that set a latch without another one in between."""
        return tuple(c for c in self.tests if c.latch == latch.name and c.helps and c.clause in latch.sets)


def behind(site: Site, signal: e.Signal) -> Behind:
    """What can make the signal true, in the order in which it is found."""
    tests: dict[Cause, None] = {}
    latches: dict[tuple[str, bool, str | None], None] = {}
    for found in _walk(site, signal):
        if isinstance(found, Cause):
            tests[found] = None
        else:
            latches[found] = None
    return Behind(tuple(tests), tuple((site.latches[n], helps, by) for n, helps, by in latches))


Place = tuple[str | None, e.Signal | None]


def _walk(site: Site, signal: e.Signal) -> Iterator[Cause | tuple[str, bool, str | None]]:
    seen: set[tuple[str, bool]] = set()
    waiting: list[tuple[e.Signal, bool, Place]] = [(signal, True, (None, None))]
    while waiting:
        x, helps, place = waiting.pop()
        match x:
            case (
                e.AtPosition()
                | e.Pressed()
                | e.Comparison()
                | e.RateComparison()
                | e.Band()
                | e.SensorState()
                | e.ChannelState()
            ):
                yield Cause(x, helps, *place)
            case e.Not(operand=operand):
                waiting.append((operand, not helps, place))
            case e.AllOf(operands=operands) | e.AnyOf(operands=operands):
                waiting.extend((o, helps, place) for o in reversed(operands))
            case e.ExactlyOne(operands=operands):
                waiting.extend((o, way, place) for o in reversed(operands) for way in (helps, not helps))
            case e.Timed(operand=operand) | e.PreviousSignal(operand=operand):
                waiting.append((operand, helps, place))
            case e.Edge(kind=kind, operand=operand):
                waiting.append((operand, helps if kind == "begins" else not helps, place))
            case e.NamedSignal(name=name):
                if name in site.latches:
                    yield name, helps, place[0]
                if (name, helps) not in seen:
                    seen.add((name, helps))
                    waiting.extend(reversed([(s, h, p or place) for s, h, p in _named(site, name, helps)]))
            case _:
                assert_never(x)


def _named(site: Site, name: str, helps: bool) -> Iterator[tuple[e.Signal, bool, Place | None]]:
    """What a name stands for; with its place if that is a clause of a latch."""
    rules = site.rules
    if latch := site.latches.get(name):
        yield from ((s, helps, (name, s)) for s in latch.sets)
        yield from ((s, not helps, (name, s)) for s in latch.resets)
        if latch.timeout and latch.timeout.blocked_until:
            yield latch.timeout.blocked_until, helps, (name, None)
        return
    yield from ((s.signal, helps, None) for s in rules.signals if s.name == name)
    yield from ((r.signal, helps, None) for r in rules.roles if r.role == name)
    owner, _, rest = name.rpartition(".")
    yield from ((r.condition, helps, None) for r in rules.rules if rest and r.name == owner)
    for s in rules.sequences:
        if rest and s.name == owner:
            yield s.condition, helps, None
            yield from ((p.until, helps, None) for p in s.phases if p.until is not None)


# ---------- which reading, which switch


def readings(site: Site, x: e.Number) -> frozenset[str]:
    """Sensors whose readings decide about the number, also by way of values, samples and counters."""
    found: set[str] = set()
    seen: set[str] = set()
    waiting: list[object] = [x]
    while waiting:
        node = waiting.pop()
        match node:
            case e.Reading(sensor=sensor):
                found.add(sensor)
            case e.NamedNumber(name=name) if name not in seen:
                seen.add(name)
                waiting.extend(v.value for v in site.rules.values if v.name == name)
                waiting.extend(s.value for s in site.rules.samples if s.name == name)
                waiting.extend(c.counts for c in site.rules.counters if c.name == name)
            case e.NamedSignal(name=name) if name not in seen:
                seen.add(name)  # a counter may count a latch that waits for the counter
                waiting.extend(n for cause in behind(site, node).tests for n in _compared(cause.test))
            case e.NamedNumber() | e.NamedSignal():
                pass
            case str() | None:
                pass
            case _:
                waiting.extend(parts(node))
    return frozenset(found)


def read_by(site: Site, test: Test) -> frozenset[str]:
    """Sensors whose readings a test compares."""
    return frozenset(s for number in _compared(test) for s in readings(site, number))


def _compared(test: Test) -> tuple[e.Number, ...]:
    match test:
        case e.Comparison(left=left, right=right):
            return left, right
        case e.RateComparison(subject=subject):
            return (subject,)
        case e.Band(subject=subject, enter=(_, enter), leave=(_, leave)):
            return subject, enter, leave
        case _:
            return ()


def read_in(site: Site, signal: e.Signal) -> tuple[Sensor, ...]:
    """Sensors on whose readings the signal rests, in the order of the file."""
    names = {name for cause in behind(site, signal).tests for name in read_by(site, cause.test)}
    return tuple(s for s in site.rules.sensors if s.name in names)


def handled(site: Site, signal: e.Signal) -> frozenset[str]:
    """Switches, buttons, sticks and knobs that have a say in the signal."""
    found: set[str] = set()
    for cause in behind(site, signal).tests:
        match cause.test:
            case e.AtPosition(switch=switch):
                found.add(switch)
            case e.Pressed(button=button):
                found.add(button)
            case test:
                waiting: list[object] = [test]
                while waiting:
                    node = waiting.pop()
                    if isinstance(node, e.Held):
                        found.add(node.control)
                    waiting.extend(parts(node))
    return frozenset(found)


def obeys(site: Site, x: Rule | Sequence, role: Role) -> bool:
    """Whether what the role stands for has a say in when the rule acts."""
    return bool(handled(site, x.condition) & handled(site, role.signal))


# ---------- what it does to a motor


def powers(site: Site, x: Rule | Sequence) -> tuple[str, ...]:
    """Motors, or the controls that they follow, to which the rule may give more than the pilot does."""
    return tuple(dict.fromkeys(name for name, more in _on_motors(site, x) if more))


def only_stops(site: Site, x: Rule | Sequence) -> bool:
    """All it does is to take a motor's power away, altogether."""
    mine = _on_motors(site, x)
    return bool(mine) and not any(more for _, more in mine) and all(
        isinstance(a, Drive) and a.channel in {name for name, _ in mine}
        for a in site.actions_of(x)
        if isinstance(a, Drive | Move | Limit)
    )  # fmt: skip


def gives_back(site: Site, x: Rule | Sequence) -> bool:
    """All it does is to let a value rise slowly to the pilot's own: it takes nothing, and ends by itself."""
    mine = [a for a in site.actions_of(x) if isinstance(a, Drive | Move | Limit)]
    return bool(mine) and all(isinstance(a, Limit) and a.bound == "most" and _rising(a) for a in mine)


def _rising(a: Limit) -> bool:
    """At most a little more than in the cycle before."""
    match a.amount:
        case e.Plus(left=e.PreviousNumber(operand=e.Output(channel=name)), right=e.Constant(value=more)):
            return name == a.channel and more > 0
        case _:
            return False


def _on_motors(site: Site, x: Rule | Sequence) -> list[tuple[str, bool]]:
    """Each action on a motor, or on a control that a motor follows: what it acts on, and whether it can add power."""
    names = {c.name for c in site.motors}
    names |= {n.control for c in site.motors for n in inside(c.source) if isinstance(n, e.Controlled)}
    found = []
    for a in site.actions_of(x):
        match a:
            case Drive(channel=name, target=target) if name in names:
                found.append((name, not _nothing(target)))
            case Limit(channel=name, bound="least", amount=amount) if name in names:
                found.append((name, not _nothing(amount)))
            case Move(channel=name, sign=sign) if name in names:
                found.append((name, sign > 0))
            case Limit(channel=name) if name in names:
                found.append((name, False))
            case _:
                pass
    return found


def _nothing(amount: e.Number) -> bool:
    return isinstance(amount, e.Constant) and amount.value <= 0


def inside(x: object) -> Iterator[object]:
    """An expression and all that it is made of; what it names is not entered."""
    waiting = [x]
    while waiting:
        node = waiting.pop()
        yield node
        waiting.extend(parts(node))


# ---------- thresholds


@dataclass(frozen=True, slots=True)
class Threshold:
    """A number that a reading decides, compared with one that stands still in flight; `side` is "low" where one below
    it counts. `sensor` is empty where the number is not the reading itself."""

    subject: e.Number
    sensor: str
    side: Literal["low", "high"]
    inclusive: bool
    at: e.Number
    cause: Cause


_TURNED: dict[e.Order, e.Order] = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "=="}


def turned(t: Threshold) -> Threshold:
    """The same test, being false."""
    return replace(t, side="high" if t.side == "low" else "low", inclusive=not t.inclusive)


def thresholds(site: Site, causes: tuple[Cause, ...]) -> Iterator[Threshold]:
    """The tests of the form "reading is below number" or "above number" among the causes, as they stand in the text."""
    for cause in causes:
        match cause.test:
            case e.Comparison(left=left, order=order, right=right):
                compared = [(left, order, right), (right, _TURNED[order], left)]
            case e.Band(subject=subject, enter=(order, at)):
                compared = [(subject, order, at)]
            case _:
                compared = []
        for subject, way, at in compared:
            if way != "==" and readings(site, subject) and not stands(site, subject) and stands(site, at):
                side: Literal["low", "high"] = "low" if way in ("<", "<=") else "high"
                yield Threshold(subject, _plain(site, subject), side, "=" in way, at, cause)


def levels(site: Site, signal: e.Signal) -> tuple[Threshold, ...]:
    """Beyond which readings the signal becomes true, as it stands there: latches that it asks for are not entered."""
    tests = tuple(c for c in behind(site, signal).tests if c.latch is None)
    return tuple(t if t.cause.helps else turned(t) for t in thresholds(site, tests))


def _plain(site: Site, x: e.Number) -> str:
    """The sensor whose reading the number is, maybe under another name."""
    while isinstance(x, e.NamedNumber):
        name = x.name
        definition = next((v.value for v in site.rules.values if v.name == name), None)
        if definition is None:
            return ""
        x = definition
    return x.sensor if isinstance(x, e.Reading) else ""


def stands(site: Site, x: e.Number) -> bool:
    """Whether it does not change in flight: numbers, facts, tunes and what is made of them."""
    return all(
        isinstance(n, e.Constant | e.Parameter)
        or (isinstance(n, e.NamedNumber) and any(v.name == n.name and stands(site, v.value) for v in site.rules.values))
        or not isinstance(n, e.Located)
        or isinstance(n, e.Plus | e.Minus | e.Product | e.Quotient | e.Size | e.Smallest | e.Largest)
        for n in inside(x)
        if not isinstance(n, str)
    )
