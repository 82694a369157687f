"""The moments of a run in which something happened that matters, as data.

A moment is told when a switch, stick or button moves, a reading crosses something that the rules compare it with,
frames start or stop, or anything named by the rules changes. Numbers that travel (ramps, sticks, readings) are told
where they set out from, where they turn and where they arrive. Everything is data here; words are given by `show`.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Literal, TypeVar

from latchproof.machine.model import Machine
from latchproof.machine.overview import Overview, mentions, overview
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Button,
    Can,
    Channel,
    Claim,
    Control,
    Counter,
    Fact,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Pulse,
    Rule,
    Sample,
    Sensor,
    Switch,
    Tune,
)
from latchproof.rules.model import Sequence as Phases
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Record

World = Literal["position", "button", "control", "reading", "truth", "unheard", "silent", "tune", "fact"]
Ruled = Literal["on", "phase", "voice", "tone", "vibration", "announced", "stale", "channel", "count", "sample"]

T = TypeVar("T", bool, Fraction)


@dataclass(frozen=True, slots=True)
class Event:
    """`value`: on or off, a number in base units, or a position counted from 0. `going`: the number is on its way up
    (1) or down (-1). `still`: as it was before; of a tune, as it is written. Of a sensor that is `unheard` the value is
    what it reads meanwhile, or True where that does not matter."""

    kind: World | Ruled
    name: str
    value: bool | Fraction
    going: int = 0
    still: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One moment. `opens`: the broken promise goes back to it."""

    cycle: int
    time: Fraction
    world: tuple[Event, ...]
    rules: tuple[Event, ...]
    opens: bool = False


def moments(
    machine: Machine,
    records: Sequence[Record],
    parameters: Mapping[str, Fraction],
    guessed: frozenset[str] = frozenset(),
) -> tuple[Row, ...]:
    """Every moment of a run in which anything with a name changed. The true quantities of `guessed` are not told."""
    seen = overview(machine.rules)
    spoken = {name for name in machine.definitions if name.rpartition(".")[0] in seen.things}
    reader = Reader(machine, records, parameters)
    named = frozenset(seen.things) | frozenset(spoken)
    return Teller(reader, seen, named, None, everything=True, guessed=guessed).rows(0)


@dataclass(frozen=True)
class Track:
    """A number over the whole run. `settles`: it is told by itself when it turns or arrives."""

    kind: World | Ruled
    name: str
    values: tuple[Fraction, ...]
    world: bool
    settles: bool

    def going(self, k: int) -> int:
        before, now = self.values[max(k - 1, 0)], self.values[k]
        after = self.values[min(k + 1, len(self.values) - 1)]
        return 1 if before < now < after else -1 if before > now > after else 0


