"""Faults that are planted, one at a time: what is replaced, by what, and the check that must notice.

In `TRUSTED` stands what a verdict rests on: a fault there could make a wrong one, so the suite must see it. In
`ACCELERATIONS` stands what only proposes: a fault there may cost a proof or a trace, and never makes a wrong verdict.
No fault is planted in induction over several cycles, since the program has none: a proof record consists of three
questions about one cycle, and a proof that needs several would not give one.
"""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

import z3

from latchproof.machine import channels, compile, elements, monitors, powerup, reading
from latchproof.machine.model import Element
from latchproof.machine.terms import Add, And, AtMost, If, Less, Scale, Term, Terms
from latchproof.prove import (
    encode,
    engines,
    facts_again,
    holds,
    horn,
    induction,
    prover,
    recheck,
    replay,
    smtlib,
    unrolling,
)
from latchproof.prove.encode import Encoder
from latchproof.prove.found import Answer, Found
from latchproof.rules.model import RuleSet
from latchproof.run import expressions, judge, program
from tests.faults import checks
from tests.faults.checks import of
from tests.faults.fault import Fault, Make
from tests.faults.late import LATE
from tests.machine import test_reading
from tests.prove import test_again, test_facts_again


def _next(element: Element, cell: str, term: Term) -> tuple[Any, ...]:
    """The memory with another next value of one cell."""
    return tuple(replace(s, next=term) if s.name.endswith(cell) else s for s in element.states)


# ---------- the cycle function


def _late_on_delay(right: Make) -> Make:
    def on_delay(t: Terms, name: str, signal: Term, span: elements.Span) -> Element:
        elapsed = elements.stopwatch(t, name, signal, span)
        return Element(t.all(signal, t.less(span.amount, elapsed.output)), elapsed.states)

    return on_delay


def _long_off_delay(right: Make) -> Make:
    def off_delay(t: Terms, name: str, signal: Term, span: elements.Span) -> Element:
        made = right(t, name, signal, span)
        fallen = elements.stopwatch(t, name, t.not_(signal), span)
        out = t.any(signal, t.all(t.var(f"{name}@out", "bool"), t.at_most(fallen.output, span.amount)))
        return Element(out, _next(made, "@out", out))

    return off_delay


def _prolonged_pulse(right: Make) -> Make:
    def pulse(t: Terms, name: str, signal: Term, span: elements.Span) -> Element:
        made = right(t, name, signal, span)
        out = t.any(made.output, t.all(signal, t.not_(t.var(f"{name}@in", "bool"))))
        return Element(out, _next(made, "@out", out))

    return pulse


def _turned_latch(right: Make) -> Make:
    def latch(t: Terms, name: str, sets: Term, resets: Term, *, set_wins: bool, timeout: Any) -> Element:
        return right(t, name, sets, resets, set_wins=not set_wins, timeout=timeout)  # type: ignore[no-any-return]

    return latch


def _forgotten_block(right: Make) -> Make:
    return lambda t, name, expires, timeout: replace(right(t, name, expires, timeout), output=t.false)


def _high_counter(right: Make) -> Make:
    return lambda t, name, counts, clears, limit: right(t, name, counts, clears, limit + 1)


def _fast_slew(right: Make) -> Make:
    def slew(t: Terms, start: Term, target: Term, up: Term | None, down: Term | None) -> Term:
        return right(t, start, target, None if up is None else t.scale(2, up), down)  # type: ignore[no-any-return]

    return slew


def _unmarked_stale(right: Make) -> Make:
    return lambda t, s: right(t, replace(s, stale_reads=None))


CYCLE = (
    Fault("an on-delay is a moment late", elements, "on_delay", _late_on_delay, of(checks.models, "for fixed")),
    Fault("an off-delay lasts a cycle too long", elements, "off_delay", _long_off_delay,
          of(checks.models, "extended fixed")),
    Fault("a pulse is prolonged by a new edge", elements, "pulse", _prolonged_pulse,
          of(checks.models, "pulsed fixed", "pulsed knob")),
    Fault("a latch's dominance is turned", elements, "latch", _turned_latch, of(checks.models, "latch")),
    Fault("a time-out does not block", elements, "_block", _forgotten_block,
          of(checks.models, "time-out fixed for reset wins")),
    Fault("a counter counts one too far", elements, "counter", _high_counter, of(checks.verdicts, "by a bound")),
    Fault("a band is turned inside out", elements, "band",
          lambda right: lambda t, name, enter, leave: right(t, name, leave, enter), of(checks.models, "band")),
    Fault("the end of a signal is its beginning", elements, "ends", lambda _: elements.begins,
          of(checks.models, "begins and ends")),
    Fault("a ramp is twice as fast", channels, "slew", _fast_slew, of(checks.models, "drive up")),
    Fault("what is read while stale is forgotten", compile, "sensor", _unmarked_stale,
          of(checks.models, "sensor that reads 40 m")),
)  # fmt: skip


