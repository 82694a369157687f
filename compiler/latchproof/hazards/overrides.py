"""Several rules on one channel, and the order of entries: H17 to H19. Surfaces and amounts have files of their own."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, product

from latchproof.hazards import amounts, edits, hand_back, surfaces
from latchproof.hazards.model import Check, NotApplicable, Outcome, Procedure, Remedy, Seen
from latchproof.hazards.promise import Names, and_also, claim, no, off, on, own, words
from latchproof.hazards.remedies import only_while
from latchproof.hazards.site import Site, acts, all_of, named, not_
from latchproof.hazards.switched import obeying
from latchproof.hazards.takers import Actor, takers
from latchproof.machine.actions import Acting, acting_on, in_priority, unordered
from latchproof.machine.compile import compile_rules
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Claim, Drive, Latch, Limit, Never, Reads, RuleSet
from latchproof.rules.units import UNITS

ALONE = "no two rules whose order would matter act on one channel"


def h17(site: Site) -> Iterator[Outcome]:
    """The floor guard wants 70 % from the motor, the battery guard none. Which of the two wins is decided by a line
    further up or down, and nobody has decided it.

    Checked for each channel and each two rules that drive it, or of which one limits it from below and one from above:
    never do they ask for different values in the same cycle; unless `priority` says who wins.

    Remedy: say who goes first. Usual is: motor stop, instructor, battery, ceiling, floor, comfort. Or let one of the
    two act only while the other does not.
    """
    found = False
    for name, one, other in _undecided(site):
        found = True
        yield Check("H17", one.rule, None, site.rules, _ordered(site, one, other), unwritten=_meeting(name, one, other))
    for check in _crossed("H17", site):
        found = True
        yield check
    for name, drives, others in _ranked(site):
        found = True
        order = " over ".join([*reversed(drives), *([" and ".join(others)] if others else [])])
        yield Seen("H17", name, True, f"who wins is said: {order}")
    if not found:
        yield NotApplicable("H17", ALONE)


def h18(site: Site) -> Iterator[Outcome]:
    """On one transmitter the last line wins, on another the first. The rules are copied, and the motor stop loses.

    Checked for each channel: two rules whose order would matter never ask for different values in the same cycle. If
    they may, but the file says who wins (`priority`, the kill role, a drive over a limit), then the order to enter
    them in is named for you: on a transmitter whose first line wins it has to be turned round.

    Remedy: let one of the two act only while the other does not; then no order matters and the rules can be given away.
    """
    found = False
    for name, one, other in _undecided(site):
        found = True
        mend = _exclusive(site, one, other)
        yield Check("H18", one.rule, None, site.rules, mend, unwritten=_meeting(name, one, other))
    for check in _crossed("H18", site):
        found = True
        yield check
    for name, drives, others in _ranked(site):
        found = True
        order = [*others, *drives]
        step = (
            f"Enter what acts on {name} in this order, and see on the screen that the last one wins: "
            f"{', '.join(order)}. On a transmitter whose first line wins: {', '.join(reversed(order))}"
        )
        yield Procedure("H18", step, "once")
    if not found:
        yield NotApplicable("H18", ALONE)


# ---------- who meets whom


def _channels(site: Site) -> tuple[str, ...]:
    return (*(c.name for c in site.rules.channels), *(c.name for c in site.rules.controls))


def _drives(site: Site, name: str) -> tuple[Acting, ...]:
    """From lowest to highest."""
    drives = tuple(a for a in acting_on(site.rules, name) if isinstance(a.action, Drive))
    return in_priority(drives, site.rules)


def _undecided(site: Site) -> Iterator[tuple[str, Acting, Acting]]:
    """Drives of a channel between which nothing decides, one pair for each two rules."""
    for name in _channels(site):
        drives = _drives(site, name)
        pairs = {(drives[i].rule, drives[j].rule): (drives[i], drives[j]) for i, j in unordered(drives, site.rules)}
        yield from ((name, *pair) for (one, other), pair in pairs.items() if one != other)


def _ranked(site: Site) -> Iterator[tuple[str, tuple[str, ...], tuple[str, ...]]]:
    """Channels on which several rules act, in an order that is said: the rules that drive it, from lowest to highest,
    and those that only move or limit it, over which every drive wins."""
    for name in _channels(site):
        drives = _drives(site, name)
        open_ = {frozenset((drives[i].rule, drives[j].rule)) for i, j in unordered(drives, site.rules)}
        driving = tuple(dict.fromkeys(d.rule for d in drives))
        others = tuple(dict.fromkeys(a.rule for a in acting_on(site.rules, name) if a.rule not in driving))
        if (driving and others) or any(frozenset(pair) not in open_ for pair in combinations(driving, 2)):
            yield name, driving, others


def _meeting(name: str, one: Acting, other: Acting) -> str:
    """The name of the machine's own property."""
    return f"one_driver.{name}.{one.rule}.{other.rule}"


