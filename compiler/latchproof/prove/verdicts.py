"""What the prover answers: verdicts with what they stand on."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from latchproof.prove.assumed import Fact
from latchproof.prove.found import Stuck
from latchproof.prove.memory import Keepsake
from latchproof.run.interpreter import Record, World
from latchproof.run.program import Exact

Answer = Literal["proved", "refuted", "unknown"]


@dataclass(frozen=True, slots=True)
class Certificate:
    """An invariant over the system's named state, in SMT-LIB 2.6: true at the start, kept by every ordinary step that
    is allowed, and excluding the goal in any such step.

    `facts`: the system is the one in which the facts of the world hold; else the one in which the world may do anything
    (see `cone`).
    """

    invariant: str
    facts: bool = True


@dataclass(frozen=True, slots=True)
class Moment:
    """A stretch of a trace in which the world does one thing: `cycles` ordinary cycles from number `first`."""

    first: int
    cycles: int


@dataclass(frozen=True, slots=True)
class Trace:
    """Inputs that lead to the goal, replayed: the last record is the cycle in which it is reached.

    `parameters` are the tunes and fact spans, `start` the memory that may start with anything.
    """

    parameters: Mapping[str, Fraction]
    start: Mapping[str, Exact]
    world: tuple[World, ...]
    records: tuple[Record, ...]
    moments: tuple[Moment, ...]
    since: int = 0
    """The cycle that the broken promise goes back to: the beginning of its window, or the last one."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """`engine` is what decided, `seconds` how long that took, without the replay of a trace (never
    compared with anything). `reason`: why it is not decided, or what of a proof was left open.

    `broken`: an engine's proof was found to be none, which is an error of this program.

    `allowance`: how many cycles late the claim may be on a device whose entries read late, and the verdict be true.

    `stuck`: of a claim that is not decided, where the proof sticks. `rests_on`: of a proof, what it needs of the rules
    and of the facts, where that was asked for.

    `untested`: it is proved only because what it speaks of can never arise.

    `tried`: what was found on the way, with other allowances.

    `keepsake`, under `key`, is what the next run may begin with; `remembered`: an earlier run's, checked again.

    A claim about what can happen is proved by a trace and refuted by a certificate; all others the other way round.
    """

    claim: str
    answer: Answer
    engine: str
    seconds: float
    certificate: Certificate | None = None
    trace: Trace | None = None
    reason: str | None = None
    depth: int = 0
    assumed: tuple[Fact, ...] = ()
    key: str = ""
    keepsake: Keepsake | None = None
    remembered: bool = False
    broken: bool = False
    allowance: int = 0
    tried: tuple["Verdict", ...] = ()
    untested: bool = False
    stuck: Stuck | None = None
    rests_on: tuple[str, ...] | None = None
