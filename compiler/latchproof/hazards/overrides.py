"""Several rules on one channel, and the order of entries: H17 to H19. Surfaces and amounts have files of their own."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import combinations, product

from latchproof.hazards import amounts, edits, hand_back, surfaces
from latchproof.hazards.causes import behind
from latchproof.hazards.model import Check, NotApplicable, Outcome, Remedy, Seen
from latchproof.hazards.promise import and_also, claim, off, on, own, words
from latchproof.hazards.remedies import only_while
from latchproof.hazards.site import Site, acts, all_of, named
from latchproof.hazards.switched import obeying
from latchproof.hazards.takers import takers
from latchproof.machine.actions import Acting, acting_on, in_priority, unordered
from latchproof.rules import expressions as e
from latchproof.rules.model import Claim, Drive, Latch, Limit, Never, Reads, RuleSet, Scope

ALONE = "no channel is given a value by more than one rule"


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
    for least, most in _crossing(site):
        found = True
        yield _apart("H17", site, least, most)
    for name, drives in _ranked(site):
        found = True
        order = " over ".join(dict.fromkeys(d.rule for d in reversed(drives)))
        yield Seen("H17", name, True, f"who wins is said: {order}")
    if not found:
        yield NotApplicable("H17", ALONE)


def h18(site: Site) -> Iterator[Outcome]:
    """On one transmitter the last line wins, on another the first. The rules are copied, and the motor stop loses.

    Checked for each channel: two rules whose order would matter never ask for different values in the same cycle. If
    they may, but `priority` (or the kill role) says who wins, then the order is named here: on a transmitter whose
    first line wins it has to be turned round.

    Remedy: let one of the two act only while the other does not; then no order matters and the rules can be given away.
    """
    found = False
    for name, one, other in _undecided(site):
        found = True
        mend = _exclusive(site, one, other)
        yield Check("H18", one.rule, None, site.rules, mend, unwritten=_meeting(name, one, other))
    for least, most in _crossing(site):
        found = True
        yield _apart("H18", site, least, most)
    for name, drives in _ranked(site):
        found = True
        order = list(dict.fromkeys(d.rule for d in drives))
        said = (
            f"the lines for {name} have an order, which the file says: {', '.join(order)}, the last wins. On a "
            f"transmitter whose first line wins enter them as {', '.join(reversed(order))}"
        )
        yield Seen("H18", name, True, said)
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


def _ranked(site: Site) -> Iterator[tuple[str, tuple[Acting, ...]]]:
    """Channels that several rules drive, with an order between some of them that is said."""
    for name in _channels(site):
        drives = _drives(site, name)
        open_ = {frozenset((drives[i].rule, drives[j].rule)) for i, j in unordered(drives, site.rules)}
        rules = {d.rule for d in drives}
        if any(frozenset(pair) not in open_ for pair in combinations(rules, 2)):
            yield name, drives


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


def _bound(a: Acting) -> str:
    assert isinstance(a.action, Limit)
    return a.action.bound


def _apart(hazard: str, site: Site, least: Acting, most: Acting) -> Check:
    assert isinstance(least.action, Limit)
    assert isinstance(most.action, Limit)
    name, low, high = least.action.channel, least.action.amount, most.action.amount
    above = e.Comparison(low, ">", high, span=least.action.span)
    both = all_of(*(e.NamedSignal(f"{a.rule}.acting@{name}", span=a.action.span) for a in (least, most)), above)
    said_low, said_high = words(site, low), words(site, high)
    made = claim(
        f"{hazard} {least.rule} {most.rule} {name}",
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
            found += only_while(site, this, f"not ({words(site, that.condition)})")
    return tuple(found)


def _holds(a: Acting) -> bool:
    """It goes on after its condition has ended."""
    return not isinstance(a.action, Drive | Limit) or a.action.modifiers.back is not None


# ---------- entries that read one another


_READINGS: tuple[tuple[Reads, str], ...] = (
    ("this cycle", "if every entry sees what the others are in this cycle"),
    ("last cycle", "if every entry sees what the others were one cycle before"),
    ("listed order", "if an entry sees what stands below it one cycle late"),
)


def h19(site: Site) -> Iterator[Outcome]:
    """One latch looks at another, and which of the two is worked out first depends on the transmitter. Two that should
    shut each other out are then both on, or the guard acts though it has just been switched off.

    Checked: switched off, no rule acts, and the motor stop stops the motor, also if entries see what the others were
    one cycle before, or see only what stands above them at once (at the latest so many cycles later as the chain of
    entries is long). And two latches of which each is set only while the other is off are never on together.

    Remedy: a reset or condition of its own where the two could come on in the same cycle.
    """
    found = False
    others = [(reads, said) for reads, said in _READINGS if reads != site.rules.device.reads]
    for reads, said in others:
        rules = _read_as(site.rules, reads)
        for made, about, remedies in _safe(site):
            found = True
            yield Check("H19", about, made, rules, remedies, said)
    for one, other in _rivals(site):
        found = True
        both = all_of(named(one.name, one.span), named(other.name, other.span))
        made = claim(
            f"H19 {one.name} {other.name}",
            f"{one.name} and {other.name} are never on together",
            f"never {one.name} and {other.name}",
            Never(both, span=one.span),
        )
        yield Check("H19", one.name, made, site.rules, _untied(site, one, other))
        yield Check(
            "H19", one.name, made, _read_as(site.rules, "last cycle"), _untied(site, one, other), _READINGS[1][1]
        )
    if not found:
        yield NotApplicable("H19", "no guard switch or motor stop is named, and no two latches shut each other out")


def _read_as(rules: RuleSet, reads: Reads) -> RuleSet:
    return replace(rules, device=replace(rules.device, reads=reads))


def _safe(site: Site) -> Iterator[tuple[Claim, str, tuple[Remedy, ...]]]:
    """What must be so however entries read one another: the switch and the motor stop."""
    if site.arm is not None:
        for x in obeying(site, site.arm):
            if any(a.modifiers.back is not None for a in site.actions_of(x) if isinstance(a, Drive | Limit)):
                continue
            made = replace(hand_back.freed(site, x), name=f"H19 {x.name}")
            yield made, x.name, hand_back.at_once(site, x, site.arm)
    if site.kill is not None:
        scope = Scope("while", site.kill.signal, span=site.kill.span)
        for x in takers(site):
            text = f"never {x.name} acts  while {on(site, site.kill)}"
            made = claim(f"H19 {x.name} stop", f"after a motor stop {x.name} does nothing", text,
                         Never(acts(x), span=x.span), scope=scope)  # fmt: skip
            yield made, x.name, only_while(site, x, off(site, site.kill))


def _rivals(site: Site) -> Iterator[tuple[Latch, Latch]]:
    """Latches of which each is set only while the other is off."""
    for one, other in combinations(site.rules.latches, 2):
        if _shuts_out(site, one, other) and _shuts_out(site, other, one):
            yield one, other


def _shuts_out(site: Site, latch: Latch, other: Latch) -> bool:
    """All that sets the latch asks for the other to be off."""
    return all(any(m == other and not helps for m, helps, _ in behind(site, s).latches) for s in latch.sets)


def _untied(site: Site, one: Latch, other: Latch) -> tuple[Remedy, ...]:
    """Where both would come on in the same cycle, the first of them does."""
    if not (own(one.name) and own(other.name)):
        return ()
    wanted = " or ".join(f"({words(site, s)})" for s in one.sets)
    changes = tuple(
        edits.instead(site, s, and_also(site, s, f"not ({wanted})"), where=f"latch {other.name}") for s in other.sets
    )
    reset = edits.clause(site, other, f"reset when previous of {one.name}", where=f"latch {other.name}")
    return (Remedy(f"where both would come on, let {one.name} do so", (*changes, reset)),)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H17": h17, "H18": h18, "H19": h19, **surfaces.CHECKS, **amounts.CHECKS,
}  # fmt: skip
