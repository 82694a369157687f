"""H28 to H30, H34 and H35: how long a rule flies the model, and landing, launch, lost link and instructor."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from latchproof.hazards.causes import obeys, powers, read_in
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Procedure
from latchproof.hazards.promise import amount, claim, on
from latchproof.hazards.remedies import only_while, reset_when
from latchproof.hazards.site import Site, acts, named
from latchproof.hazards.takers import (
    NOTHING_FLIES,
    Actor,
    memories,
    not_role,
    role_line,
    seconds,
    surfaces,
    takers,
    timed_out,
)
from latchproof.hazards.vocabulary import fact, number
from latchproof.rules import expressions as e
from latchproof.rules.model import LengthOf, Never, QuietAfter, Role, Scope

LONGEST = Fraction(8)
"""Seconds that a rule may fly the model at a stretch: common practice, no source."""
AFTER_RETURN = Fraction(1)
"""Seconds of peace after a sensor is heard again: common practice, no source."""


def h28(site: Site) -> Iterator[Outcome]:
    """The height at which the guard lets go is never reached: the model sinks on, or the battery is too weak to climb.
    Then the guard flies the model on and on, and the pilot only watches.

    Looked for: a rule that gives power or moves a surface because of a sensor never acts for longer than 8 s at a
    stretch, or than the fact `longest_engagement` says.

    Remedy: a time-out on the latch behind the rule, and no new start before the guard was switched off.
    """
    several = takers(site)
    if not several:
        yield NotApplicable("H28", NOTHING_FLIES)
    stated = fact(site, "longest_engagement")
    for x in several:
        most = e.Duration(amount(LONGEST, "s", x.span) if stated is None else number(stated), span=x.span)
        longest = LONGEST if stated is None else stated.low
        yield at_most("H28", site, x, most, longest, f"never acts for longer than {seconds(longest)} at a stretch")


def at_most(hazard: str, site: Site, x: Actor, most: e.Duration, longest: Fraction, said: str) -> Check:
    """The promise that a rule acts for so long at the most."""
    form = LengthOf(acts(x), "most", most, span=x.span)
    text = f"length of {x.name}.acting at most {seconds(longest)}"
    made = claim(f"{hazard} {x.name}", f"{x.name} {said}", text, form)
    return Check(hazard, x.name, made, site.rules, timed_out(site, x, longest))


def h29(site: Site) -> Iterator[Outcome]:
    """On the final approach, ten metres high and flaps out, the model is low on purpose. The guard takes that for
    danger: the motor runs up and the nose rises, towards whoever stands there. Deliberate low passes are the same.

    Looked for: while the landing role holds, no rule that gives power or moves a surface because of a sensor acts, and
    none of the latches behind it is on, in the same cycle.

    Remedy: the landing signal keeps the rule away and resets its latches; say "guard off" aloud when it does.
    """
    yield from _apart(site, "H29", "landing", ("landing", "land", "gear", "flap"), "a landing")


def h30(site: Site) -> Iterator[Outcome]:
    """The model is thrown, towed or catapulted, with power and surfaces set for that. It is two metres high, and the
    guard wants to save it: both act at once, and neither does what it was tried for.

    Looked for: while the launch role holds, no other rule that gives power or moves a surface because of a sensor
    acts, and none of the latches behind it is on.

    Remedy: the launch signal keeps the guard away and resets its latches, so that it arms only after the launch.
    """
    yield from _apart(site, "H30", "launch", ("launch", "throw", "tow", "start"), "a launch")


def _apart(site: Site, hazard: str, name: str, guesses: tuple[str, ...], what: str) -> Iterator[Outcome]:
    several = takers(site)
    role = site.role(name)
    if not several:
        yield NotApplicable(hazard, NOTHING_FLIES)
        return
    if role is None:
        yield NotNamed(hazard, f"no role tells when {what} is on", role_line(site, name, *guesses))
        return
    others = [x for x in several if not obeys(site, x, role) or hazard != "H30"]
    if not others:
        yield NotApplicable(hazard, f"only what belongs to {what} acts")
    while_ = Scope("while", role.signal, span=role.span)
    for x in others:
        text = f"never {x.name}.acting  while {on(site, role)}"
        made = claim(f"{hazard} {x.name}", f"{x.name} never acts during {what}", text, Never(acts(x), span=x.span),
                     scope=while_)  # fmt: skip
        yield Check(hazard, x.name, made, site.rules, only_while(site, x, not_role(site, role)))
    latches = dict.fromkeys(m for x in others for m in memories(site, x))
    for m in latches:
        text = f"never {m.name}  while {on(site, role)}"
        made = claim(f"{hazard} {m.name}", f"{m.name} is never on during {what}", text,
                     Never(named(m.name, m.span), span=m.span), scope=while_)  # fmt: skip
        mend = reset_when(site, m, on(site, role), not_role(site, role))
        yield Check(hazard, m.name, made, site.rules, mend)


def h34(site: Site) -> Iterator[Outcome]:
    """All these rules live in the transmitter. When the radio link is gone they are gone too, and the model does what
    its receiver was set to do: at the best the motor stops, at the worst everything stays as it was. A model of 5.4 kg
    flew on at about half throttle after its link was lost, until it hit a lorry.

    Looked for: after a sensor has been silent and is heard again, no rule that gives power or moves a surface because
    of it begins within 1 s. The failsafe itself can only be tried.

    Remedy: act on the sensor only when it has been fresh for a while. Failsafe: throttle off or idle, never "hold",
    set with the guard switched off.
    """
    step = (
        "Failsafe: propeller off, model held, guard off. Switch the transmitter off and see the throttle go to off or "
        "idle, not stay; switch it on again and see that nothing moves by itself"
    )
    yield Procedure("H34", step, "every flying day")
    for x in takers(site):
        for s in read_in(site, x.condition):
            if s.stale_after is None:
                continue
            returns = e.Edge("ends", e.SensorState(s.name, "stale", span=s.span), span=s.span)
            begins = e.Edge("begins", acts(x), span=x.span)
            rest = e.Duration(amount(AFTER_RETURN, "s", x.span), span=x.span)
            peace = seconds(AFTER_RETURN)
            said = f"when {s.name} is heard again after a silence, {x.name} does not begin within {peace}"
            text = f"for {peace} after ({s.name} is stale ends) never ({x.name}.acting begins)"
            made = claim(f"H34 {x.name} {s.name}", said, text, QuietAfter(rest, returns, begins, span=x.span))
            mend = only_while(site, x, f"({s.name} is fresh for {peace})")
            yield Check("H34", x.name, made, site.rules, mend)


def h35(site: Site) -> Iterator[Outcome]:
    """The instructor takes over to save the model, and the pupil's guard still holds the throttle or the elevator; or
    the link between the two transmitters fails at that moment. Broken trainer switches and unlocked plugs have cost
    models.

    Looked for: while the instructor role holds, no rule acts that is not the instructor's own, from the same cycle on.

    Remedy: the instructor's switch keeps each guard away. Try the hand-over before each flight.
    """
    role = site.role("instructor")
    if not site.guards:
        yield NotApplicable("H35", "no rule acts on a channel or control")
        return
    if role is None:
        yield NotNamed("H35", "no role tells when an instructor has the model", role_line(site, "instructor", "teacher",
                       "instructor", "trainer"))  # fmt: skip
        return
    step = (
        "Hand-over: motor off, model held. Give the model to the pupil and take it back, twice, every stick; then pull "
        "the link between the transmitters (or switch the pupil's off) and see that you have it"
    )
    yield Procedure("H35", step, "every flight")
    while_ = Scope("while", role.signal, span=role.span)
    for x in site.guards:
        if _belongs_to(site, x, role) or not (powers(site, x) or surfaces(site, x)):
            continue
        text = f"never {x.name}.acting  while {on(site, role)}"
        said = f"{x.name} never acts while the instructor has the model"
        made = claim(f"H35 {x.name}", said, text, Never(acts(x), span=x.span), scope=while_)
        yield Check("H35", x.name, made, site.rules, only_while(site, x, not_role(site, role)))


def _belongs_to(site: Site, x: Actor, role: Role) -> bool:
    """The rule does what the role stands for: it acts because of it."""
    needed = x.condition.operands if isinstance(x.condition, e.AllOf) else (x.condition,)
    return role.signal in needed or named(role.role, x.span) in needed


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H28": h28, "H29": h29, "H30": h30, "H34": h34, "H35": h35,
}  # fmt: skip