def _crossing(site: Site) -> Iterator[tuple[Acting, Acting]]:
    """Limits of two rules from below and from above on one channel."""
    for name in _channels(site):
        limits = [a for a in acting_on(site.rules, name) if isinstance(a.action, Limit)]
        for one, other in product(limits, limits):
            if one.rule != other.rule and _bound(one) == "least" and _bound(other) == "most":
                yield one, other


def _crossed(hazard: str, site: Site) -> Iterator[Check]:
    names = Names(hazard)
    for least, most in _crossing(site):
        name = names.next(f"{least.rule} {most.rule} {least.action.channel}")
        yield _apart(hazard, name, site, least, most)


def _bound(a: Acting) -> str:
    assert isinstance(a.action, Limit)
    return a.action.bound


def _apart(hazard: str, called: str, site: Site, least: Acting, most: Acting) -> Check:
    assert isinstance(least.action, Limit)
    assert isinstance(most.action, Limit)
    name, low, high = least.action.channel, least.action.amount, most.action.amount
    above = e.Comparison(low, ">", high, span=least.action.span)
    both = all_of(*(e.NamedSignal(f"{a.rule}.acting@{name}", span=a.action.span) for a in (least, most)), above)
    said_low, said_high = words(site, low), words(site, high)
    made = claim(
        called,
        f"{least.rule} (at least {said_low}) and {most.rule} (at most {said_high}) never contradict one another",
        f"never ({least.rule} acts and {most.rule} acts) and {said_low} is above {said_high}",
        Never(both, span=least.action.span),
    )
    return Check(hazard, least.rule, made, site.rules, _exclusive(site, least, most))


def _ordered(site: Site, one: Acting, other: Acting) -> tuple[Remedy, ...]:
    if one.rule == other.rule:
        return ()
    return tuple(
        Remedy(f"say that {first} goes first", (edits.statement(site, f"priority {first} over {second}"),))
        for first, second in ((other.rule, one.rule), (one.rule, other.rule))
    )


def _exclusive(site: Site, one: Acting, other: Acting) -> tuple[Remedy, ...]:
    """One of the two rules acts only while the other does not want to."""
    rules = {x.name: x for x in site.acting}
    found: list[Remedy] = []
    for x, y in ((one, other), (other, one)):
        this, that = rules[x.rule], rules[y.rule]
        if this is not that and own(y.rule) and not _holds(y):
            found += only_while(site, this, no(site, that.condition))
    return tuple(found)


def _holds(a: Acting) -> bool:
    """It goes on after its condition has ended."""
    return not isinstance(a.action, Drive | Limit) or a.action.modifiers.back is not None


# ---------- entries that read one another


_READINGS: tuple[tuple[Reads, str], ...] = (
    ("this cycle", "if every entry sees what the others are in this cycle"),
    ("last cycle", "if every entry sees what the others were one cycle before"),
    ("listed order", "if an entry sees what stands below it one cycle late"),
    ("unknown order", "in whatever order the entries are worked out"),
)


def h19(site: Site) -> Iterator[Outcome]:
    """One latch looks at another, and which of the two is worked out first depends on the transmitter. Two that should
    shut each other out are then both on, or the guard acts though it has just been switched off.

    Checked also as if entries saw what the others were one cycle before, as if they saw only what stands above them at
    once, and for every order in which they could be worked out: switched off, and with the motor stopped, the guard
    does nothing, at the latest as many cycles later as its chain of entries is long. And two latches of which each is
    set only while the other is off are never on together, on a device of any of these kinds.

    Remedy: a reset or condition of its own where the two could come on in the same cycle.
    """
    found = False
    rivals = tuple(_rivals(site))
    for one, other in rivals:
        yield _never_both(site.rules, "", one, other, _untied(site, one, other))
    for reads, said in _READINGS:
        if reads == site.rules.device.reads:
            continue
        rules = replace(site.rules, device=replace(site.rules.device, reads=reads))
        for made, about, remedies in _safe(site, rules):
            found = True
            yield Check("H19", about, made, rules, remedies, said)
        for one, other in rivals:
            yield _never_both(rules, said, one, other, _untied(site, one, other))
    if not (found or rivals):
        yield NotApplicable("H19", "no guard switch or motor stop ends a rule, and no two latches shut each other out")


