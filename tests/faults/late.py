"""Faults in how late a claim may be on a device whose entries read late: what is granted, how it is counted by monitors
and by direct reading, and the search for the least of it."""

from dataclasses import replace
from typing import Any

from latchproof.machine import allowance, monitors
from latchproof.machine.monitors import Watch
from latchproof.machine.reading import Reading
from latchproof.prove import least, recheck
from latchproof.run import judge
from tests.faults.checks import of
from tests.faults.fault import Fault, Make
from tests.machine import test_reading
from tests.prove import test_least
from tests.run import test_allowance


def _one_more(place: int) -> Make:
    """The argument at this place is greater by one."""
    return lambda right: lambda *given: right(*given[:place], given[place] + 1, *given[place + 1 :])


def _none(place: int) -> Make:
    return lambda right: lambda *given, **named: right(*given[:place], 0, *given[place + 1 :], **named)


def _to_strict_ones(right: Make) -> Make:
    def allowed(claim: Any, most: int, rules: Any) -> Any:
        strict = getattr(claim, "strict", False)
        return right(replace(claim, strict=False) if strict else claim, most, rules)  # type: ignore[call-arg]

    return allowed


def _forgets_late_answers(right: Make) -> Make:
    """An answer within the cycles allowed for is none."""

    def response(w: Watch, cause: Any, effect: Any, span: Any, late: int) -> Any:
        over = right(w, cause, effect, span, 0)  # type: ignore[call-arg]
        return w.lasted("over", over, late, w.b.t.true)

    return response


def _allows(change: Make) -> Make:
    """The verdict names another allowance than the one it was found with."""
    return lambda right: lambda *given: replace(made := right(*given), allowance=change(made.allowance))


GRANTED = (
    Fault("a claim on a moment is granted cycles", allowance, "_passes_at_once", lambda _: lambda *given: False,
          of(test_allowance.test_no_allowance_empties_a_claim, "never (s begins)", 4, 0)),
    Fault("all of a stretch of time is granted", allowance, "_room",
          lambda right: lambda *given: right(*given) + 1,
          of(test_allowance.test_no_allowance_empties_a_claim, "for 30 ms after s never t", 4, 2)),
    Fault("a pulse shorter than the allowance is no moment", allowance, "_lasts", lambda _: lambda *given: True,
          of(test_allowance.test_no_allowance_empties_a_claim, "never (t pulsed 30 ms)", 4, 0)),
    Fault("strict claims are granted cycles", allowance, "allowed", _to_strict_ones,
          of(test_allowance.test_no_allowance_empties_a_claim, "never s", 4, 4),
          also=(monitors, judge, least, recheck, test_allowance)),
    Fault("the longest chain is a cycle too long", Reading, "longest_chain",
          lambda right: lambda self: right(self) + 1,
          of(test_reading.test_a_chain_of_entries, "last cycle", False, 5, [1, 2, 3, 6, 7])),
)  # fmt: skip

COUNTED = (
    Fault("a monitor allows for a cycle more", Watch, "lasted",
          lambda right: lambda self, cell, now, cycles, *more: right(self, cell, now, cycles + 1, *more),
          of(test_allowance.test_by_hand, "never s", 1, "0110", "0000", 2)),
    Fault("a monitor forgets the answer that comes late", monitors, "_response", _forgets_late_answers,
          of(test_allowance.test_by_hand, "whenever s then t within 20 ms", 2, "01000000", "00000100", None)),
    Fault("a monitor's quiet time allows for nothing", monitors, "_quiet", _none(4),
          of(test_allowance.test_by_hand, "for 40 ms after s never t", 1, "010000", "001000", None)),
    Fault("a monitor's least length allows for no time", monitors, "longest_time", _none(0),
          of(test_allowance.test_by_hand, "length of s at least 40 ms", 1, "0111000", "0000000", None)),
    Fault("direct reading allows for a cycle more", judge, "_lasting", _one_more(2),
          of(test_allowance.test_by_hand, "never s", 1, "0110", "0000", 2)),
    Fault("direct reading of an order allows for nothing", judge, "_before", _none(3),
          of(test_allowance.test_by_hand, "before s comes t", 1, "0100", "0010", None)),
    Fault("direct reading of a deadline allows for a cycle more", judge, "_response", _one_more(5),
          of(test_allowance.test_by_hand, "whenever s then t within 2 cycles", 1, "01000000", "00000100", 5)),
)  # fmt: skip

SEARCHED = (
    Fault("a proof with an allowance is told as one without", least, "least", _allows(lambda found: 0),
          of(test_least.test_the_least_is_found_by_halves, 3), also=(test_least,)),
    Fault("the greatest allowance that is not enough is told", least, "least", _allows(lambda found: max(0, found - 1)),
          of(test_least.test_the_least_is_found_by_halves, 3), also=(test_least,)),
    Fault("what was not decided counts as not enough", least, "is_least", lambda _: lambda verdict: True,
          of(test_least.test_what_was_not_decided_is_not_forgotten), also=(test_least,)),
    Fault("claims with an allowance are those without", least, "allowing",
          lambda _: lambda machine, cycles: machine,
          of(test_least.test_the_least_is_found_by_halves, 3)),
)  # fmt: skip

LATE = (*GRANTED, *COUNTED, *SEARCHED)