@dataclass(frozen=True)
class Teller:
    reader: Reader
    overview: Overview
    named: frozenset[str]
    claim: Claim | None
    everything: bool = False
    guessed: frozenset[str] = frozenset()

    @property
    def records(self) -> Sequence[Record]:
        return self.reader.records

    @cached_property
    def matters(self) -> frozenset[str]:
        """Names in the claim and all that they depend on."""
        things = self.overview.things
        owners = {n if n in things else n.rpartition(".")[0] for n in self.named}
        return self.overview.reaching(owners)

    @cached_property
    def texts(self) -> tuple[object, ...]:
        """Everything written about what matters: definitions, actions, the claim itself."""
        rules = self.reader.machine.rules
        things = tuple(thing for name, thing in self.overview.things.items() if name in self.matters)
        acting = tuple(action for owner in rules.rules for action in owner.actions if owner.name in self.matters)
        phased = tuple(a for s in rules.sequences if s.name in self.matters for p in s.phases for a in p.actions)
        return (*things, acting, phased, *(() if self.claim is None else (self.claim.form, self.claim.scope)))

    # ---------- rows

    def rows(self, since: int) -> tuple[Row, ...]:
        """All moments in order; one of them is the cycle `since` to which a broken promise goes back."""
        opening = self.claim is not None and not isinstance(self.claim.form, Can)
        last = len(self.records) - 1
        happened: dict[int, list[tuple[bool, Event]]] = {0: [], last: []}
        happened.setdefault(since, [])
        for k, outside, event in self._switched():
            happened.setdefault(k, []).append((outside, event))
        tracks = list(self._tracks())
        crossings = self._crossings()
        for k in self._turning(tracks) | crossings.keys():
            happened.setdefault(k, [])
        told: dict[tuple[str, str], Fraction] = {}
        first = {track.name: self._first_frame(track.name) for track in tracks if track.kind == "reading"}
        rows = []
        for k in sorted(happened):
            for track in tracks:
                key, value = (track.kind, track.name), track.values[k]
                if track.kind == "reading" and not self._reading_matters(track, k, crossings, first[track.name]):
                    continue
                if told.get(key) != value:
                    told[key] = value
                    happened[k].append((track.world, Event(track.kind, track.name, value, track.going(k))))
            if k == last and k:
                happened[k] += [(False, x) for x in self._standing(tracks, happened)]
            world = tuple(x for outside, x in happened[k] if outside)
            ruled = tuple(x for outside, x in happened[k] if not outside)
            if world or ruled or k in (0, last, since):
                opens = opening and k == since and 0 < since < last
                rows.append(Row(k, self.records[k].time, self._sorted(world), self._sorted(ruled), opens))
        return tuple(rows)

    def _standing(self, tracks: list[Track], happened: dict[int, list[tuple[bool, Event]]]) -> Iterator[Event]:
        """What the claim names and has been for a while: where it stands in the last moment."""
        if self.everything:
            return
        k = len(self.records) - 1
        new = {(x.kind, x.name) for _, x in happened[k]}
        for track in tracks:
            if track.kind == "channel" and track.name in self.named and ("channel", track.name) not in new:
                yield Event("channel", track.name, track.values[k], still=True)
        before = {(x.kind, x.name): x for j in sorted(happened) if j < k for w, x in happened[j] if not w}
        for x in before.values():
            lasting = x.kind in ("on", "phase", "voice", "tone", "vibration", "stale") and x.value is True
            if lasting and x.name in self._spoken and (x.kind, x.name) not in new:
                yield replace(x, still=True)

    @cached_property
    def _spoken(self) -> frozenset[str]:
        """Names in the claim itself, a sensor only for being stale."""
        tested = {x.sensor for x in _nodes(self.claim.form) if isinstance(x, e.SensorState)} if self.claim else set()
        sensors = {s.name for s in self.reader.machine.rules.sensors}
        return (self.named - sensors) | tested

    def _sorted(self, events: tuple[Event, ...]) -> tuple[Event, ...]:
        """In the order of the text, what is nearest to the pilot first."""
        place = {name: n for n, name in enumerate(self.overview.things)}

        def key(event: Event) -> tuple[bool, int]:
            name = event.name if event.name in place else event.name.rpartition(".")[0]
            return event.kind in ("tune", "fact"), place.get(name, len(place))

        return tuple(sorted(events, key=key))

    # ---------- what is on or off

    def _switched(self) -> Iterator[tuple[int, bool, Event]]:
        """Everything that is on or off and changed, with its cycle and whether the world did it."""
        things = self.overview.things
        for name in (n for n in things if n in self.matters):
            match things[name]:
                case Switch(positions=positions):
                    where = [self._position(name, len(positions), r) for r in self.records]
                    yield from ((k, True, Event("position", name, p)) for k, p in _changes(where, tell_first=True))
                case Button():
                    held = [bool(r.inputs.get(name, False)) for r in self.records]
                    yield from ((k, True, Event("button", name, on)) for k, on in _changes(held, tell_first=True))
                case Tune(value=value):
                    yield from self._chosen("tune", name, value)
                case Fact():
                    yield from self._chosen("fact", name, None)
                case Sensor():
                    yield from self._frames(name)
                case Latch() | NamedSignalDefinition() | Pulse():
                    yield from self._defined("on", name)
                case Rule(condition=condition):
                    if not isinstance(condition, e.NamedSignal):
                        yield from self._defined("on", name)
                case Phases(phases=phases):
                    for phase in phases:
                        yield from self._defined("phase", f"{name}.{phase.name}")
                case _:
                    pass
        kinds: tuple[Ruled, ...] = ("voice", "tone", "vibration", "announced")
        for name in sorted(self.named - things.keys()):
            for kind in kinds:
                if name.endswith(f".{kind}") and (kind != "announced" or not self.everything):
                    yield from self._defined(kind, name)

    def _chosen(self, kind: World, name: str, written: Fraction | None) -> Iterator[tuple[int, bool, Event]]:
        """A tune that is not as it is written, a fact that is a span."""
        parameter = next((p for p in self.reader.machine.parameters if p.name == name), None)
        if parameter is not None:
            value = self.reader.parameters.get(name, parameter.value)
            if value != written or (name in self.named and not self.everything):
                yield 0, True, Event(kind, name, value, still=value == written)

    def _defined(self, kind: Ruled, name: str) -> Iterator[tuple[int, bool, Event]]:
        if name in self.records[0].values:
            now = [bool(r.values[name]) for r in self.records]
            yield from ((k, False, Event(kind, name, on)) for k, on in _changes(now))

    @staticmethod
    def _position(switch: str, count: int, r: Record) -> Fraction:
        return Fraction(next((k for k in range(count - 1, 0, -1) if r.inputs.get(f"{switch}@{k}", False)), 0))

    # ---------- sensors

    def _frames(self, name: str) -> Iterator[tuple[int, bool, Event]]:
        """Frames that start late or stop, and a reading that goes stale."""
        if f"{name}@frame" not in self.records[0].inputs:
            return
        arrived = [bool(r.inputs[f"{name}@frame"]) for r in self.records]
        if not arrived[0]:
            reads = self.records[0].values.get(name) if self._compared(name) else None
            yield 0, True, Event("unheard", name, True if reads is None else Fraction(reads))
        if not self._staleness_matters(name) or f"{name}@stale" not in self.records[0].values:
            return
        stale = [bool(r.values[f"{name}@stale"]) for r in self.records]
        for k, on in _changes(stale):
            if on and k and not self._never(arrived, k):
                last = max(j for j in range(k) if arrived[j])
                yield last + 1, True, Event("silent", name, True)
            if k:
                yield k, False, Event("stale", name, on)

    @staticmethod
    def _never(arrived: list[bool], k: int) -> bool:
        return not any(arrived[: k + 1])

    def _first_frame(self, sensor: str) -> int:
        """The cycle in which a sensor is first heard, or one that never comes."""
        frames = (k for k, r in enumerate(self.records) if r.inputs.get(f"{sensor}@frame", False))
        return next(frames, len(self.records))

    def _reading_matters(self, track: Track, k: int, crossings: dict[int, set[str]], first: int) -> bool:
        """A reading is told once it is heard: first, where it crosses something, and last if the claim names it."""
        if k <= first or track.settles:
            return k >= first
        return track.name in crossings.get(k, ()) or (k == len(self.records) - 1 and track.name in self.named)

    def _compared(self, sensor: str) -> bool:
        return any(isinstance(x, e.Reading) and x.sensor == sensor for x in _nodes(self.texts))

    def _staleness_matters(self, sensor: str) -> bool:
        declared = next(s for s in self.reader.machine.rules.sensors if s.name == sensor)
        if declared.stale_reads is not None or self.everything:
            return True
        return any(isinstance(x, e.SensorState | e.Age) and x.sensor == sensor for x in _nodes(self.texts))

    # ---------- numbers

    def _tracks(self) -> Iterator[Track]:
        things = self.overview.things
        truths = {x.sensor for x in _nodes(self.texts) if isinstance(x, e.Truth)}
        carried = self._carried()
        for name in (n for n in things if n in self.matters):
            match things[name]:
                case Control():
                    yield from self._track("control", name, [r.inputs.get(name) for r in self.records], world=True)
                case Sensor():
                    shown = [r.values.get(name) for r in self.records]
                    yield from self._track("reading", name, shown, world=True, settles=name in carried)
                    if name in truths or (self.everything and name not in self.guessed):
                        true = [r.inputs.get(f"{name}@truth") for r in self.records]
                        yield from self._track("truth", name, true, world=True, settles=False)
                case Channel():
                    yield from self._track("channel", name, [r.values.get(name) for r in self.records])
                case Counter():
                    yield from self._track("count", name, [r.values.get(name) for r in self.records])
                case Sample():
                    yield from self._track("sample", name, [r.values.get(name) for r in self.records])
                case _:
                    pass

    def _track(
        self,
        kind: World | Ruled,
        name: str,
        values: list[bool | Fraction | None],
        *,
        world: bool = False,
        settles: bool = True,
    ) -> Iterator[Track]:
        if values and values[0] is not None:
            yield Track(kind, name, tuple(Fraction(v) for v in values if v is not None), world, settles)

    def _carried(self) -> frozenset[str]:
        """Sensors whose number goes on into a value, channel or sample instead of only being compared."""
        if self.everything:
            return frozenset(s.name for s in self.reader.machine.rules.sensors)
        tested = (e.Comparison, e.Band, e.RateComparison)
        return frozenset(x.sensor for x in _nodes(self.texts, but=tested) if isinstance(x, e.Reading))

    @staticmethod
    def _turning(tracks: list[Track]) -> set[int]:
        """Where a number turns or arrives."""
        found = set()
        for v in (track.values for track in tracks if track.settles):
            for k in range(1, len(v)):
                step = v[k] - v[k - 1]
                following = v[k + 1] - v[k] if k + 1 < len(v) else 0
                if step and step * following <= 0:
                    found.add(k)
        return found

    def _sensors_in(self, test: object) -> set[str]:
        """Sensors whose number is compared, by their own name or within a named value."""
        found: set[str] = set()
        waiting, seen = [test], set[str]()
        while waiting:
            for name, _ in mentions(waiting.pop()):
                match self.overview.things.get(name):
                    case Sensor():
                        found.add(name)
                    case NamedValue(value=value) if name not in seen:
                        seen.add(name)
                        waiting.append(value)
                    case _:
                        pass
        return found

    def _crossings(self) -> dict[int, set[str]]:
        """Where a test of a sensor's number changes its answer, and of which sensors."""
        found: dict[int, set[str]] = {}
        tests = {x for x in _nodes(self.texts) if isinstance(x, e.Comparison | e.Band | e.RateComparison)}
        for test in tests:
            sensors = self._sensors_in(test)
            if not sensors:
                continue
            try:
                now = self.reader.signal(test)
            except KeyError:  # it cannot matter here: the trace does not even have its inputs
                continue
            for k, _ in _changes(now):
                found.setdefault(k, set()).update(sensors)
        return found


def _changes(values: Sequence[T], *, tell_first: bool = False) -> Iterator[tuple[int, T]]:
    """Where a value differs from the one before; the first one only when it is on, or when asked for."""
    for k, value in enumerate(values):
        if (k and value != values[k - 1]) or (not k and (value or tell_first)):
            yield k, value


def _nodes(x: object, but: tuple[type, ...] = ()) -> Iterator[object]:
    """All expressions below `x`, not looking inside those of kind `but`."""
    stack = [x]
    while stack:
        node = stack.pop()
        if node is None or isinstance(node, (str, Fraction, int, *but)):
            continue
        yield node
        stack.extend(parts(node))
