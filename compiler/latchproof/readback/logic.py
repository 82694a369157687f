"""Entries of conditions, gates, delays, memories and calculations to what a rule set has for them."""

from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial

from latchproof.listing.entered import field_of
from latchproof.listing.memories import RESET, SET
from latchproof.listing.model import Entry
from latchproof.listing.signals import ALIKE, AT_READINGS, HAS, IN_EACH_PASS, SIGNED
from latchproof.machine.reads import parts
from latchproof.readback import model as m
from latchproof.readback.desk import Back, Fields
from latchproof.readback.reading import dimension, duration, fits, number, of_entry, sensor, signal
from latchproof.readback.values import read
from latchproof.rules import expressions as e
from latchproof.rules.limits import COUNT
from latchproof.rules.model import Counter, Latch, NamedSignalDefinition, NamedValue, Sample, Sequence, Timeout
from latchproof.rules.units import PLAIN, Dimension, times
from latchproof.rules.words import per_second, unit_for


@dataclass
class Made:
    """What the entries come to. `stale`: the time after which each sensor is stale, by the entries that look at it."""

    signals: list[NamedSignalDefinition] = field(default_factory=list)
    values: list[NamedValue] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    latches: list[Latch] = field(default_factory=list)
    counters: list[Counter] = field(default_factory=list)
    sequences: list[Sequence] = field(default_factory=list)
    stale: dict[str, tuple[Fraction, Entry]] = field(default_factory=dict)
    phases: dict[int, str] = field(default_factory=dict)
    """Which sequence each phase that stands in one belongs to."""


GATES: dict[str, type[e.AllOf] | type[e.AnyOf] | type[e.ExactlyOne]] = {
    "ALL of these (and)": e.AllOf,
    "ANY of these (or)": e.AnyOf,
    "EXACTLY ONE of these": e.ExactlyOne,
}
MOST_INPUTS = 500
NOTHING = m.Nothing()


def logic(b: Back, made: Made, x: Entry) -> None:
    """Puts what an entry comes to among what is made. Phases and what belongs to latches have files of their own."""
    f = Fields(b, x)
    name, span = b.name(x.number), b.span(x)
    match x.kind:
        case "counter":
            made.counters.append(_counter(b, f, name))
        case "kept value (sample)":
            made.samples.append(_sample(b, f, name))
        case "calculation":
            value = f.one("value", "calculation")
            assert isinstance(value, m.Number)
            found = dimension(b, value, x)
            made.values.append(NamedValue(name, number(b, value, x), unit_for(found or PLAIN), span=span))
        case _:
            made.signals.append(NamedSignalDefinition(name, _state(b, made, f), span=span))
    f.done()


def _state(b: Back, made: Made, f: Fields) -> e.Signal:
    x = f.entry
    span = b.span(x)
    match x.kind:
        case "comparison":
            left = f.one("compare", "number")
            return _compared(b, f, left, "is")
        case "comparison of a rate of change":
            return _rate(b, f)
        case "comparison with two thresholds":
            subject = f.one("compare", "number")
            enter, leave = _compared(b, f, subject, "becomes true"), _compared(b, f, subject, "becomes false")
            f.fixed("in between", "stays as it was")
            return e.Band(enter.left, (enter.order, enter.right), (leave.order, leave.right), span=span)
        case "sensor has gone stale" | "sensor has been heard":
            return _heard(b, made, f)
        case "who has the channel":
            return _who(b, f)
        case "ALL of these (and)" | "ANY of these (or)" | "EXACTLY ONE of these":
            return GATES[x.kind](_inputs(b, f), span=span)
        case "the same as its input":
            return signal(b, f.one("input", "state"), x)
        case "the opposite of its input (not)":
            return e.Not(signal(b, f.one("input", "state"), x), span=span)
        case "true for one pass when its input becomes true":
            return e.Edge("begins", signal(b, f.one("input", "state"), x), span=span)
        case "true for one pass when its input becomes false":
            return e.Edge("ends", signal(b, f.one("input", "state"), x), span=span)
        case _:
            return _delay(b, f)


