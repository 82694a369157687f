"""The setup listing: everything a pilot with a transmitter in his hand needs, in the order in which he needs it.

All texts are whole phrases; a renderer only lays them out. Names and quoted texts come from the rule file as they are,
so renderers take out what could act on a terminal or on a page.
"""

from dataclasses import dataclass
from typing import Literal

Section = Literal[
    "condition", "logic", "delay", "latch", "counter", "sample", "calculation", "sequence", "action", "announcement",
    "channel", "sensor", "failsafe",
]  # fmt: skip
"""In the order in which entries are typed, as far as what they read allows."""


FieldKind = Literal[
    "state", "number", "rate of", "threshold", "time", "delay", "ramp", "offset", "count", "choice", "calculation",
    "quantity", "repeat", "phase begins", "phase ends", "time-out", "lock-out", "channel", "acts on", "entries",
    "sensor", "unit", "span", "once stale", "sound", "fact", "note",
]  # fmt: skip
"""What may stand in a field. `fact`: what the proof takes for granted; `note`: changes nothing in what is done."""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to enter: `value` as it is entered, `other` the same in another unit, `words` what it means.

    `value` says everything that counts, in a form that can be read back; `choices`: the words that a field of fixed
    words allows.
    """

    label: str
    value: str
    other: str = ""
    words: str = ""
    kind: FieldKind = "note"
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Read:
    """`earlier`: the entry as it was one pass earlier (a memory, or an entry further down the list).
    `settings`: the settings of a sensor, which are no state of an entry."""

    entry: int
    when: Literal["now", "earlier", "settings"] = "now"


@dataclass(frozen=True, slots=True)
class Entry:
    """`kind` in words; `start` is the state when the transmitter is switched on. Every entry has a box to tick."""

    number: int
    section: Section
    purpose: str
    kind: str
    fields: tuple[Field, ...]
    start: str
    reads: tuple[Read, ...]
    read_by: tuple[int, ...]
    names: tuple[str, ...] = ()
    """What the rule file calls it; of an action or announcement the rule or phase that it stands in."""


@dataclass(frozen=True, slots=True)
class Ask:
    """Something only the pilot knows: boxes to tick, or a line to write on when there are no choices."""

    question: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FillIn:
    subject: str
    asks: tuple[Ask, ...]


@dataclass(frozen=True, slots=True)
class Tunable:
    """A number that may be changed inside its range; `entries` is where it then has to be changed."""

    name: str
    value: str
    other: str
    allowed: str
    entries: tuple[int, ...]
    needs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sound:
    """`length`: about how long it takes to say; `instead`: what tells the same where that cannot be."""

    entry: int
    means: Literal["voice", "tone", "vibration"]
    text: str
    repeat: str
    length: str = ""
    instead: str = ""


@dataclass(frozen=True, slots=True)
class WayOut:
    """How to get out in flight. `still` is what goes on acting; `stop` what the motor stop does; `more` what else to
    know about it. `named`: the rules name a way out that does something."""

    action: str
    still: tuple[str, ...] = ()
    stop: str = ""
    more: tuple[str, ...] = ()
    named: bool = False


@dataclass(frozen=True, slots=True)
class Promise:
    """A promise of the rules, with its state as a pilot reads it.

    `spoken`: the pilot gave it a sentence; else `sentence` is the claim as it stands in the file. `example`: it says
    that something can happen, which an example shows. `not in this stage`: it needs what this stage leaves out.
    """

    name: str
    sentence: str
    state: Literal["proved", "FAILS", "not decided", "not checked", "not in this stage"]
    spoken: bool = True
    example: bool = False

    @property
    def text(self) -> str:
        return self.sentence if self.spoken else f"{self.name}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class FactLine:
    """A fact that the proof stands on, with where it comes from: `measured ...`, `ASSUMED ...` or `not stated`."""

    text: str
    standing: str


@dataclass(frozen=True, slots=True)
class Accepted:
    """A danger that the pilot takes on, by its number and title."""

    hazard: str
    title: str
    rule: str
    reason: str


@dataclass(frozen=True, slots=True)
class Danger:
    """A known danger and what came of looking for it."""

    hazard: str
    title: str
    state: str


@dataclass(frozen=True, slots=True)
class Untouched:
    """A channel that nothing in the list acts on: `has` is what the rules take it to have already."""

    channel: str
    has: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class OnDevice:
    """A listing for one transmitter. `proofs`: what the promises were proved of; `hands`: what serves as what;
    `rounded`: numbers that are entered otherwise; `made_of`: what is made of other entries; `stops`: why it cannot be
    entered like this; `in_the_way`: what else does not go with it; `instead`: what the model has already and an entry
    takes the place of; `to_do`: what to find out where promises fail or are not decided."""

    transmitter: str
    proofs: str
    hands: tuple[str, ...] = ()
    rounded: tuple[str, ...] = ()
    made_of: tuple[str, ...] = ()
    in_the_way: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    to_do: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Listing:
    title: str
    version: str
    stage: str
    way_out: WayOut
    state: str
    """In one line: proved, not proved yet, or how much of it fails."""
    promises: tuple[Promise, ...]
    proved_if: tuple[FactLine, ...]
    accepted: tuple[Accepted, ...]
    cautions: tuple[str, ...]
    fill_in_first: tuple[FillIn, ...]
    reading: tuple[str, ...]
    tunables: tuple[Tunable, ...]
    entries: tuple[Entry, ...]
    sounds: tuple[Sound, ...]
    left_out: tuple[str, ...]
    untouched: tuple[Untouched, ...]
    empty_rows: tuple[str, ...]
    flight_phases: tuple[str, ...]
    voids: tuple[str, ...]
    discover: tuple[str, ...] = ()
    """Sensors, each once, with what they show."""
    fingerprint: tuple[str, str] = ("", "")
    """Two words: another listing has others."""
    read_back: str = ""
    """What came of reading the entries back, in a sentence."""
    on: OnDevice | None = None
    dangers: tuple[Danger, ...] = ()
    """Only where they were looked for."""

    @property
    def checked(self) -> bool:
        """Whether any promise has been looked at."""
        return any(p.state != "not checked" for p in self.promises)

    @property
    def not_proved(self) -> tuple[Promise, ...]:
        return tuple(p for p in self.promises if p.state != "proved")
