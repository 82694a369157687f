"""Each rewriting by itself, proved exact; and what is not exact is not done."""

from typing import Any

import pytest

from latchproof.fit import acting, comparing, counting, gates, linear, memories, timing
from latchproof.fit.fit import fit
from latchproof.fit.model import Fitted
from latchproof.prove.workers import Workers
from latchproof.rules import expressions as e
from latchproof.transmitter.model import Transmitter
from tests.fit.able import able
from tests.fit.alike import proved_equal
from tests.fit.stands import missing
from tests.helpers.rules import rules_of

HEAD = """rules "Made for a test" version "1"
cycle from 10 ms to 30 ms
switch guard positions off, on
switch flaps positions up, middle, down
button go
button other
stick throttle from 0 % to 100 %
stick pitch from -100 % to 100 %
sensor height { from -20 m to 200 m  step 1 m  stale after 1 s }
channel motor 1 { follows throttle  from 0 % to 100 % }
channel elevator 2 { follows pitch  from -100 % to 100 %  up is negative }
channel lamp 3 { rests at 0 %  from 0 % to 100 % }
"""

GO = "rule act while {} {{ drive lamp to 100 %  announce tone }}\n"

NO_LATCH: dict[str, Any] = {"room": {"absent": frozenset({"latch"})}}
ONLY_ON: dict[str, Any] = {"delays": {"kinds": frozenset({"on"})}}