def _inputs(b: Back, f: Fields) -> tuple[e.Signal, ...]:
    found: list[e.Signal] = []
    while f.has(f"input {len(found) + 1}") and len(found) < MOST_INPUTS:
        found.append(signal(b, f.one(f"input {len(found) + 1}", "state"), f.entry))
    if not found:
        raise b.wrong(f.entry, "a gate without inputs", "input 1: ...")
    return tuple(found)


def _compared(b: Back, f: Fields, subject: m.Value, label: str) -> e.Comparison:
    x, threshold = f.entry, f.one(label, "threshold")
    assert isinstance(threshold, m.Threshold)
    assert isinstance(subject, m.Number)
    found = dimension(b, subject, x)
    fits(b, dimension(b, threshold.bound, x), found, x)
    left, right = number(b, subject, x), number(b, threshold.bound, x)
    return e.Comparison(left, threshold.order, _kept(b, left, found, right), span=b.span(x))


def _kept(b: Back, subject: e.Number, found: Dimension | None, bound: e.Number, *, rate: bool = False) -> e.Number:
    """What the transmitter compares with when this is entered."""
    field = field_of(b.device, subject, found or PLAIN, rate=rate)
    if field is None or not isinstance(bound, e.Constant):
        return bound
    return e.Constant(field.works_with(bound.value), bound.unit, span=bound.span)


def _rate(b: Back, f: Fields) -> e.Signal:
    x, subject, threshold = f.entry, f.one("compare", "rate of"), f.one("is", "threshold")
    assert isinstance(subject, m.RateOf)
    assert isinstance(threshold, m.Threshold)
    of = number(b, subject.subject, x)
    f.fixed("worked out", AT_READINGS if isinstance(of, e.Reading) else IN_EACH_PASS)
    alike = f.fixed("sign", SIGNED, ALIKE) == ALIKE
    found = dimension(b, subject.subject, x) or PLAIN
    bound = threshold.bound
    if not isinstance(bound, m.Quantity):
        raise b.wrong(x, "a rate is compared with a fixed number only", "a number and its unit", "is")
    fits(b, dimension(b, bound, x), times(found, (("s", 1),), -1), x)
    per = times(found, (("s", 1),), -1)
    made = _kept(b, of, per, number(b, bound, x), rate=True)
    assert isinstance(made, e.Constant)
    unit = made.unit if bound.unit else per_second(unit_for(found))
    return e.RateComparison(of, threshold.order, made.value, unit, alike, span=b.span(x))


def _heard(b: Back, made: Made, f: Fields) -> e.Signal:
    x, watched = f.entry, f.one("watch", "number")
    if not isinstance(watched, m.SensorValue) or watched.earlier:
        raise b.wrong(x, "only a sensor can be watched like this", "`sensor height (settings in entry 9)`", "watch")
    name = sensor(b, watched.sensor, watched.settings, x)
    if x.kind == "sensor has been heard":
        f.fixed("true", "from the first reading after switching on")
        return e.SensorState(name, "heard", span=b.span(x))
    if f.has("true after"):
        time = duration(b, f.one("true after", "time"), x)
        if time.in_cycles or not isinstance(time.amount, e.Constant):
            raise b.wrong(x, "how long without a reading is a fixed time", "a time, as in `1.6 s`", "true after")
        made.stale[name] = (time.amount.value, x)
    return e.SensorState(name, "stale", span=b.span(x))


def _who(b: Back, f: Fields) -> e.Signal:
    x, watched = f.entry, f.one("watch", "number")
    if not isinstance(watched, m.EntryValue) or watched.earlier:
        raise b.wrong(x, "only a channel can be watched like this", "the entry of a channel", "watch")
    channel = b.name(b.there(watched.entry, ("channel", "control"), x).number)
    means = f.fixed("true while", *HAS.values())
    state = next(s for s, text in HAS.items() if text == means)
    return e.ChannelState(channel, state, span=b.span(x))  # type: ignore[arg-type]


