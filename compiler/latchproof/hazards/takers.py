"""Rules that fly the model by themselves: a reading makes them give power, or move a surface that a stick moves."""

from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind, powers, read_in
from latchproof.hazards.model import Remedy
from latchproof.hazards.promise import figure, kind, off, own, words
from latchproof.hazards.remedies import unused_name
from latchproof.hazards.site import Site
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, Role, Rule, Sequence

Actor = Rule | Sequence

NOTHING_FLIES = "no reading of a sensor makes a rule give power or move a surface"


def takers(site: Site) -> tuple[Actor, ...]:
    """In the order of the file."""
    return tuple(x for x in site.guards if (powers(site, x) or surfaces(site, x)) and read_in(site, x.condition))


def surfaces(site: Site, x: Actor) -> tuple[str, ...]:
    """Channels without a motor that follow a stick, and such sticks, on which it acts."""
    sticks = {c.name for c in site.rules.controls if c.kind == "stick"}
    motors = {c.name for c in site.motors}
    powered = {name for c in site.motors for name in followed(c.source)}
    return tuple(
        name
        for name in site.touched(x)
        if (name in sticks and name not in powered)
        or (name not in motors and name in site.channels and followed(site.channels[name].source) & sticks)
    )


def followed(source: e.Number) -> frozenset[str]:
    """The sticks and knobs in what a channel follows."""
    found: set[str] = set()
    waiting: list[object] = [source]
    while waiting:
        node = waiting.pop()
        if isinstance(node, e.Controlled | e.Held):
            found.add(node.control)
        waiting.extend(parts(node))
    return frozenset(found)


def memories(site: Site, x: Actor) -> tuple[Latch, ...]:
    """Latches that make it act by being on, and are set by a reading."""
    return tuple(m for m in behind(site, x.condition).helping if any(read_in(site, s) for s in m.sets))


# ---------- remedies that several hazards share


def seconds(value: Fraction) -> str:
    return figure(value, "s")


def timed_out(site: Site, x: Actor, most: Fraction) -> tuple[Remedy, ...]:
    """The rule ends by itself within `most` seconds, and stays away until it is switched off and on again."""
    if not own(x.name):
        return ()
    spare = min(Fraction(1), most / 4)
    arm = site.arm
    until = off(site, arm) if arm is not None else f"not ({words(site, x.condition)})"
    clause = f"timeout {seconds(most - spare)}  then blocked until {until}"
    said = f"a time-out below {seconds(most)}; after it the rule stays away until it is switched off"
    latch = alone(site, x.condition)
    if latch is not None and latch.timeout is None and own(latch.name):
        return (Remedy(said, (edits.clause(site, latch, clause, where=f"latch {latch.name}"),)),)
    condition, name = words(site, x.condition), unused_name(site, f"{x.name}_time")
    resets = f"  reset when not ({condition})\n"
    if arm is not None and f"not ({condition})" != until:
        resets += f"  reset when {until}\n"
    text = f"\nlatch {name} {{\n  set when {condition}\n{resets}  {clause}\n}}"
    change = edits.instead(site, x.condition, name, where=f"{kind(x)} {x.name}")
    return (Remedy(said, (change, edits.statement(site, text))),)


def alone(site: Site, condition: e.Signal) -> Latch | None:
    """The latch without which the condition is never true."""
    needed = condition.operands if isinstance(condition, e.AllOf) else (condition,)
    return next((site.latches[s.name] for s in needed if isinstance(s, e.NamedSignal) and s.name in site.latches), None)


def role_line(site: Site, role: str, *guesses: str) -> str:
    """The line that names a role: with a position of a switch that sounds like it, else with blanks."""
    for switch in site.rules.switches:
        for position in switch.positions:
            if any(guess in position or (guess in switch.name and position == switch.positions[-1])
                   for guess in guesses):  # fmt: skip
                return f"role {role} is {switch.name} is {position}"
    return f"role {role} is ... is ..."


def not_role(site: Site, role: Role) -> str:
    """`flaps is not landing`, `guard is off`, `not (lever is above 50 %)`."""
    if isinstance(role.signal, e.AtPosition):
        said = off(site, role)
        return f"{words(site, role.signal)}".replace(" is ", " is not ", 1) if said.startswith("not (") else said
    return off(site, role)
