"""Claims and assumptions as monitors: a signal that is true in a cycle in which the claim is broken.

A monitor starts reset. Outside its scope it is reset, and where a scope begins anew it starts anew, so every stretch of
time that a claim speaks of lies inside one unbroken stretch of the scope. Claims about windows watch one window that
starts in a cycle the world may choose (the input `pick`), so every window is covered.

On a device whose entries read late a claim may allow for some cycles (`allowance.py`): shift registers of that length
count how long something has been so.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, assert_never

from latchproof.machine.allowance import allowed, longest_time
from latchproof.machine.builder import Builder
from latchproof.machine.elements import Span
from latchproof.machine.model import DT, Assumed, Constraint, Fight, Input, Property, State
from latchproof.machine.powerup import waits
from latchproof.machine.sensors import keeps_arriving
from latchproof.machine.terms import Real, Sort, Term, Terms
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Always,
    Assumption,
    Before,
    Can,
    Claim,
    Form,
    LengthOf,
    Never,
    QuietAfter,
    Scope,
    StartsAtMost,
    StepOf,
    Whenever,
)


@dataclass
class Watch:
    """The memory of one monitor, reset outside the scope."""

    b: Builder
    name: str
    active: Term
    restart: Term

    def before(self, cell: str, sort: Sort) -> Term:
        """The value of a memory cell at the start of this cycle."""
        t = self.b.t
        return t.if_(self.restart, self._reset(sort), t.var(f"{self.name}@{cell}", sort))

    def after(self, cell: str, sort: Sort, value: Term, *, flows: bool = False) -> None:
        """What the cell holds after this cycle."""
        reset = self._reset(sort)
        term = self.b.t.if_(self.active, value, reset)
        self.b.states.append(State(f"{self.name}@{cell}", sort, reset, term, flows))

    def _reset(self, sort: Sort) -> Term:
        return self.b.t.false if sort == "bool" else self.b.t.zero

    def lasted(self, cell: str, now: Term, cycles: int, goes_on: Term | None = None) -> Term:
        """`now`, after it was so in as many cycles before. `goes_on`: what must have been so in the later ones, if not
        `now` again."""
        t = self.b.t
        goes_on = now if goes_on is None else goes_on
        for k in range(1, cycles + 1):
            before = self.before(f"{cell}{k}", "bool")
            self.after(f"{cell}{k}", "bool", now)
            now = t.all(before, goes_on)
        return now

    def later(self, span: Span, cell: str = "elapsed") -> Term:
        """Elapsed at this cycle, from a cell that holds what had elapsed before it."""
        t = self.b.t
        past = self.before(cell, "number")
        if span.in_cycles:
            return t.smaller(t.add(past, t.real(1)), t.add(span.amount, t.real(1)))
        return t.add(past, t.var(DT, "number"))

    def keep_time(self, running: Term, later: Term, span: Span, cell: str = "elapsed") -> None:
        value = self.b.t.if_(running, later, self.b.t.zero)
        self.after(cell, "number", value, flows=not span.in_cycles)

    def pick(self) -> Term:
        name = f"{self.name}@pick"
        self.b.inputs.append(Input(name, "bool"))
        return self.b.t.var(name, "bool")


def monitor(b: Builder, claim: Claim, allowance: int = 0) -> Property:
    """`allowance`: how many cycles claims allow for, as far as this one does."""
    w, scope = _watch(b, f"claim {claim.name}", claim.scope)
    broken = _form(w, claim.form, allowed(claim, allowance, b.names.rules))
    arriving = tuple(keeps_arriving(b.t, s, waits(b.t, b.names.rules, s)) for s in map(b.sensor, claim.arriving))
    kind: Literal["safe", "reach"] = "reach" if isinstance(claim.form, Can) else "safe"
    b.finish()
    return Property(claim.name, kind, b.t.all(w.active, broken), arriving, scope)


def assumed(b: Builder, assumption: Assumption) -> Assumed:
    w, _ = _watch(b, f"assume {assumption.name}", assumption.scope)
    broken = _form(w, assumption.form, 0)
    b.finish()
    return Assumed(assumption.name, Constraint(b.t.not_(b.t.all(w.active, broken)), f"assumption {assumption.name}"))


def fight(channel: str, first: str, second: str, both: Term) -> Property:
    """Two drives that no priority decides between never give a channel different values at once."""
    return Property(f"one_driver.{channel}.{first}.{second}", "safe", both, unwritten=Fight(channel, first, second))


def _watch(b: Builder, name: str, scope: Scope | None) -> tuple[Watch, Term | None]:
    t = b.t
    match scope:
        case None:
            return Watch(b, name, t.true, t.false), None
        case Scope(kind="while", signal=signal):
            inside = b.signal(signal)
            return Watch(b, name, inside, t.false), inside
        case Scope(signal=signal):
            begins = b.signal(e.Edge("begins", signal, span=scope.span))
            was = t.var(f"{name}@since", "bool")
            inside = t.any(was, begins)
            b.states.append(State(was.name, "bool", t.false, inside))
            return Watch(b, name, inside, begins), begins


def _form(w: Watch, form: Form, late: int) -> Term:
    """`late`: how many cycles this claim allows for."""
    b, t = w.b, w.b.t
    match form:
        case Never(signal=signal):
            return w.lasted("bad", b.signal(signal), late)
        case Always(signal=signal):
            return w.lasted("bad", t.not_(b.signal(signal)), late)
        case Whenever(cause=cause, effect=effect, within=within):
            span = None if within is None else b.span(within)
            if span is None or (isinstance(span.amount, Real) and not span.amount.value):
                asked, missing = b.signal(cause), t.not_(b.signal(effect))
                return w.lasted("missing", t.all(asked, missing), late, missing)
            return _response(w, b.signal(cause), b.signal(effect), span, late)
        case Before(signal=signal, first=first):
            seen = t.any(w.before("seen", "bool"), b.signal(first))
            w.after("seen", "bool", seen)
            return w.lasted("early", t.all(b.signal(signal), t.not_(seen)), late, t.not_(seen))
        case StartsAtMost(signal=signal, count=count, window=window):
            return _starts(w, b.signal(e.Edge("begins", signal, span=form.span)), count, b.span(window))
        case QuietAfter(duration=duration, cause=cause, never=never):
            return _quiet(w, b.signal(cause), b.signal(never), b.span(duration), late)
        case LengthOf(signal=signal, bound=bound, duration=duration):
            begins = b.signal(e.Edge("begins", signal, span=form.span))
            return _length(w, b.signal(signal), begins, b.span(duration), late, most=bound == "most")
        case StepOf(number=number, most=most, window=window):
            return _step(w, b.number(number), b.number(most), b.span(window))
        case Can(stages=stages):
            return _reaches(w, [b.signal(s) for s in stages])
        case _:
            assert_never(form)


def _response(w: Watch, cause: Term, effect: Term, span: Span, late: int) -> Term:
    """Broken in the first cycle later than the deadline of the oldest unanswered cause, whatever holds in it; with an
    allowance so many cycles later, if it was not answered in the meantime."""
    t = w.b.t
    pending = w.before("pending", "bool")
    later = w.later(span)
    w.after("pending", "bool", t.all(t.any(pending, cause), t.not_(effect)))
    w.keep_time(t.all(pending, t.not_(effect)), later, span)
    over = t.all(pending, t.less(span.amount, later))
    for k in range(1, late + 1):
        was = w.before(f"over{k}", "bool")
        w.after(f"over{k}", "bool", t.all(over, t.not_(effect)))
        over = t.all(was, over)
    return over


def _starts(w: Watch, begins: Term, most: int, span: Span) -> Term:
    t = w.b.t
    if most == 0:
        return begins
    on, count = w.before("on", "bool"), w.before("count", "number")
    later = w.later(span)
    inside = t.all(on, t.at_most(later, span.amount))
    starts = t.all(w.pick(), begins, t.not_(on))
    w.after("on", "bool", t.any(starts, inside))
    more = t.if_(begins, t.smaller(t.add(count, t.real(1)), t.real(most)), count)
    w.after("count", "number", t.if_(starts, t.real(1), t.if_(inside, more, t.zero)))
    w.keep_time(inside, later, span)
    return t.all(inside, begins, t.at_most(t.real(most), count))


def _quiet(w: Watch, cause: Term, never: Term, span: Span, late: int) -> Term:
    """Strictly later than the cause and before the time has passed; `N cycles` are the next N.

    The first `late` cycles after each cause do not count: the last cause older than that is what matters, so the window
    of each younger one is handed down from cell to cell.
    """
    t = w.b.t
    on, later = w.before("on", "bool"), w.later(span)
    inside = t.all(on, _soon(t, later, span))
    w.after("on", "bool", t.any(cause, inside))
    w.keep_time(t.all(inside, t.not_(cause)), later, span)
    for k in range(1, late + 1):
        older, age = w.before(f"on{k}", "bool"), w.later(span, f"elapsed{k}")
        w.after(f"on{k}", "bool", inside)
        w.keep_time(inside, later, span, f"elapsed{k}")
        inside, later = t.all(older, _soon(t, age, span)), age
    return t.all(inside, never)


def _soon(t: Terms, later: Term, span: Span) -> Term:
    return t.at_most(later, span.amount) if span.in_cycles else t.less(later, span.amount)


def _length(w: Watch, signal: Term, begins: Term, span: Span, late: int, *, most: bool) -> Term:
    """From the first cycle that sees it true to the first that sees it false: outputs hold until the next cycle.

    With an allowance so many cycles more, or so many of the longest cycles less.
    """
    t = w.b.t
    on, later = w.before("on", "bool"), w.later(span)
    w.keep_time(t.all(on, signal), later, span)
    if most:
        w.after("on", "bool", signal)
        over = t.all(on, t.less(span.amount, later))
        for k in range(1, late + 1):
            was = w.before(f"over{k}", "bool")
            w.after(f"over{k}", "bool", t.all(over, signal))
            over = t.all(was, over)
        return over
    w.after("on", "bool", t.all(signal, t.any(on, begins)))
    less = Fraction(late) if span.in_cycles else longest_time(late, w.b.names.rules)
    return t.all(on, t.not_(signal), t.less(later, t.sub(span.amount, t.real(less))))


def _step(w: Watch, number: Term, most: Term, span: Span) -> Term:
    t = w.b.t
    on, reference, later = w.before("on", "bool"), w.before("reference", "number"), w.later(span)
    inside = t.all(on, t.at_most(later, span.amount))
    starts = t.all(w.pick(), t.not_(on))
    w.after("on", "bool", t.any(starts, inside))
    w.after("reference", "number", t.if_(starts, number, t.if_(inside, reference, t.zero)))
    w.keep_time(inside, later, span)
    return t.all(inside, t.less(most, t.size(t.sub(number, reference))))


def _reaches(w: Watch, stages: list[Term]) -> Term:
    """Each stage in a later cycle than the one before; true in the cycle of the last."""
    t = w.b.t
    reached = t.true
    for k, stage in enumerate(stages):
        now = t.all(reached, stage)
        if k + 1 == len(stages):
            return now
        before = w.before(f"stage{k}", "bool")
        w.after(f"stage{k}", "bool", t.any(before, now))
        reached = before
    raise AssertionError("a `can` claim has at least one stage")