CASES: dict[str, tuple[str, dict[str, Any], set[str]]] = {
    "wide and": (GO.format("guard is on and go is pressed and other is pressed and height is fresh and flaps is up"),
                 {"gates": {"inputs": 2}}, {"wide gate"}),
    "wide or": (GO.format("guard is on or go is pressed or other is pressed or height is stale or flaps is up"),
                {"gates": {"inputs": 3}}, {"wide gate"}),
    "wide one": (GO.format("exactly_one of (guard is on, go is pressed, other is pressed, flaps is up, flaps is down)"),
                 {"gates": {"inputs": 2}}, {"wide gate"}),
    "no one": (GO.format("exactly_one of (guard is on, go is pressed, other is pressed)"),
               {"gates": {"kinds": frozenset({"all", "any"})}}, {"no one"}),
    "no or": (GO.format("guard is on or (go is pressed and other is released)"),
              {"gates": {"kinds": frozenset({"all", "one"})}}, {"no any"}),
    "no and": (GO.format("guard is on and (go is pressed or other is released)"),
               {"gates": {"kinds": frozenset({"any", "one"})}}, {"no all"}),
    "no inversion": (GO.format("not (guard is on and go is released) and flaps is not up and height is fresh"
                               " and not (height is below 10 m)"),
                     {"gates": {"inverts": False}}, {"no inversion"}),
    "edges": (GO.format("(go is pressed begins) or (guard is on ends)"),
              {"room": {"absent": frozenset({"edge"})}}, {"edge"}),
    "band": (GO.format("height is below 10 m until above 20 m"), {"comparisons": {"band": False}}, {"band"}),
    "band of gates": (GO.format("throttle is below 20 % until above pitch"),
                      {"comparisons": {"band": False}}, {"band"}),
    "orders": (GO.format("height is at most 10 m or height is equal to 30 m"),
               {"comparisons": {"orders": frozenset({"<", ">"})}}, {"order"}),
    "two numbers": (GO.format("throttle is above pitch"), {"comparisons": {"of_two": False}}, {"two numbers"}),
    "spare channel": (GO.format("throttle is above pitch"),
                      {"comparisons": {"of_two": False, "difference": False},
                       "room": {"absent": frozenset({"calculation"})}}, {"two numbers", "spare channel"}),
    "solved": ("value third = (height + 3 m) / 3\n" + GO.format("third is below 20 m or 5 m - height is above 2 m"),
               {"room": {"absent": frozenset({"calculation"})}}, {"solved"}),
    "no delay at all": (GO.format("(go is pressed for 0 s) and (guard is on extended 0 s)"), {}, {"zero delay"}),
    "a few passes": (GO.format("(go is pressed for 2 cycles) or (other is pressed extended 3 cycles)"
                               " or (guard is on pulsed 2 cycles)"), {}, {"cycles"}),
    "off-delay": (GO.format("go is pressed extended 1 s"), ONLY_ON, {"no off-delay"}),
    "off-delay without latches": (GO.format("go is pressed extended 1 s"), {**ONLY_ON, **NO_LATCH}, {"no off-delay"}),
    "pulse": (GO.format("go is pressed pulsed 1 s"), ONLY_ON, {"no pulse"}),
    "pulse that begins anew": (GO.format("go is pressed pulsed 1 s"), {"delays": {"again": True}}, {"pulse again"}),
    "latch": ("latch l { set when go is pressed  set when guard is on  reset when other is pressed }\n"
              + GO.format("l"), NO_LATCH, {"latch"}),
    "latch, set wins": ("latch l { set when go is pressed  reset when other is pressed  set wins }\n"
                        + GO.format("l"), NO_LATCH, {"latch"}),
    "latch that speaks of itself": ("latch l { set when go is pressed and not l"
                                    "  reset when (l for 1 s) and go is pressed }\n"
                                    + GO.format("l"), NO_LATCH, {"latch"}),
    "time-out": ("latch l { set when go is pressed  reset when other is pressed  timeout 2 s }\n" + GO.format("l"),
                 NO_LATCH, {"time-out"}),
    "time-out and lock-out": ("latch l { set when go is pressed  reset when other is pressed  timeout 2 s"
                              " then blocked until guard is off }\n" + GO.format("l"), NO_LATCH, {"time-out"}),
    "time-out, set wins": ("latch l { set when go is pressed  reset when other is pressed  set wins  timeout 2 s"
                           " then blocked until go is released }\n" + GO.format("l"), NO_LATCH, {"time-out"}),
    "counter": ("counter c { counts go is pressed  clears when other is pressed  at most 9 }\n"
                + GO.format("c is at least 2 and c is below 4"),
                {"room": {"absent": frozenset({"counter"})}}, {"counter"}),
    "sequence": ("sequence s while guard is on {\n phase one for 1 s { drive lamp to 50 %  announce tone }\n"
                 " phase two until go is pressed { drive lamp to 80 %  ramp up 20 %/s  hand back 30 %/s }\n"
                 " phase three for 2 s { announce voice \"three\" } }\n", {}, {"sequence"}),
    "sequence without latches": ("sequence s while guard is on {\n phase one for 1 s { drive lamp to 50 % }\n"
                                 " phase two { drive lamp to 80 % } }\n", NO_LATCH, {"sequence"}),
    "limit": ("rule act while guard is on { limit motor to at most 40 %  after 1 s }\n",
              {"actions": {"kinds": frozenset({"drive"})}}, {"limit"}),
    "who has it": ("rule act while guard is on { limit motor to at most 40 %  after 1 s }\n"
                   "rule off while go is pressed { drive motor to 0 %  ramp down 50 %/s  move elevator up by 20 % }\n"
                   "rule say while motor is limited or motor is driven or elevator is moved { announce tone }\n"
                   "rule tell while not (motor is free) and lamp is free { announce tone }\n", {}, {"channel state"}),
    "move": ("rule act while guard is on { move elevator up by 20 % }\n",
             {"actions": {"kinds": frozenset({"drive"})}}, {"move"}),
}  # fmt: skip


def fitted(text: str, t: Transmitter) -> Fitted:
    return fit(rules_of(HEAD + text), t)


@pytest.mark.parametrize("name", CASES)
def test_exact(name: str, workers: Workers) -> None:
    text, changes, kinds = CASES[name]
    t = able(**changes)
    made = fitted(text, t)
    assert made.misfits == ()
    assert kinds <= {c.kind for c in made.changes}
    assert missing(made.rules, t) == set()
    assert proved_equal(made.rounded, made.rules, workers) == "proved"


# ---------- planted faults: each is one rewriting done wrongly, and the proof sees it


def always_apart(*_: object) -> bool:
    return True


def one_turn(shop: Any, x: e.Timed) -> e.Signal:
    """A pulse made of one delay: it may be running still when the next pulse begins."""
    span, name = x.span, shop.free("wrong")
    was = e.PreviousSignal(e.NamedSignal(name, span=span), span=span)
    begins = e.AllOf((e.Edge("begins", x.operand, span=span), e.Not(was, span=span)), span=span)
    runs = e.AnyOf((begins, was), span=span)
    over = e.Timed("for", runs, x.duration, span=span)
    return shop.signal(name, e.AllOf((runs, e.Not(over, span=span)), span=span), span)  # type: ignore[no-any-return]


