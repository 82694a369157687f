"""The rule set: what a rule file means once names are resolved, parts expanded and units checked."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from latchproof.rules.expressions import Duration, Located, Number, Signal
from latchproof.rules.units import Unit
from latchproof.source import Span

# ---------- where a number comes from


@dataclass(frozen=True, slots=True)
class Basis:
    kind: Literal["measured", "assumed"]
    date: str | None = None
    note: str | None = None


# ---------- numbers that stand still during a flight


@dataclass(frozen=True, slots=True)
class Cycle(Located):
    """Seconds between two passes over the entries: shortest and longest. `declared`: false for the built-in default."""

    shortest: Fraction
    longest: Fraction
    basis: Basis
    declared: bool = True


Reads = Literal["this cycle", "last cycle", "listed order", "unknown order"]
Starts = Literal["reset", "any"]


@dataclass(frozen=True, slots=True)
class Pulse(Located):
    """A signal that the device gives: true from power-up for `seconds`."""

    name: str
    seconds: Fraction


@dataclass(frozen=True, slots=True)
class Device:
    """How the transmitter runs the rules: which value an entry sees when it reads another one, and power-up.

    `no_frame_before`: seconds after power-up in which no telemetry frame arrives. `bases` by clause name, as in the
    tree. `span`: of the section, None where the file has none.
    """

    reads: Reads = "this cycle"
    starts: Starts = "reset"
    pulse: Pulse | None = None
    no_frame_before: Fraction | None = None
    bases: tuple[tuple[str, Basis], ...] = ()
    span: Span | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Fact(Located):
    """A number, or any number from `low` to `high`."""

    name: str
    low: Fraction
    high: Fraction
    unit: Unit
    basis: Basis | None


@dataclass(frozen=True, slots=True)
class Tune(Located):
    """`steps` lists the values it may take (at most 16) when it is tuned in steps; else any value of its range."""

    name: str
    value: Fraction
    low: Fraction
    high: Fraction
    unit: Unit
    steps: tuple[Fraction, ...] = ()


@dataclass(frozen=True, slots=True)
class Require(Located):
    condition: Signal
    text: str


# ---------- inputs


@dataclass(frozen=True, slots=True)
class Switch(Located):
    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Button(Located):
    name: str


@dataclass(frozen=True, slots=True)
class Control(Located):
    """A stick or knob."""

    kind: Literal["stick", "knob"]
    name: str
    low: Fraction
    high: Fraction
    unit: Unit


@dataclass(frozen=True, slots=True)
class Sensor(Located):
    """Facts of a sensor, in base units; None where the file says nothing. `bases` by clause name, as in the tree.

    `error`: the reading is at most this far from the true quantity. `change`: slowest and fastest change of the true
    quantity, per second. `lag`: the reading shows the quantity as it was up to this long ago.
    `stale_reads`: what a stale sensor reads; None means that it keeps its last value.
    """

    name: str
    low: Fraction
    high: Fraction
    unit: Unit
    step: Fraction | None = None
    frame_every: Fraction | None = None
    stale_after: Fraction | None = None
    stale_reads: Fraction | None = None
    error: Fraction = Fraction(0)
    change: tuple[Fraction, Fraction] | None = None
    lag: Fraction = Fraction(0)
    bases: tuple[tuple[str, Basis], ...] = ()


# ---------- outputs


@dataclass(frozen=True, slots=True)
class Channel(Located):
    """`source` is what it follows, or the constant it rests at (then `rests`).

    `directions` maps word to sign, both words of a declared pair (`up` negative gives `down` positive); without a
    declaration `up`/`more` are positive.
    """

    name: str
    number: int | None
    source: Number
    rests: bool
    low: Fraction
    high: Fraction
    unit: Unit
    directions: tuple[tuple[str, int], ...] = ()
    trim: Fraction | None = None
    bases: tuple[tuple[str, Basis], ...] = ()


# ---------- logic


@dataclass(frozen=True, slots=True)
class NamedValue(Located):
    name: str
    value: Number
    unit: Unit


@dataclass(frozen=True, slots=True)
class NamedSignalDefinition(Located):
    name: str
    signal: Signal


@dataclass(frozen=True, slots=True)
class Sample(Located):
    name: str
    value: Number
    when: Signal
    first: Number
    unit: Unit


@dataclass(frozen=True, slots=True)
class Timeout(Located):
    """After `duration` the latch resets; then it is blocked until a signal, for a time, or (both None) not at all."""

    duration: Duration
    blocked_until: Signal | None = None
    blocked_for: Duration | None = None


@dataclass(frozen=True, slots=True)
class Latch(Located):
    name: str
    sets: tuple[Signal, ...]
    resets: tuple[Signal, ...]
    set_wins: bool = False
    timeout: Timeout | None = None


@dataclass(frozen=True, slots=True)
class Counter(Located):
    """Counts how often `counts` begins, stops at `limit`, is 0 while `clears` (which wins)."""

    name: str
    counts: Signal
    clears: tuple[Signal, ...]
    limit: int


# ---------- actions


@dataclass(frozen=True, slots=True)
class Modifiers:
    """`rising` and `falling` are rates (per second, positive) for the value growing and shrinking.

    `back` is the rate of the return to the pilot's value. None: at once. `words` are the ramps as written, for the
    listing: (word, rate).
    """

    after: Duration | None = None
    rising: Number | None = None
    falling: Number | None = None
    back: Number | None = None
    words: tuple[tuple[str, Number], ...] = ()


@dataclass(frozen=True, slots=True)
class Drive(Located):
    """One channel or control gets a value. An action that names several is one `Drive` for each."""

    channel: str
    target: Number
    modifiers: Modifiers


@dataclass(frozen=True, slots=True)
class Move(Located):
    """`amount` (never negative) is added with `sign`; `word` is the direction as written."""

    channel: str
    word: str
    sign: int
    amount: Number
    modifiers: Modifiers


@dataclass(frozen=True, slots=True)
class Limit(Located):
    """`bound` "most": never above the amount; "least": never below it."""

    channel: str
    bound: Literal["least", "most"]
    amount: Number
    modifiers: Modifiers


@dataclass(frozen=True, slots=True)
class Announce(Located):
    means: Literal["voice", "tone", "vibration"]
    text: str | None
    every: Duration | None


Action = Drive | Move | Limit | Announce


@dataclass(frozen=True, slots=True)
class Rule(Located):
    name: str
    condition: Signal
    actions: tuple[Action, ...]


@dataclass(frozen=True, slots=True)
class Phase(Located):
    """Lasts for a time, until a signal, or (both None, the last one) until the sequence's condition ends."""

    name: str
    lasts: Duration | None
    until: Signal | None
    actions: tuple[Action, ...]


