"""Resolved expressions to terms. Anonymous memory (delays, edges, bands, previous values) is shared where it is
equal."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from latchproof.machine import elements
from latchproof.machine.elements import Span
from latchproof.machine.model import DT, Element, Holds, Input, State
from latchproof.machine.names import Names, exact
from latchproof.machine.reading import Entry, Reading
from latchproof.machine.reads import reads_of
from latchproof.machine.spans import span_of
from latchproof.machine.terms import Term, Terms
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet, Sensor

NO_ENTRY = (e.AtPosition, e.Pressed, e.SensorState, e.PreviousSignal, e.NamedSignal, e.Not)
"""Signals that take no entry: inputs, names, the last cycle of something, and `not`."""


@dataclass
class Builder:
    """The machine under construction. `owner` is the element being built: a reference to itself reads the last cycle.

    `controlled` tells whether channel sources see the controls as the rules leave them (true) or as the pilot holds
    them.
    """

    t: Terms
    names: Names
    definitions: dict[str, Term] = field(default_factory=dict)
    states: list[State] = field(default_factory=list)
    inputs: list[Input] = field(default_factory=list)
    owner: str | None = None
    _shared: dict[tuple[str | None, e.Signal | e.Number | str], Term] = field(default_factory=dict)
    _waiting: list[Callable[[], None]] = field(default_factory=list)
    fights: list[tuple[str, str, str, Term]] = field(default_factory=list)
    sets: dict[str, Term] = field(default_factory=dict)
    reading: Reading | None = None
    """Where entries do not simply read this cycle's values; None also for all that is no entry, such as claims."""
    given: dict[tuple[str | None, e.Signal], str] | None = None
    """Names of what is taken from another machine instead of being built: delays and pulses. None: nothing is."""
    acting: dict[str, dict[str, list[Term]]] = field(default_factory=dict)
    """For each rule, on each channel or control, whether its actions have a say."""
    _named: dict[str, int] = field(default_factory=dict)

    # ---------- bookkeeping

    def keep(self, element: Element) -> Term:
        self.states.extend(element.states)
        return element.output

    def sensor(self, name: str) -> Sensor:
        return self.names.sensors[name]

    def fresh(self, kind: str) -> str:
        base = f"{self.owner}@{kind}" if self.owner else f"@{kind}"
        self._named[base] = self._named.get(base, 0) + 1
        return f"{base}{self._named[base]}"

    def finish(self) -> None:
        """Build what was put off: operands of `previous`, which may name things defined later; who acts at all."""
        while self._waiting:
            self._waiting.pop(0)()
        for rule, places in self.acting.items():
            if f"{rule}.acting" in self.definitions:
                break  # told already: channels are built before the first time
            for place, layers in places.items():
                self.definitions[f"{rule}.acting@{place}"] = self.t.any(*layers)
            self.definitions[f"{rule}.acting"] = self.t.any(*(on for layers in places.values() for on in layers))

    def _share(self, expression: e.Signal | e.Number, make: Callable[[], Term]) -> Term:
        key = (self._own(expression), expression)
        if key not in self._shared:
            self._shared[key] = make()
        return self._shared[key]

    def _own(self, expression: e.Signal | e.Number) -> str | None:
        """The thing being built, if the expression reads it: then it reads its last cycle."""
        return self.owner if self.owner is not None and self.owner in reads_of(expression) else None

    def for_claims(self, rules: RuleSet) -> None:
        """From here on nothing is an entry, and on a device with ways of its own no memory is shared with one."""
        if self.reading is not None or rules.device.starts == "any":
            self._shared.clear()
        self.reading = None

    def reading_as(self, reader: str, at: str | None = None) -> AbstractContextManager[None]:
        """What is built in this context is read by that entry, which stands with the thing called `at`."""
        return nullcontext() if self.reading is None else self.reading.reading_as(reader, at)

    def span(self, duration: e.Duration) -> Span:
        return Span(self.amount(duration.amount), duration.in_cycles)

    # ---------- numbers

    def number(self, x: e.Number, *, raw: bool = False) -> Term:
        """The term of a number in this cycle. `raw`: controls as the pilot holds them, for the pilot's own value of a
        channel."""
        if self.reading is not None and not raw and self._is_calculation(x):
            return self._calculation(x).output
        return self.worked_out(x, raw=raw)

    def amount(self, x: e.Number, *, raw: bool = False) -> Term:
        """The number as the entry that is being built reads it."""
        if self.reading is None:
            return self.number(x, raw=raw)
        match x:
            case e.NamedNumber(name) if name == self.owner:
                return self.worked_out(x)
            case e.NamedNumber(name) if name in self.names.values:
                return self.amount(self.names.values[name])
            case e.NamedNumber(name):
                return self.reading.see(name, self.definitions[name], self.t.var(name, "number"))
            case e.Output(name):
                return self.reading.see(name, self.definitions[name], holds=self.span_of(x))
            case _ if self._is_calculation(x):
                entry = self._calculation(x)
                return self.reading.see(entry.label, entry.output, holds=self.span_of(x))
            case _:
                return self.worked_out(x, raw=raw)

    def _calculation(self, x: e.Number) -> Entry:
        assert self.reading is not None
        return self.reading.entry(self._own(x), x, lambda: self.fresh("entry"), lambda: self.worked_out(x))

    def _is_calculation(self, x: e.Number) -> bool:
        """Whether it takes an entry to work it out: it is made of several things, and not all of them stand still."""
        kinds = (e.Plus, e.Minus, e.Product, e.Quotient, e.Size, e.Smallest, e.Largest, e.FromTable)
        fixed = self.names.tunes.keys() | self.names.facts.keys()
        return isinstance(x, kinds) and (isinstance(x, e.FromTable) or not reads_of(x) <= fixed)

    def worked_out(self, x: e.Number, *, raw: bool = False) -> Term:
        """A number within the entry that is being built: what it is made of is no entry of its own."""
        t = self.t

        def go(y: e.Number) -> Term:
            if self.reading is not None and not self._is_calculation(y):
                return self.amount(y, raw=raw)
            return self.worked_out(y, raw=raw)

        match x:
            case e.Constant(value):
                return t.real(value)
            case e.Parameter(name) | e.Held(name):
                return t.var(name, "number")
            case e.Controlled(name):
                return t.var(name, "number") if raw else self.definitions.get(f"{name}@out", t.var(name, "number"))
            case e.Reading(name):
                return self.definitions[name]
            case e.Truth(name):
                return t.var(f"{name}@truth", "number")
            case e.Age(name):
                return self.definitions[f"{name}@age"]
            case e.Output(name):
                return self.definitions[name]
            case e.Own(name) if name in self.names.controls:
                return t.var(name, "number")
            case e.Own(name):
                return self.definitions[f"{name}@own"]
            case e.NamedNumber(name):
                return t.var(name, "number") if name == self.owner else self.definitions[name]
            case e.Plus(left, right):
                return t.add(go(left), go(right))
            case e.Minus(left, right):
                return t.sub(go(left), go(right))
            case e.Product(left, right):
                return self._product(left, right, go)
            case e.Quotient(left, right):
                return self._by_value(right, lambda k: t.scale(1 / k, go(left)))
            case e.Size(operand):
                return t.size(go(operand))
            case e.Smallest(operands):
                return self._fold(t.smaller, [go(o) for o in operands])
            case e.Largest(operands):
                return self._fold(t.larger, [go(o) for o in operands])
            case e.PreviousNumber():
                return self._share(x, lambda: self._previous_number(x))
            case e.FromTable(switch, values):
                return self._fold_table(switch, [go(v) for v in values])
            case _:
                assert_never(x)

    def span_of(self, x: e.Number, sign: int = 1) -> Holds:
        """The least and the most that a number, or with a sign its negative, or 0 can be."""
        low, high = span_of(e.PreviousNumber(x, span=x.span), self.names.rules, self.names.spans)
        return (low, high) if sign > 0 else (None if high is None else -high, None if low is None else -low)

    def _fold(self, join: Callable[[Term, Term], Term], terms: list[Term]) -> Term:
        result = terms[0]
        for term in terms[1:]:
            result = join(result, term)
        return result

    def _fold_table(self, switch: str, values: list[Term]) -> Term:
        result = values[0]
        for position in range(1, len(values)):
            result = self.t.if_(self.at_position(switch, position), values[position], result)
        return result

    def _previous_number(self, x: e.PreviousNumber) -> Term:
        name = self.fresh("previous")
        kept = self.t.var(name, "number")

        def build() -> None:
            self.owner, before = None, self.owner  # the whole cycle is known here, the element itself as well
            self.states.append(
                State(
                    name, "number", self.t.zero, self.number(x.operand), flows=True, echoes=True, holds=self.span_of(x)
                )
            )
            self.owner = before

        self._waiting.append(build)
        return kept

    def _product(self, left: e.Number, right: e.Number, go: Callable[[e.Number], Term]) -> Term:
        if self._stands_still(left):
            return self._by_value(left, lambda k: self.t.scale(k, go(right)))
        return self._by_value(right, lambda k: self.t.scale(k, go(left)))

    def _stands_still(self, x: e.Number) -> bool:
        """A constant, or made of constants and tunes in steps."""
        match x:
            case e.Constant():
                return True
            case e.Parameter(name):
                return name in self.names.tunes and bool(self.names.tunes[name].steps)
            case e.Plus(a, b) | e.Minus(a, b) | e.Product(a, b) | e.Quotient(a, b):
                return self._stands_still(a) and self._stands_still(b)
            case e.Size(a):
                return self._stands_still(a)
            case e.Smallest(several) | e.Largest(several):
                return all(self._stands_still(a) for a in several)
            case _:
                return False

    def standing(self, x: e.Number) -> Term:
        """A number that stands still (a rate) as a constant, or as a choice of constants by its stepped tunes."""
        return self._by_value(x, self.t.real)

    def _by_value(self, x: e.Number, use: Callable[[Fraction], Term]) -> Term:
        """`use` of the value of a number that stands still, as one case for each combination of its stepped tunes."""
        result: Term | None = None
        for condition, value in self._cases(x):
            case = use(value)
            result = case if result is None else self.t.if_(condition, case, result)
        assert result is not None
        return result

    def _cases(self, x: e.Number) -> list[tuple[Term, Fraction]]:
        tunes = sorted(n for n in reads_of(x) if n in self.names.tunes)
        combinations: list[dict[str, Fraction]] = [{}]
        for name in tunes:
            combinations = [{**c, name: v} for c in combinations for v in self.names.tunes[name].steps]
        return [
            (
                self.t.all(*(self.t.equal(self.t.var(n, "number"), self.t.real(v)) for n, v in c.items())),
                exact(x, c),
            )
            for c in combinations
        ]

    # ---------- signals

    def at_position(self, switch: str, position: int) -> Term:
        """A switch of n positions is n - 1 Boolean inputs: the highest one that is true tells the position."""
        count = len(self.names.switches[switch].positions)
        higher = [self.t.var(f"{switch}@{k}", "bool") for k in range(position + 1, count)]
        nothing_higher = [self.t.not_(bit) for bit in higher]
        return self.t.all(*([self.t.var(f"{switch}@{position}", "bool")] if position else []), *nothing_higher)

    def signal(self, x: e.Signal) -> Term:
        """The term of a signal in this cycle."""
        if self.reading is None or isinstance(x, NO_ENTRY):
            return self._signal(x)
        return self._entry(x).output

    def operand(self, x: e.Signal) -> Term:
        """The signal as the entry that is being built reads it. `not` is no entry: it says which state counts."""
        match x:
            case _ if self.reading is None:
                return self.signal(x)
            case e.Not(operand):
                return self.t.not_(self.operand(operand))
            case e.NamedSignal(name):
                return self._seen(name)
            case _ if isinstance(x, NO_ENTRY):
                return self._signal(x)
            case _:
                entry = self._entry(x)
                return self.reading.see(entry.label, entry.output)

    def seen(self, name: str, now: Term) -> Term:
        """A part of another entry as the entry that is being built reads it."""
        return now if self.reading is None else self.reading.see(name, now)

    def _entry(self, x: e.Signal) -> Entry:
        assert self.reading is not None
        return self.reading.entry(self._own(x), x, lambda: self.fresh("entry"), lambda: self._signal(x))

    def _seen(self, name: str) -> Term:
        """A named signal as it is read: a name for another entry is that entry."""
        assert self.reading is not None
        if name == self.owner:
            return self._own_signal(name)
        definition = self.names.signals.get(name)
        if definition is not None and name not in reads_of(definition):
            return self.operand(definition)
        if name == self.names.pulse:
            return self.definitions[name]
        kept = definition is not None or name in self.names.latches
        return self.reading.see(name, self.definitions[name], self.t.var(name, "bool") if kept else None)

    def _signal(self, x: e.Signal) -> Term:
        t = self.t
        match x:
            case e.AtPosition(switch, position):
                return self.at_position(switch, position)
            case e.Pressed(button):
                return t.var(button, "bool")
            case e.NamedSignal(name):
                return self._own_signal(name) if name == self.owner else self.definitions[name]
            case e.Comparison(left, order, right):
                return self.compare(self.amount(left), order, self.amount(right))
            case e.RateComparison():
                return self._share(x, lambda: self._rate(x))
            case e.Band(subject, enter, leave):
                return self._share(x, lambda: self._band(self.amount(subject), enter, leave))
            case e.SensorState(sensor, state):
                return self._sensor_state(sensor, state)
            case e.ChannelState(channel, state):
                name = f"{channel}@{state}"
                now = self.definitions[name]
                return now if self.reading is None else self.reading.see(name, now)
            case e.Not(operand):
                return t.not_(self.signal(operand))
            case e.AllOf(operands):
                return t.all(*(self.operand(o) for o in operands))
            case e.AnyOf(operands):
                return t.any(*(self.operand(o) for o in operands))
            case e.ExactlyOne(operands):
                return self._exactly_one([self.operand(o) for o in operands])
            case e.Timed():
                return self._share(x, lambda: self._timed(x))
            case e.Edge(kind, operand):
                return self._share(x, lambda: self._edge(kind, operand))
            case e.PreviousSignal():
                return self._share(x, lambda: self._previous_signal(x))
            case _:
                assert_never(x)

    def _own_signal(self, name: str) -> Term:
        """A reference to itself reads the last cycle; a signal needs a cell for that, a latch has one."""
        return self.t.var(name, "bool")

    def _exactly_one(self, terms: list[Term]) -> Term:
        t = self.t
        one, none = t.false, t.true
        for term in terms:
            one = t.any(t.all(one, t.not_(term)), t.all(none, term))
            none = t.all(none, t.not_(term))
        return one

    def _sensor_state(self, sensor: str, state: str) -> Term:
        match state:
            case "fresh":
                return self.t.not_(self.definitions[f"{sensor}@stale"])
            case _:
                return self.definitions[f"{sensor}@{state}"]

    def compare(self, left: Term, order: e.Order, right: Term) -> Term:
        t = self.t
        match order:
            case "<":
                return t.less(left, right)
            case "<=":
                return t.at_most(left, right)
            case ">":
                return t.less(right, left)
            case ">=":
                return t.at_most(right, left)
            case "==":
                return t.equal(left, right)
            case _:
                assert_never(order)

    def _band(self, subject: Term, enter: tuple[e.Order, e.Number], leave: tuple[e.Order, e.Number]) -> Term:
        enters = self.compare(subject, enter[0], self.amount(enter[1]))
        leaves = self.compare(subject, leave[0], self.amount(leave[1]))
        return self.keep(elements.band(self.t, self.fresh("band"), enters, leaves))

    def _timed(self, x: e.Timed) -> Term:
        if self.given is not None:
            name = self.given.setdefault((self._own(x), x), f"given timer {len(self.given) + 1}")
            return self.t.var(name, "bool")
        operand, span = self.operand(x.operand), self.span(x.duration)
        match x.kind:
            case "for":
                return self.keep(elements.on_delay(self.t, self.fresh("for"), operand, span))
            case "extended":
                return self.keep(elements.off_delay(self.t, self.fresh("extended"), operand, span))
            case "pulsed":
                return self.keep(elements.pulse(self.t, self.fresh("pulsed"), operand, span))
            case _:
                assert_never(x.kind)

    def _edge(self, kind: str, operand: e.Signal) -> Term:
        make = elements.begins if kind == "begins" else elements.ends
        return self.keep(make(self.t, self.fresh(kind), self.operand(operand)))

    def _previous_signal(self, x: e.PreviousSignal) -> Term:
        name = self.fresh("previous")

        def build() -> None:
            self.owner, before = None, self.owner  # the whole cycle is known here, the element itself as well
            self.states.append(State(name, "bool", self.t.false, self.signal(x.operand)))
            self.owner = before

        self._waiting.append(build)
        return self.t.var(name, "bool")

    # ---------- rates: change against rate times gap, never divided

    def _rate(self, x: e.RateComparison) -> Term:
        t = self.t
        match x.subject:
            case e.Reading(sensor):
                return self._rate_at_frames(x, sensor)
            case subject:
                name = self.fresh("rate")
                before, started = t.var(name, "number"), t.var(f"{name}@started", "bool")
                now = self.amount(subject)
                self.states.append(State(before.name, "number", t.zero, now, flows=True, holds=self.span_of(subject)))
                self.states.append(State(started.name, "bool", t.false, t.true))
                change = t.if_(started, t.sub(now, before), t.zero)
                return self._compare_change(change, x, t.var(DT, "number"))

    def _rate_at_frames(self, x: e.RateComparison, sensor: str) -> Term:
        t = self.t
        kept = t.var(self.fresh("rate"), "bool")
        gap = t.add(t.var(f"{sensor}@since", "number"), t.var(DT, "number"))
        change = t.sub(t.var(f"{sensor}@reading", "number"), t.var(f"{sensor}@last", "number"))
        at_frame = t.all(t.var(f"{sensor}@frame", "bool"), t.var(f"{sensor}@heard_before", "bool"))
        out = t.if_(at_frame, self._compare_change(change, x, gap), kept)
        self.states.append(State(kept.name, "bool", self._compare_change(t.zero, x, t.real(1)), out))
        return out

    def _compare_change(self, change: Term, x: e.RateComparison, gap: Term) -> Term:
        return self.compare(self.t.size(change) if x.size else change, x.order, self.t.scale(x.bound, gap))