def _chain(rules: RuleSet) -> int:
    """How many cycles late the longest chain of entries is."""
    machine, _ = compile_rules(replace(rules, claims=()))
    assert machine is not None
    return machine.chain


def _safe(site: Site, rules: RuleSet) -> Iterator[tuple[Claim, str, tuple[Remedy, ...]]]:
    """What must be so however entries read one another: the switch and the motor stop end a rule."""
    cycles = _chain(rules)
    if site.arm is not None:
        for x in obeying(site, site.arm):
            if not any(a.modifiers.back is not None for a in site.actions_of(x) if not isinstance(a, Announce)):
                said, mend = off(site, site.arm), hand_back.at_once(site, x, site.arm)
                yield _ended(x, f"H19 {x.name}", said, not_(site.arm.signal), cycles), x.name, mend
    if site.kill is not None:
        for x in takers(site):
            said, mend = on(site, site.kill), only_while(site, x, off(site, site.kill))
            yield _ended(x, f"H19 {x.name} stop", said, site.kill.signal, cycles), x.name, mend


def _ended(x: Actor, name: str, said: str, out: e.Signal, cycles: int) -> Claim:
    late = _for_cycles(out, cycles, x) if cycles else out
    times = f"{cycles} cycle{'' if cycles == 1 else 's'}"
    sentence = f"{times} after {said} at the latest {x.name} does nothing"
    if not cycles:
        sentence = f"{x.name} does nothing from the cycle on in which {said}"
    text = f"never {x.name} acts and {said}" + (f" for {times}" if cycles else "")
    return replace(claim(name, sentence, text, Never(all_of(acts(x), late), span=x.span)), strict=True)


def _for_cycles(signal: e.Signal, cycles: int, at: e.Located) -> e.Signal:
    count = e.Constant(Fraction(cycles), UNITS["cycles"], span=at.span)
    return e.Timed("for", signal, e.Duration(count, in_cycles=True, span=at.span), span=at.span)


def _never_both(rules: RuleSet, variant: str, one: Latch, other: Latch, mend: tuple[Remedy, ...]) -> Check:
    both = all_of(named(one.name, one.span), named(other.name, other.span))
    cycles = _chain(rules) if variant else 0
    more = f" for more than {cycles} cycles" if cycles else ""
    made = claim(
        f"H19 {one.name} {other.name}",
        f"{one.name} and {other.name} are never on together{more}",
        f"never ({one.name} and {other.name})" + (f" for {cycles} cycles" if cycles else ""),
        Never(_for_cycles(both, cycles, one) if cycles else both, span=one.span),
    )
    return Check("H19", one.name, replace(made, strict=True), rules, mend, variant)


def _rivals(site: Site) -> Iterator[tuple[Latch, Latch]]:
    """Latches of which each is set only while the other is off."""
    for one, other in combinations(site.rules.latches, 2):
        if _shuts_out(site, one, other) and _shuts_out(site, other, one):
            yield one, other


def _shuts_out(site: Site, latch: Latch, other: Latch) -> bool:
    """All that sets the latch asks for the other to be off."""
    return all(_asks_off(site, s, other) for s in latch.sets)


def _asks_off(site: Site, signal: e.Signal, other: Latch) -> bool:
    match signal:
        case e.Not(operand=e.NamedSignal(name=name) | e.PreviousSignal(operand=e.NamedSignal(name=name))):
            return name == other.name
        case e.PreviousSignal(operand=operand) | e.Timed(kind="for", operand=operand):
            return _asks_off(site, operand, other)
        case e.AllOf(operands=operands):
            return any(_asks_off(site, o, other) for o in operands)
        case e.AnyOf(operands=operands):
            return all(_asks_off(site, o, other) for o in operands)
        case e.NamedSignal(name=name):
            return any(s.name == name and _asks_off(site, s.signal, other) for s in site.rules.signals)
        case _:
            return False


def _untied(site: Site, one: Latch, other: Latch) -> tuple[Remedy, ...]:
    """Where both would come on in the same cycle, the first of them does."""
    if not (own(one.name) and own(other.name)):
        return ()
    either = " or ".join(f"({words(site, s)})" for s in one.sets)
    wanted = no(site, one.sets[0]) if len(one.sets) == 1 else f"not ({either})"
    changes = tuple(edits.instead(site, s, and_also(site, s, wanted), where=f"latch {other.name}") for s in other.sets)
    reset = edits.clause(site, other, f"reset when previous of {one.name}", where=f"latch {other.name}")
    return (Remedy(f"where both would come on, let {one.name} do so", (*changes, reset)),)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H17": h17, "H18": h18, "H19": h19, **surfaces.CHECKS, **amounts.CHECKS,
}  # fmt: skip