@dataclass(frozen=True, slots=True)
class Sequence(Located):
    name: str
    condition: Signal
    phases: tuple[Phase, ...]


@dataclass(frozen=True, slots=True)
class Precedence(Located):
    """Rule (or sequence) `over` beats `under` on every channel that both drive."""

    over: str
    under: str


RoleName = Literal["arm", "kill", "landing", "launch", "instructor"]


@dataclass(frozen=True, slots=True)
class Role(Located):
    role: RoleName
    signal: Signal


# ---------- promises


@dataclass(frozen=True, slots=True)
class Never(Located):
    signal: Signal


@dataclass(frozen=True, slots=True)
class Always(Located):
    signal: Signal


@dataclass(frozen=True, slots=True)
class Whenever(Located):
    cause: Signal
    effect: Signal
    within: Duration | None


@dataclass(frozen=True, slots=True)
class StartsAtMost(Located):
    signal: Signal
    count: int
    window: Duration


@dataclass(frozen=True, slots=True)
class QuietAfter(Located):
    duration: Duration
    cause: Signal
    never: Signal


@dataclass(frozen=True, slots=True)
class LengthOf(Located):
    signal: Signal
    bound: Literal["least", "most"]
    duration: Duration


@dataclass(frozen=True, slots=True)
class StepOf(Located):
    number: Number
    most: Number
    window: Duration


@dataclass(frozen=True, slots=True)
class Can(Located):
    stages: tuple[Signal, ...]


@dataclass(frozen=True, slots=True)
class Before(Located):
    """`signal` happens only if `first` came first (or comes in the same cycle)."""

    signal: Signal
    first: Signal


Form = Never | Always | Whenever | StartsAtMost | QuietAfter | LengthOf | StepOf | Can | Before


@dataclass(frozen=True, slots=True)
class Scope(Located):
    kind: Literal["while", "since"]
    signal: Signal


@dataclass(frozen=True, slots=True)
class Claim(Located):
    """`text` is the form as the pilot wrote it; `arriving` names the sensors that the claim takes to keep arriving.

    `strict`: it gets no allowance on a device whose entries read late.
    """

    name: str
    sentence: str | None
    text: str
    form: Form
    scope: Scope | None = None
    arriving: tuple[str, ...] = ()
    strict: bool = False


@dataclass(frozen=True, slots=True)
class Assumption(Located):
    """The world never breaks this."""

    name: str
    sentence: str | None
    text: str
    form: Form
    scope: Scope | None
    basis: Basis | None


@dataclass(frozen=True, slots=True)
class Accepted(Located):
    hazard: str
    rule: str | None
    reason: str


@dataclass(frozen=True, slots=True)
class Stage(Located):
    """A variant of the rule set for a first flight."""

    name: str
    warn_only: bool
    tunes: tuple[tuple[str, Fraction], ...]


@dataclass(frozen=True, slots=True)
class RuleSet:
    title: str
    version: str | None
    cycle: Cycle
    facts: tuple[Fact, ...] = ()
    tunes: tuple[Tune, ...] = ()
    requires: tuple[Require, ...] = ()
    switches: tuple[Switch, ...] = ()
    buttons: tuple[Button, ...] = ()
    controls: tuple[Control, ...] = ()
    sensors: tuple[Sensor, ...] = ()
    channels: tuple[Channel, ...] = ()
    values: tuple[NamedValue, ...] = ()
    samples: tuple[Sample, ...] = ()
    signals: tuple[NamedSignalDefinition, ...] = ()
    latches: tuple[Latch, ...] = ()
    counters: tuple[Counter, ...] = ()
    rules: tuple[Rule, ...] = ()
    sequences: tuple[Sequence, ...] = ()
    precedences: tuple[Precedence, ...] = ()
    roles: tuple[Role, ...] = ()
    claims: tuple[Claim, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    accepted: tuple[Accepted, ...] = ()
    stages: tuple[Stage, ...] = ()
    device: Device = Device()