# ---------- the encoding


def _as(change: Callable[[Term], Term]) -> Make:
    """Terms are encoded as other ones with the same parts."""

    def make(right: Make) -> Make:
        return lambda term, done, environment: right(change(term), done, environment)

    return make


def _strict(term: Term) -> Term:
    return Less(term.left, term.right) if isinstance(term, AtMost) else term


def _slack(term: Term) -> Term:
    return AtMost(term.left, term.right) if isinstance(term, Less) else term


def _swapped(term: Term) -> Term:
    return If(term.condition, term.otherwise, term.then, term.sort) if isinstance(term, If) else term


def _turned(term: Term) -> Term:
    return Scale(-term.factor, term.operand) if isinstance(term, Scale) else term


def _shortened(term: Term) -> Term:
    return And(term.operands[:-1]) if isinstance(term, And) else term


def _halved(term: Term) -> Term:
    return Add(term.operands[:1]) if isinstance(term, Add) else term


ENCODING = (
    Fault("< is written for <=", encode, "_expression", _as(_strict), of(checks.solver)),
    Fault("<= is written for <", encode, "_expression", _as(_slack), of(checks.solver)),
    Fault("a choice has its sides swapped", encode, "_expression", _as(_swapped), of(checks.solver)),
    Fault("a factor loses its sign", encode, "_expression", _as(_turned), of(checks.solver)),
    Fault("the last part of an and is lost", encode, "_expression", _as(_shortened), of(checks.solver)),
    Fault("only the first part of a sum counts", encode, "_expression", _as(_halved), of(checks.solver)),
    Fault("in the solver time is late by a moment", encode, "_expression", _as(_strict), of(checks.counted)),
    Fault("facts are not asked for", Encoder, "frame",
          lambda right: lambda self, *given: replace(right(self, *given), allowed=z3.BoolVal(True)),
          of(checks.solver)),
    Fault("the memory at power-up is anything", Encoder, "initial", lambda _: lambda self, state: z3.BoolVal(True),
          of(checks.verdicts, "at any cycle time")),
)  # fmt: skip


# ---------- the text that proofs are checked by


def _text_as(change: Callable[[Term], Term]) -> Make:
    return lambda right: lambda term, shown: right(change(term), shown)


TEXT = (
    Fault("the text says < for <=", smtlib, "_body", _text_as(_strict), of(checks.as_text)),
    Fault("the text swaps the sides of a choice", smtlib, "_body", _text_as(_swapped), of(checks.as_text)),
    Fault("the text loses a factor's sign", smtlib, "_body", _text_as(_turned), of(checks.as_text)),
    Fault("the text knows nothing of power-up", smtlib, "start", lambda _: lambda system: [],
          of(checks.verdicts, "at any cycle time")),
)  # fmt: skip


# ---------- monitors


MONITORS = (
    Fault("a whenever has no deadline", monitors, "_response", lambda _: lambda w, *given: w.b.t.false,
          of(checks.direct)),
    Fault("a scope does not start anew", monitors.Watch, "before",
          lambda _: lambda self, cell, sort: self.b.t.var(f"{self.name}@{cell}", sort), of(checks.direct)),
    Fault("no window is ever picked", monitors.Watch, "pick", lambda _: lambda self: self.b.t.false,
          of(checks.direct)),
    Fault("one start more is granted", monitors, "_starts",
          lambda right: lambda w, begins, most, *more: right(w, begins, most + 1, *more), of(checks.direct)),
    Fault("a quiet time ends at once", monitors, "_quiet",
          lambda right: lambda w, cause, never, span, *more: right(
              w, cause, never, elements.Span(w.b.t.zero, span.in_cycles), *more),
          of(checks.direct)),
    Fault("at most and at least are mixed up", monitors, "_length",
          lambda right: lambda *given, most: right(*given, most=not most),
          of(checks.direct)),
    Fault("stages are reached in one cycle", monitors, "_reaches",
          lambda _: lambda w, stages, *more: w.b.t.all(*stages), of(checks.direct)),
)  # fmt: skip