def no_memory(self: Any, x: e.Timed) -> e.Signal:
    """An off-delay that is on for a while after power-up."""
    return e.Not(e.Timed("for", e.Not(x.operand, span=x.span), x.duration, span=x.span), span=x.span)


def late_edge(shop: Any) -> None:
    def change(x: Any) -> Any:
        return e.PreviousSignal(x, span=x.span) if isinstance(x, e.Edge) else x

    shop.rewrite(change)


def resets_lose(shop: Any, x: Any) -> e.Signal:
    was = e.PreviousSignal(e.NamedSignal(x.name, span=x.span), span=x.span)
    return e.AnyOf((*x.sets, e.AllOf((was, e.Not(x.resets[0], span=x.span)), span=x.span)), span=x.span)


def first_two(self: Any, x: Any) -> Any:
    """A wide gate that loses inputs."""
    return type(x)(x.operands[:2], span=x.span) if isinstance(x, e.AllOf | e.AnyOf) and len(x.operands) > 2 else x


def swapped(self: Any, operands: tuple[e.Signal, ...], x: e.Located) -> e.Signal:
    return e.AllOf(operands, span=x.span)


def pulse_as_it_is(self: Any, x: e.Timed) -> e.Signal:
    return e.Timed("extended", e.Edge("begins", x.operand, span=x.span), x.duration, span=x.span)


def other_way(rules: Any, n: Any, a: Any) -> e.Number:
    return e.Plus(e.Held("pitch", span=a.span), a.amount, span=a.span)


def at_most_one(x: e.Signal, passes: int = 1) -> e.Signal:
    return e.PreviousSignal(x, span=x.span) if passes else x


PLANTED: dict[str, tuple[str, object, str, object]] = {
    "band of gates": ("band of gates", memories, "_apart", always_apart),
    "pulse": ("pulse", timing._Timing, "_pulse", lambda self, x: one_turn(self.shop, x)),
    "pulse as an off-delay": ("pulse", timing._Timing, "_pulse", pulse_as_it_is),
    "off-delay": ("off-delay", timing._Timing, "_off_delay", no_memory),
    "edge one pass late": ("edges", timing, "edges", late_edge),
    "latch the wrong way round": ("latch", memories, "_out_of_gates", resets_lose),
    "time-out forgotten": ("time-out", memories, "_out_of_gates", resets_lose),
    "wide gate loses inputs": ("wide and", gates._Gates, "narrow", first_two),
    "and in place of or": ("no or", gates._Gates, "_any", swapped),
    "order not turned": ("orders", comparing, "OPPOSITE", {"<": ">", "<=": "<", ">": "<", ">=": ">"}),
    "solved the wrong way": ("solved", linear, "FLIPPED", {o: o for o in ("<", "<=", ">", ">=", "==")}),
    "counts one too few": ("counter", counting, "ceil", lambda x: int(x) - 1),
    "opposite of nothing": ("no inversion", gates._Gates, "_opposite", lambda self, x, whole: x),
    "a move the other way": ("move", acting, "_target", other_way),
    "a phase too many": ("sequence", memories, "opposite", lambda x: x),
    "delay in passes": ("a few passes", timing, "before", at_most_one),
    "lost zero": ("no delay at all", timing._Timing, "_timed", lambda self, x: e.AnyOf((), span=x.span)),
}  # fmt: skip


