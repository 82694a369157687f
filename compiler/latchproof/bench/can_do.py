"""What a person can do at the bench, and what each thing costs him.

A step is one thing done and a time to wait and look. Heights can be had in several ways: the sensor lies still at zero,
it is carried up some stairs, it is moved freely (a pressure rig), a knob stands in its place, or the numbers it is
compared with are put in reach of the stairs.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, TypeVar, assert_never

from latchproof.machine.model import Machine
from latchproof.machine.terms import Term, children, walk
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Phase, Rule, RuleSet

T = TypeVar("T")

WayKind = Literal["stuck", "stairs", "thresholds", "knob", "free", "flown"]

CLIMB = Fraction(1, 2)
"""Metres a second on the stairs, with the model in one's arms."""

TURNING = Fraction(1)
"""Seconds to move a stick, a knob or a slider."""


@dataclass(frozen=True, slots=True)
class Way:
    """How a sensor's reading is moved; `up_to`: what the stairs reach, or how much it changes in a second in flight."""

    kind: WayKind
    up_to: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Turn:
    """A switch to a position."""

    switch: str
    position: int


@dataclass(frozen=True, slots=True)
class Press:
    """A button, for a second."""

    button: str


@dataclass(frozen=True, slots=True)
class Hold:
    """A stick or knob to a value."""

    control: str
    value: Fraction


@dataclass(frozen=True, slots=True)
class Bring:
    """A sensor to a reading, in the way that this bench has for it."""

    sensor: str
    value: Fraction


@dataclass(frozen=True, slots=True)
class Telemetry:
    """Frames of all sensors arrive, or stop."""

    on: bool


@dataclass(frozen=True, slots=True)
class PowerCycle:
    """The transmitter off and on again."""


@dataclass(frozen=True, slots=True)
class Wait:
    pass


Do = Turn | Press | Hold | Bring | Telemetry | PowerCycle | Wait


@dataclass(frozen=True, slots=True)
class Step:
    """One thing done, then `seconds` of waiting, of which the last is for looking."""

    do: Do
    seconds: Fraction


@dataclass(frozen=True, slots=True)
class Setting:
    """Where everything stands. Switches, buttons, sticks and readings by name, in the order of the rule file."""

    switches: tuple[tuple[str, int], ...]
    controls: tuple[tuple[str, Fraction], ...]
    readings: tuple[tuple[str, Fraction], ...]
    frames: bool = True

    def done(self, do: Do) -> "Setting":
        """After that has been done. A button does not stay."""
        match do:
            case Turn(name, position):
                return replace(self, switches=_put(self.switches, name, position))
            case Hold(name, value):
                return replace(self, controls=_put(self.controls, name, value))
            case Bring(name, value):
                return replace(self, readings=_put(self.readings, name, value))
            case Telemetry(on):
                return replace(self, frames=on)
            case Press() | PowerCycle() | Wait():
                return self
            case _:
                assert_never(do)


def _put(pairs: tuple[tuple[str, T], ...], name: str, value: T) -> tuple[tuple[str, T], ...]:
    return tuple((n, value if n == name else v) for n, v in pairs)


def at_rest(rules: RuleSet, ways: Mapping[str, Way]) -> Setting:
    """How the bench is set up: switches at their first position, sticks at nothing, sensors on the table."""
    return Setting(
        tuple((s.name, 0) for s in rules.switches),
        tuple((c.name, nothing(c.low, c.high)) for c in rules.controls),
        tuple((s.name, nothing(s.low, s.high)) for s in rules.sensors),
    )


def nothing(low: Fraction, high: Fraction) -> Fraction:
    return min(max(Fraction(0), low), high)