# ---------- interpreter and direct reading


def _unlike(term_kind: type, change: Callable[[Term], Term]) -> Make:
    return lambda right: (
        lambda term, parts, done, values: right(
            change(term) if isinstance(term, term_kind) else term, parts, done, values
        )
    )


RUNS = (
    Fault("the interpreter takes < for <=", program, "_apply", _unlike(AtMost, _strict), of(checks.solver)),
    Fault("the interpreter turns a factor's sign", program, "_apply", _unlike(Scale, _turned), of(checks.solver)),
    Fault("what a changed value reaches is not computed anew", program, "_mark",
          lambda right: lambda users, marked, waiting: right(users[:1], marked, waiting), of(checks.solver)),
    Fault("direct reading forgets the scope", judge, "_stretches",
          lambda _: lambda claim, reader: [range(len(reader.records))], of(checks.direct)),
    Fault("direct reading counts windows one cycle short", expressions.Reader, "since",
          lambda right: lambda self, start, k, in_cycles: right(self, start, max(start, k - 1), in_cycles),
          of(checks.direct)),
)  # fmt: skip

# ---------- kinds of device


def _from_the_end(right: Make) -> Make:
    def place(self: reading.Reading, label: str) -> Any:
        found = right(self, label)
        return None if found is None else (found[0], *(-x for x in found[1:]))

    return place


def _late_at_once(right: Make) -> Make:
    """A device that sees every entry as it is in this cycle sees them late."""

    def made(t: Terms, rules: RuleSet, defined_by: Any) -> Any:
        late = replace(rules, device=replace(rules.device, reads="last cycle"))
        return right(t, late if rules.device.reads == "this cycle" else rules, defined_by)

    return made


DEVICES = (
    Fault("what is read at once is read late", compile, "_reading", _late_at_once,
          of(test_reading.test_a_chain_of_entries, "this cycle", False, 0, [1, 1, 1, 2, 2])),
    Fault("what is read late is read at once", reading.Reading, "_late", lambda _: lambda self, read: self.t.false,
          of(test_reading.test_a_chain_of_entries, "last cycle", False, 5, [1, 2, 3, 6, 7])),
    Fault("one choice decides for all entries", reading.Reading, "_choice",
          lambda right: lambda self, cell, *more: right(self, "@late1", *more),
          of(test_reading.test_one_choice_for_each_two_entries)),
    Fault("the order of the file is taken from its end", reading.Reading, "_place", _from_the_end,
          of(test_reading.test_the_order_of_the_file, "listed order", True, 3, [1, 2, 3, 4])),
    Fault("memory that may hold anything starts reset", compile, "with_any_start",
          lambda _: lambda t, states: (list(states), []),
          of(test_reading.test_no_memory_holds_what_it_cannot, "l@on_for", Fraction(-1), False)),
    Fault("a count may start above its limit", powerup, "_can_hold", lambda _: lambda t, state: t.true,
          of(test_reading.test_no_memory_holds_what_it_cannot, "n", Fraction(4), False)),
    Fault("a frame may come before the first", compile, "no_frame_before", lambda _: lambda *given: (),
          of(test_reading.test_the_start_signal_and_the_first_frame)),
    Fault("the start signal never ends", compile, "pulse", lambda _: lambda t, since, seconds: t.true,
          of(test_reading.test_the_start_signal_and_the_first_frame)),
)  # fmt: skip


# ---------- the check of a proof


RECHECK = (
    Fault("the check of a proof lets everything pass", engines, "certificate_holds", lambda _: lambda *given: True,
          of(checks.refused, "at once")),
    Fault("the third question of a proof is not asked", recheck, "three_queries",
          lambda right: lambda *given: right(*given)[:2],
          of(checks.refused, "at once")),
    Fault("a record's facts are not asked about again", facts_again, "with_time",
          lambda _: lambda opinion, *given: opinion,
          of(test_facts_again.test_facts_that_stop_time)),
    Fault("kept proofs stand without a check", prover, "standing",
          lambda _: lambda everything, *given, **named: frozenset(one.key for one in everything),
          of(test_again.test_one_spoiled_proof_among_many_is_not_believed)),
)  # fmt: skip