@pytest.mark.parametrize("name", PLANTED)
def test_planted_faults_are_seen(name: str, workers: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    case, owner, attribute, wrong = PLANTED[name]
    text, changes, _ = CASES[case]
    monkeypatch.setattr(owner, attribute, wrong)
    made = fitted(text, able(**changes))
    assert proved_equal(made.rounded, made.rules, workers) == "refuted"


# ---------- what is not exact is refused


REFUSED: dict[str, tuple[str, dict[str, Any], str]] = {
    "on-delay of off-delays": (GO.format("go is pressed for 1 s"), {"delays": {"kinds": frozenset({"off", "pulse"})}},
                               "no delay"),
    "lock-out for a time": ("latch l { set when go is pressed  timeout 2 s then blocked for 1 s }\n" + GO.format("l"),
                            NO_LATCH, "time-out"),
    "time-out in passes": ("latch l { set when go is pressed  timeout 9 cycles }\n" + GO.format("l"),
                           {}, "delay in cycles"),
    "a hundred passes": (GO.format("go is pressed for 100 cycles"), {}, "delay in cycles"),
    "rate": (GO.format("rate of height is below -3 m/s"), {"comparisons": {"rate": False}}, "no rate"),
    "kept value": ("sample h = height  when go is pressed  first 0 m\n" + GO.format("height is below h"),
                   {"room": {"absent": frozenset({"kept value"})}}, "no kept value"),
    "counter that counts far": ("counter c { counts go is pressed  at most 90 }\n" + GO.format("c is at least 50"),
                                {"room": {"absent": frozenset({"counter"})}}, "no counter"),
    "counter as a number": ("counter c { counts go is pressed  at most 3 }\n"
                            "rule act while guard is on { drive lamp to c * 10 % }\n",
                            {"room": {"absent": frozenset({"counter"})}}, "no counter"),
    "only below": (GO.format("height is above 3 m"), {"comparisons": {"orders": frozenset({"<"})}}, "no comparison"),
    "heights on a channel": (GO.format("height is below previous of height"),
                             {"comparisons": {"of_two": False, "difference": False},
                              "room": {"absent": frozenset({"calculation"})}}, "no calculation"),
    "limit beside a drive": ("rule act while guard is on { limit motor to at most 40 % }\n"
                             "rule off while go is pressed { drive motor to 0 % }\npriority off over act\n",
                             {"actions": {"kinds": frozenset({"drive"})}}, "no action"),
    "limit that is asked about": ("rule act while guard is on { limit motor to at most 40 % }\n"
                                  "claim c: never motor is limited  while guard is off\n",
                                  {"actions": {"kinds": frozenset({"drive"})}}, "no action"),
    "a time that changes": ("knob wait from 0 s to 3 s\n" + GO.format("go is pressed for wait"), {}, "varying time"),
    "a time-out that changes": ("knob wait from 1 s to 3 s\nlatch l { set when go is pressed  timeout wait }\n"
                                + GO.format("l"), {}, "varying time"),
    "handed back": ("rule act while guard is on { drive lamp to 40 %  hand back 10 %/s }\n"
                    "rule say while lamp is driven { announce tone }\n", {}, "no channel state"),
    "rate of a stick": (GO.format("rate of throttle is above 20 %/s"), {}, "no rate"),
    "ramp on a move": ("rule act while guard is on { move elevator up by 20 %  ramp up 10 %/s }\n",
                       {"actions": {"kinds": frozenset({"drive"})}}, "no action"),
    "ramp": ("rule act while guard is on { drive lamp to 20 %  ramp up 10 %/s }\n",
             {"actions": {"ramps": None}}, "no ramp"),
    "repeat": ("rule act while guard is on { announce tone  every 2 s }\n", {"sounds": {"repeats": None}}, "no repeat"),
    "sound": ("rule act while guard is on { announce vibration }\n", {"sounds": {"vibration": False}}, "no sound"),
    "opposite": (GO.format("go is released"), {"gates": {"inverts": False, "kinds": frozenset({"all", "any"})}},
                 "no inversion"),
    "only exactly one": (GO.format("go is pressed and guard is on"),
                         {"gates": {"kinds": frozenset({"one"})}}, "no gate"),
    "reading further down": ("latch l { set when go is pressed  reset when other is pressed }\n" + GO.format("l"),
                             {**NO_LATCH, "gates": {"later": False}}, "no order"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_refused(name: str) -> None:
    text, changes, kind = REFUSED[name]
    made = fitted(text, able(**changes))
    assert kind in {m.kind for m in made.misfits}
    assert not made.fits


def test_without_the_lack_it_fits() -> None:
    for text, _, kind in REFUSED.values():
        if kind not in ("delay in cycles", "varying time", "no channel state") and "rate of throttle" not in text:
            assert fitted(text, able()).misfits == ()