def _delay(b: Back, f: Fields) -> e.Signal:
    x, inner = f.entry, signal(b, f.one("input", "state"), f.entry)
    span = b.span(x)
    match x.kind:
        case "delay before true":
            time = duration(b, f.one("true after", "time"), x)
            f.fixed("goes back to zero", "every time the input is false")
            f.fixed("becomes false", "at once, with the input")
            return e.Timed("for", inner, time, span=span)
        case "delay before false":
            time = duration(b, f.one("stays true for", "time"), x)
            f.fixed("becomes true", "at once, with the input")
            f.fixed("goes back to zero", "every time the input is true")
            return e.Timed("extended", inner, time, span=span)
        case _:
            time = duration(b, f.one("true for", "time"), x)
            f.fixed("cut short", "no: it runs to its end whatever the input does")
            f.fixed("starts again", "only when it has ended and the input has been false since")
            return e.Timed("pulsed", inner, time, span=span)


# ---------- memories


def _counter(b: Back, f: Fields, name: str) -> Counter:
    x = f.entry
    counts = signal(b, f.one("counts", "state"), x)
    clears = tuple(signal(b, s, x) for s in f.states("back to 0 when", "or back to 0 when"))
    most = f.one("at most", "count")
    assert isinstance(most, m.Count)
    if not 0 < most.most <= COUNT:
        raise b.wrong(x, f"a counter that stops at {most.most}", f"1 to {COUNT}", "at most")
    return Counter(name, counts, clears, most.most, span=b.span(x))


def _sample(b: Back, f: Fields, name: str) -> Sample:
    x = f.entry
    value, first = f.one("takes", "number"), f.one("before that", "number")
    assert isinstance(value, m.Number)
    assert isinstance(first, m.Number)
    when = signal(b, f.one("in each pass with", "state"), x)
    found = of_entry(b, x)
    fits(b, dimension(b, first, x), found, x)
    return Sample(name, number(b, value, x), when, number(b, first, x), unit_for(found or PLAIN), span=b.span(x))


@dataclass
class LatchFields:
    """The fields of a latch, of its time-out or of its lock-out, taken apart."""

    entry: Entry
    sets: tuple[m.Value, ...] = ()
    resets: tuple[m.Value, ...] = ()
    set_wins: bool = False
    time_out: m.Value = NOTHING
    lock_out: m.Value = NOTHING
    watch: m.Value = NOTHING
    time: m.Value | None = None


def latch_fields(b: Back, x: Entry) -> LatchFields:
    f = Fields(b, x)
    found = LatchFields(x)
    match x.kind:
        case "time-out of a latch":
            found.watch, found.time = f.one("watch", "state"), f.one("true when on for", "time")
            f.fixed("true for", "that one pass")
        case "lock-out of a latch" if f.has("ends by itself after"):
            found.sets, found.time = (f.one("set when", "state"),), f.one("ends by itself after", "time")
        case _:
            found.sets, found.resets = f.states("set when", "or set when"), f.states("reset when", "or reset when")
            found.set_wins = f.fixed("both at once", SET, RESET) == SET
            if x.kind != "lock-out of a latch":
                found.time_out, found.lock_out = f.one("time-out", "time-out"), f.one("lock-out", "lock-out")
    f.done()
    return found


def latches(b: Back, made: Made, entries: list[Entry]) -> None:
    """All latches. A time-out that watches its own latch, and a lock-out that this time-out sets, become part of it."""
    found = {x.entry.number: x for x in b.each(entries, latch_fields)}
    inside = _inside(b, found)
    for x in found.values():
        if x.entry.number not in inside:
            b.tried(partial(_latch, b, made, found, x))


def _inside(b: Back, found: dict[int, LatchFields]) -> set[int]:
    """Time-outs and lock-outs that are part of a latch, and that nothing else reads."""
    readers: dict[int, list[int]] = {}
    for y in b.entries.values():
        for n in mentioned(y):
            readers.setdefault(n, []).append(y.number)
    inside: set[int] = set()
    for x in found.values():
        out, lock = _parts(found, x)
        if lock is not None and set(readers[lock.entry.number]) == {x.entry.number}:
            inside.add(lock.entry.number)
        if out is not None and set(readers[out.entry.number]) <= {x.entry.number, *inside}:
            inside.add(out.entry.number)
    return inside