TRUSTED = (*CYCLE, *ENCODING, *TEXT, *MONITORS, *RUNS, *DEVICES, *LATE, *RECHECK)


# ---------- accelerations


class Wide(Encoder):
    """Cycle times without bounds, negative ones as well."""

    def ordinary(self, dt: z3.ArithRef) -> z3.BoolRef:
        return z3.BoolVal(True)


class Narrow(Encoder):
    """Only the shortest cycle."""

    def ordinary(self, dt: z3.ArithRef) -> z3.BoolRef:
        return dt == encode.real(self.system.shortest)


def _free_as(other: type[Encoder]) -> Make:
    def make(right: Make) -> Make:
        def asked(encoder: Encoder, steps: str, *more: Any, **named: Any) -> Any:
            if steps == "free":
                return right(other(encoder.system), "ordinary", *more, **named)
            return right(encoder, steps, *more, **named)

        return asked

    return make


def _without_flags(right: Make) -> Make:
    """Boolean cells may change during a hold."""

    def hold(encoder: Encoder, *given: Any, **named: Any) -> holds.Hold:
        made: holds.Hold = right(encoder, *given, **named)
        flags = [made.frame.before[s.name] for s in encoder.system.states if s.sort == "bool"]
        parts = made.condition.children()
        left = [p for p in parts if not (z3.is_eq(p) and any(p.arg(1).eq(x) for x in flags))]
        assert len(left) < len(parts)
        return holds.Hold(made.frame, z3.And(*left))

    return hold


def _no_first_cycle(right: Make) -> Make:
    def found(*given: Any, **named: Any) -> Found:
        made: Found = right(*given, **named)
        return made if not made.stretches or len(made.stretches) < 2 else replace(made, stretches=made.stretches[1:])

    return found


def _all_kept(right: Make) -> Make:
    def kept(encoder: Encoder, *more: Any) -> tuple[list[z3.BoolRef], bool]:
        return induction.candidates(encoder, encoder.state("")), right(encoder, *more)[1]

    return kept


ACCELERATIONS = (
    Fault("one-cycle induction says yes to everything", engines, "one_step", lambda _: lambda encoder: "true",
          of(checks.verdicts, "at once", "over a long time")),
    Fault("the filter keeps every candidate", horn, "filtered_facts", _all_kept,
          of(checks.engines, "by a bound"), also=(checks.engine_module,)),
    Fault("the filter says that the goal is excluded", horn, "filtered_facts",
          lambda right: lambda *given: (right(*given)[0], True),
          of(checks.engines, "at once"), also=(checks.engine_module,)),
    Fault("the Horn engine makes its proofs up", engines, "horn",
          lambda _: lambda *given, **named: Answer(invariant="true"),
          of(checks.verdicts, "after a wait", "over a long time")),
    Fault("the Horn engine reaches everything", engines, "horn", lambda _: lambda *given, **named: Answer(reached=True),
          of(checks.verdicts, "over a long time")),
    Fault("free steps go back in time", engines, "horn", _free_as(Wide), of(checks.free_steps, "in a window")),
    Fault("free steps know one cycle time only", engines, "horn", _free_as(Narrow),
          of(checks.free_steps, "at the longest")),
    Fault("a hold ignores comparisons", holds, "_unchanged", lambda _: lambda *given: z3.BoolVal(True),
          of(checks.paths_run, "passing by")),
    Fault("a hold forgets the Booleans", unrolling, "hold", _without_flags, of(checks.paths_run, "a cycle late"),
          also=(horn,)),
    Fault("the search loses the first cycle of its path", engines, "search", _no_first_cycle,
          of(checks.verdicts, "too often")),
    Fault("the search never finds anything", engines, "search", lambda _: lambda *given, **named: Found(0),
          of(checks.verdicts, "at once")),
    Fault("bounded search takes cycles that are too short", Encoder, "ordinary",
          lambda _: lambda self, dt: z3.And(dt >= 0, dt <= encode.real(self.system.longest)),
          of(checks.paths_run, "not so fast")),
    Fault("a wait is made of other cycles", replay, "_cycles", lambda _: lambda cycle, wait: [Fraction(wait)],
          of(checks.verdicts, "after a wait")),
)  # fmt: skip
