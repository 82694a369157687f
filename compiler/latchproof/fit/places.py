"""Every number of a rule set that the pilot enters, in its place; `enter` says what goes there."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from latchproof.fit import fields
from latchproof.fit.directions import OTHER, Ways
from latchproof.fit.fields import Place
from latchproof.fit.linear import Line, line_of
from latchproof.fit.model import Way
from latchproof.fit.rewrite import children, in_entries
from latchproof.fit.room import exists
from latchproof.fit.saying import said
from latchproof.fit.still import Numbers
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Announce,
    Channel,
    Counter,
    Drive,
    Latch,
    Limit,
    Modifiers,
    Move,
    NamedSignalDefinition,
    NamedValue,
    Phase,
    Role,
    Rule,
    RuleSet,
    Sample,
    Sequence,
)
from latchproof.rules.units import NO_UNIT, PERCENT, PLAIN, UNITS
from latchproof.transmitter.model import Transmitter

Enter = Callable[[Place, frozenset[Way]], e.Number]

NO_WAY: frozenset[Way] = frozenset()


def entered(rules: RuleSet, numbers: Numbers, t: Transmitter, ways: Ways, enter: Enter) -> RuleSet:
    """The rules with each number as `enter` gives it."""
    work = _Entering(numbers, t, ways, enter)
    work.positions = {s.name: s.positions for s in rules.switches}
    return in_entries(rules, work.change)


class _Entering:
    def __init__(self, numbers: Numbers, t: Transmitter, ways: Ways, enter: Enter) -> None:
        self.n, self.t, self.ways, self.enter = numbers, t, ways, enter
        self.where = ""
        self.positions: dict[str, tuple[str, ...]] = {}

    def change(self, x: Any) -> Any:
        """Whatever stands here, with its numbers entered."""
        match x:
            case e.Comparison():
                return self._comparison(x)
            case e.RateComparison():
                return self._rate(x)
            case e.Band():
                return self._band(x)
            case e.Timed(_, operand, duration):
                d = self._duration(duration, self._known(x, "time"), f"the time in `{said(x, self.positions)}`")
                return replace(x, operand=self.change(operand), duration=d)
            case e.Plus() | e.Minus() | e.Product() | e.Quotient() | e.Size() | e.Smallest() | e.Largest():
                return self._calculation(x)
            case e.FromTable(switch, values):
                where = f"the table of {self.where or switch}"
                return replace(x, values=tuple(self._number(v, where) for v in values))
            case Latch():
                return self._latch(self._at(x, x.name))
            case Sample(value=value, first=first):
                self._at(x, x.name)
                first_ = self._number(first, f"what {x.name} is at first") if self._still(first) else self.change(first)
                return replace(x, value=self._part(value), when=self.change(x.when), first=first_)
            case Counter() | Role():
                return children(x, self.change)
            case Channel(rests=True):
                return replace(x, source=self._amount(x.source, f"what {x.name} rests at", NO_WAY))
            case Channel():
                self._at(x, x.name)
                return x if isinstance(x.source, e.Controlled) else replace(x, source=self.change(x.source))
            case Drive(channel=channel):
                target = self._amount(x.target, f"what {channel} is driven to", NO_WAY)
                return replace(x, target=target, modifiers=self._modifiers(x.modifiers, channel))
            case Move(channel=channel):
                amount = self._amount(x.amount, f"by how much {channel} is moved", NO_WAY)
                return replace(x, amount=amount, modifiers=self._modifiers(x.modifiers, channel))
            case Limit(channel=channel, bound=bound):
                way: Way = "down" if bound == "most" else "up"
                amount = self._amount(x.amount, f"the limit of {channel}", frozenset((way,)))
                return replace(x, amount=amount, modifiers=self._modifiers(x.modifiers, channel))
            case Announce(every=every):
                return x if every is None else replace(x, every=self._repeat(every, x))
            case Phase(lasts=lasts):
                made = children(replace(x, lasts=None), self.change)
                return made if lasts is None else replace(made, lasts=self._duration(lasts, NO_WAY, f"phase {x.name}"))
            case NamedValue():
                return x if self._still(x.value) else replace(self._at(x, x.name), value=self.change(x.value))
            case NamedSignalDefinition() | Rule() | Sequence():
                return children(self._at(x, x.name), self.change)
            case _:
                return children(x, self.change)

    def _at(self, x: Any, name: str) -> Any:
        self.where = name
        return x

    def _still(self, x: e.Number) -> bool:
        return self.n.value(x) is not None

    def _known(self, x: object, part: Any) -> frozenset[Way]:
        return frozenset(self.ways.get((x, part), ()))

    # ---------- tests

    def _comparison(self, x: e.Comparison) -> e.Comparison:
        left, right = self._still(x.left), self._still(x.right)
        if left == right:
            return x if left else replace(x, left=self.change(x.left), right=self.change(x.right))
        ways = self._known(x, "bound")
        where = f"the threshold in `{said(x, self.positions)}`"
        if right:
            bound = self._threshold(x.left, x.right, ways, where)
            return replace(x, left=self.change(x.left), right=bound)
        bound = self._threshold(x.right, x.left, frozenset(OTHER[w] for w in ways), where)
        return replace(x, left=bound, right=self.change(x.right))

    def _threshold(self, subject: e.Number, bound: e.Number, ways: frozenset[Way], where: str) -> e.Number:
        line = None if exists(self.t, "calculation") else line_of(subject, self.n)
        if line is not None and line.atom != subject and line.factor:
            return self._solved(line, bound, ways, where)
        word = fields.quantity(subject, self.n)
        grid = fields.grid(self.t, word, self.n.dimension(subject))
        return self.enter(Place(bound, word, grid, where, self.n.range_of(subject)), ways)

    def _solved(self, line: Line, bound: e.Number, ways: frozenset[Way], where: str) -> e.Number:
        """Where nothing calculates, the number that is entered is one for what the subject is worked out from."""
        wanted = line.solved_for(bound)
        turned = ways if line.factor > 0 else frozenset(OTHER[w] for w in ways)
        made = self._threshold(line.atom, wanted, turned, f"{where}, entered for {said(line.atom)}")
        value = self.n.value(made)
        assert value is not None
        if made == wanted:
            return bound
        added = Fraction(0) if line.added is None else self.n.value(line.added)
        assert added is not None
        dimension = self.n.dimension(bound)
        unit = next((u for u in UNITS.values() if u.dimension == dimension and u.factor == 1), NO_UNIT)
        return e.Constant(line.factor * value + added, self.n.unit(bound, unit), span=bound.span)

    def _rate(self, x: e.RateComparison) -> e.RateComparison:
        bound = e.Constant(x.bound, x.unit, span=x.span)
        grid = fields.grid(self.t, "rate", x.unit.dimension)
        made = self.enter(
            Place(bound, "rate", grid, f"the rate in `{said(x, self.positions)}`"), self._known(x, "bound")
        )
        assert isinstance(made, e.Constant)
        return replace(x, subject=self.change(x.subject), bound=made.value)

    def _band(self, x: e.Band) -> e.Band:
        where = f"`{said(x, self.positions)}`"
        made = []
        for (order, bound), part in ((x.enter, "enter"), (x.leave, "leave")):
            if self._still(bound) and not self._still(x.subject):
                ways = self._known(x, part)
                bound = self._threshold(x.subject, bound, ways, f"the threshold to {part} {where}")
            made.append((order, bound))
        return replace(x, subject=self.change(x.subject), enter=made[0], leave=made[1])

    # ---------- memories and times

    def _latch(self, x: Latch) -> Latch:
        made = replace(x, sets=self.change(x.sets), resets=self.change(x.resets))
        if x.timeout is None:
            return made
        out = x.timeout
        lasts = self._duration(out.duration, self._known(out, "time"), f"the time-out of {x.name}")
        until = None if out.blocked_until is None else self.change(out.blocked_until)
        block = out.blocked_for
        if block is not None:
            block = self._duration(block, self._known(block, "time"), f"the lock-out of {x.name}")
        return replace(made, timeout=replace(out, duration=lasts, blocked_until=until, blocked_for=block))

    def _duration(self, x: e.Duration, ways: frozenset[Way], where: str) -> e.Duration:
        if x.in_cycles or not self.n.value(x.amount):
            return x  # no time at all is no delay at all, whatever the steps
        return replace(x, amount=self.enter(Place(x.amount, "delay", fields.of_delay(self.t), where), ways))

    def _repeat(self, x: e.Duration, told: Announce) -> e.Duration:
        if x.in_cycles or not self._still(x.amount):
            return x
        where = f"how often `{told.text or told.means}` is repeated"
        return replace(x, amount=self.enter(Place(x.amount, "repeat", fields.of_repeat(self.t), where), NO_WAY))

    # ---------- numbers of actions, tables and calculations

    def _amount(self, x: e.Number, where: str, ways: frozenset[Way]) -> e.Number:
        if not self._still(x):
            return _as_number(self.change(x))
        if self.n.dimension(x) != PERCENT:
            return x
        return self.enter(Place(x, "action", fields.of_percent(self.t), where), ways)

    def _modifiers(self, m: Modifiers, channel: str) -> Modifiers:
        where = f"a ramp of {channel}"
        soon: frozenset[Way] = frozenset(("down",))
        after = None if m.after is None else self._duration(m.after, soon, f"after how long {channel} is acted on")

        def rate(x: e.Number | None) -> e.Number | None:
            if x is None or self.n.dimension(x) != _PER_CENT_A_SECOND:
                return x
            return self.enter(Place(x, "ramp", fields.of_ramp(self.t), where), NO_WAY)

        words = tuple((word, r) for word, x in m.words if (r := rate(x)) is not None)
        return replace(m, after=after, rising=rate(m.rising), falling=rate(m.falling), back=rate(m.back), words=words)

    def _number(self, x: e.Number, where: str) -> e.Number:
        """A number that stands in a table or beside others."""
        if not self._still(x):
            return _as_number(self.change(x))
        dimension = self.n.dimension(x)
        if dimension == PERCENT:
            return self.enter(Place(x, "action", fields.of_percent(self.t), where), NO_WAY)
        word = fields.quantity(x, self.n)
        return self.enter(Place(x, word, fields.grid(self.t, word, dimension), where), NO_WAY)

    def _part(self, x: e.Number) -> e.Number:
        return self._number(x, f"a number of {self.where}") if self._still(x) else _as_number(self.change(x))

    def _calculation(self, x: Any) -> Any:
        """A calculation that varies: what stands still in it is entered, as a factor where it multiplies."""
        if self._still(x):
            return x
        match x:
            case e.Product(left, right):
                return replace(x, left=self._factor(left), right=self._factor(right))
            case e.Quotient(left, right):
                divisor = self.n.value(right)
                whole = divisor is not None and divisor.denominator == 1 and self.n.dimension(right) == PLAIN
                return replace(x, left=self.change(left), right=right if whole else self._number(right, self._inside))
            case e.Plus(left, right) | e.Minus(left, right):
                return replace(x, left=self._term(left), right=self._term(right))
            case e.Smallest(several) | e.Largest(several):
                return replace(x, operands=tuple(self._term(y) for y in several))
            case _:
                return children(x, self.change)

    @property
    def _inside(self) -> str:
        return f"a number in {self.where}" if self.where else "a number in a calculation"

    def _term(self, x: e.Number) -> e.Number:
        if self.n.value(x) == Fraction(0):
            return x
        return self._number(x, self._inside)

    def _factor(self, x: e.Number) -> e.Number:
        value = self.n.value(x)
        if value is None:
            return _as_number(self.change(x))
        if self.n.dimension(x) != PLAIN or value.denominator == 1:
            return x
        return self.enter(Place(x, "factor", fields.of_factor(self.t), self._inside), NO_WAY)


def _as_number(x: Any) -> e.Number:
    return x  # type: ignore[no-any-return]


_PER_CENT_A_SECOND = tuple(sorted({"percent": 1, "s": -1}.items()))