def mentioned(x: Entry) -> set[int]:
    """The entries whose state an entry looks at, now or as it was."""
    found: set[int] = set()
    for f in x.fields:
        if f.kind not in ("fact", "note", "choice", "sound", "entries"):
            waiting: list[object] = [read(f.value, f.kind, f.choices)]
            while waiting:
                match waiting.pop():
                    case m.EntryState(entry=entry) | m.Speaks(entry=entry) | m.EntryValue(entry=entry):
                        found.add(entry)
                    case m.Follows(entry=entry):
                        found.add(entry)
                    case str() | None:
                        pass
                    case value:
                        waiting.extend(parts(value))
    return found


def _latch(b: Back, made: Made, found: dict[int, LatchFields], x: LatchFields) -> None:
    name, span, at = b.name(x.entry.number), b.span(x.entry), x.entry
    if x.entry.kind == "time-out of a latch":
        # What watches another entry than its own latch: the time then counts from one pass later.
        assert x.time is not None
        watched = signal(b, x.watch, at)
        late = e.Timed("for", watched, duration(b, x.time, at), span=span)
        made.signals.append(NamedSignalDefinition(name, e.Edge("begins", late, span=span), span=span))
        return
    sets = tuple(signal(b, s, at) for s in x.sets)
    if x.time is not None:
        late = e.Timed("pulsed", sets[0], duration(b, x.time, at), span=span)
        made.signals.append(NamedSignalDefinition(name, late, span=span))
        return
    resets = tuple(signal(b, s, at) for s in x.resets if not isinstance(s, m.Never))
    sets = tuple(s for s, said in zip(sets, x.sets, strict=True) if not isinstance(said, m.Never))
    timeout, lock = _timeout(b, found, x), x.lock_out
    if timeout is not None and (timeout.blocked_until is not None or timeout.blocked_for is not None):
        lock = m.Nothing()
    if isinstance(x.time_out, m.ResetBy) and timeout is None:
        over = signal(b, x.time_out.state, at)
        sets = tuple(e.AllOf((s, e.Not(over, span=span)), span=span) for s in sets)
        resets = (*resets, over)
    if isinstance(lock, m.BlockedWhile):
        kept_out = e.Not(signal(b, lock.state, at), span=span)
        sets = tuple(e.AllOf((s, kept_out), span=span) for s in sets)
    made.latches.append(Latch(name, sets, resets, x.set_wins, timeout, span=span))


def _timeout(b: Back, found: dict[int, LatchFields], x: LatchFields) -> Timeout | None:
    """The time-out as part of the latch, where it is one that watches this latch."""
    span = b.span(x.entry)
    out, lock = _parts(found, x)
    if out is None or out.time is None:
        return None
    lasts = duration(b, out.time, out.entry)
    if lock is None:
        return Timeout(lasts, span=span)
    if lock.time is not None:
        return Timeout(lasts, None, duration(b, lock.time, lock.entry), span=span)
    return Timeout(lasts, signal(b, lock.resets[0], lock.entry), span=span)


def _parts(found: dict[int, LatchFields], x: LatchFields) -> tuple[LatchFields | None, LatchFields | None]:
    """The time-out that watches this latch, and the lock-out that it sets, where they are the latch's own."""
    out = _own(found, x.time_out.state if isinstance(x.time_out, m.ResetBy) else None, "time-out of a latch")
    if out is None or out.watch != m.EntryState(x.entry.number, earlier=1):
        return None, None
    lock = _own(found, x.lock_out.state if isinstance(x.lock_out, m.BlockedWhile) else None, "lock-out of a latch")
    if lock is None or lock.sets != (m.EntryState(out.entry.number),):
        return out, None
    usual = lock.time is not None or (lock.set_wins and len(lock.resets) == 1)
    return out, lock if usual else None


def _own(found: dict[int, LatchFields], state: m.Value | None, kind: str) -> LatchFields | None:
    """The entry that a latch names as its time-out or lock-out, if it is of that kind and nothing else is meant."""
    if not isinstance(state, m.EntryState) or state.earlier or not state.state:
        return None
    other = found.get(state.entry)
    return other if other is not None and other.entry.kind == kind else None