def moving(do: Do, before: Setting, ways: Mapping[str, Way]) -> Fraction:
    """Seconds that it takes."""
    match do:
        case Bring(name, value) if dict(before.readings)[name] == value:
            return Fraction(0)
        case Hold(name, value) if dict(before.controls)[name] == value:
            return Fraction(0)
        case Bring(name, value):
            way, change = ways[name], abs(value - dict(before.readings)[name])
            if way.kind in ("stairs", "thresholds"):
                return max(TURNING, change / CLIMB)
            if way.kind == "flown":
                return max(TURNING, change / way.up_to)
            return TURNING
        case Hold():
            return TURNING
        case _:
            return Fraction(0)


COSTS: dict[type[Do], int] = {Turn: 100, Press: 100, Hold: 150, Bring: 200, Telemetry: 400, PowerCycle: 600, Wait: 0}
"""What a thing to do costs a person: a switch is cheap, the model off and on is dear. A hundred is a switch."""

EACH_STEP, EACH_SECOND, EACH_CARRY, EACH_METRE = 100, 25, 400, 50
"""Every step is one to read and to look; waiting is dear, carrying dearer."""


def cost(step: Step, before: Setting, ways: Mapping[str, Way]) -> int:
    carried = 0
    if isinstance(step.do, Bring) and ways[step.do.sensor].kind in ("stairs", "thresholds"):
        metres = abs(step.do.value - dict(before.readings)[step.do.sensor])
        carried = EACH_CARRY + int(EACH_METRE * metres)
    return EACH_STEP + COSTS[type(step.do)] + carried + int(EACH_SECOND * step.seconds)


def stripped(rules: RuleSet) -> RuleSet:
    """The rules alone, without promises and without the world; each announcement is a rule of its own beside them."""
    sensors = tuple(replace(s, change=None, error=Fraction(0), lag=Fraction(0)) for s in rules.sensors)
    said = tuple(Rule(name, on, (a,), span=a.span) for name, on, a in _announcements(rules))
    return replace(
        rules, claims=(), assumptions=(), accepted=(), stages=(), requires=(), sensors=sensors,
        rules=(*rules.rules, *said),
    )  # fmt: skip


SOUND = " sound "
"""In the names of the rules that only announce; no name in a rule file has a space."""


def told(bare: RuleSet) -> list[tuple[str, Announce]]:
    """The announcements of stripped rules, each under the name of its rule."""
    return [(r.name, a) for r in bare.rules if SOUND in r.name for a in r.actions if isinstance(a, Announce)]


def _announcements(rules: RuleSet) -> list[tuple[str, e.Signal, Announce]]:
    """Every announcement under a name of its own, with what starts it."""
    found: list[tuple[str, e.Signal, Announce]] = []
    places: list[tuple[str, e.Signal, Rule | Phase]] = [
        (r.name, e.NamedSignal(r.name, span=r.span), r) for r in rules.rules
    ]
    for s in rules.sequences:
        places += [(f"{s.name}.{p.name}", e.NamedSignal(f"{s.name}.{p.name}", span=p.span), p) for p in s.phases]
    for name, on, place in places:
        said = [a for a in place.actions if isinstance(a, Announce)]
        found += [(f"{name}{SOUND}{k}", on, a) for k, a in enumerate(said, 1)]
    return found


KNOB = "@in place"
"""Put after a sensor's name: the input that stands in its place."""


def in_place(machine: Machine, sensors: frozenset[str]) -> Machine:
    """The machine with a knob where these sensors are read. Whether they are stale is still theirs."""
    t = machine.terms
    done: dict[int, Term] = {id(machine.definitions[s]): t.var(s + KNOB, "number") for s in sorted(sensors)}
    roots = [s.next for s in machine.states] + list(machine.definitions.values())
    for term in walk(roots):
        if id(term) not in done:
            parts = tuple(done[id(c)] for c in children(term))
            done[id(term)] = t.rebuild(term, parts)
    return replace(
        machine,
        states=tuple(replace(s, next=done[id(s.next)]) for s in machine.states),
        definitions={name: done[id(x)] for name, x in machine.definitions.items()},
    )
