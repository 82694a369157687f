"""Every key of a description: where it stands, what it may hold, what it says, and what "don't know" means there."""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from latchproof.rules.units import LENGTH, UNITS, Dimension
from latchproof.transmitter.codecs import (
    Amount,
    Codec,
    Counts,
    Flag,
    Grid,
    Numbers,
    Pairs,
    Pick,
    Row,
    Several,
    Text,
    Texts,
    Times,
    Whole,
)

UNSURE = "don't know"
"""The answer where nobody has looked."""

NO_FALLBACK = object()

ENTRY_KINDS = (
    "comparison", "gate", "delay", "latch", "counter", "kept value", "calculation", "edge", "action", "announcement",
)  # fmt: skip
WAYS = ("away", "middle", "towards")

ORDERS = (("below", "<"), ("at most", "<="), ("above", ">"), ("at least", ">="), ("equal", "=="))


def _same(*words: str) -> tuple[tuple[str, str], ...]:
    return tuple((w, w) for w in words)


@dataclass(frozen=True, slots=True)
class Key:
    """`path` as in the file, dotted; the same as the field of the model.

    `nothing`: the word for None, where there may be none of it. `unsure`: the value that "don't know" gives, unless
    it is no answer. `careful` says in words what follows from it: that each is proved for, that something is not
    counted on, or that somebody has to look (then it is a finding of `conflicts`). `default`: of a key that may be
    left out; else left out is "don't know" where that is an answer, and a fault where it is not.
    """

    path: str
    codec: Codec
    says: str
    nothing: str | None = None
    unsure: Any = NO_FALLBACK
    default: Any = NO_FALLBACK
    careful: str = ""

    @property
    def may_be_unsure(self) -> bool:
        return self.unsure is not NO_FALLBACK

    @property
    def shows_itself(self) -> bool:
        """A wrong answer is found out when the list is entered, since something is not there, and does no harm."""
        return self.path == "gates.later" or (self.unsure is False or isinstance(self.unsure, int | frozenset))

    @property
    def section(self) -> str:
        return self.path.rpartition(".")[0]

    @property
    def name(self) -> str:
        return self.path.rpartition(".")[2]


_PERCENT = Amount("%", Fraction(-1000), Fraction(1000))
_WITHOUT = "the listing then does without"

KEYS: tuple[Key, ...] = (
    Key("name", Text(), "what you call this transmitter"),
    Key("channels", Whole(1, 64), "how many channels reach the model"),
    Key("order", Texts(), "what moves on channel 1, 2 and so on, named as in your rule files", default=()),
    Key(
        "reads",
        Pick(("this cycle", "last cycle", "listed order")),
        "which value an entry sees of another one: of this cycle, of the last cycle, or as they are listed",
        unsure="unknown order",
        careful="every order is proved for",
    ),
    Key(
        "starts",
        Pick(("reset", "any")),
        "memories at power-up: all off (reset), or anything (any)",
        unsure="any",
        careful="both are proved for",
    ),
    Key(
        "pulse",
        Amount("s", Fraction(1, 1000), Fraction(60)),
        "how long a start signal is on after power-up",
        nothing="none",
        unsure=None,
        careful="none is counted on",
    ),
    Key(
        "no_frame_before",
        Amount("s", Fraction(1, 1000), Fraction(600)),
        "how long after power-up no telemetry arrives, for sure",
        nothing="none",
        unsure=None,
        careful="it may come at once",
    ),
    Key(
        "active_only",
        Flag(),
        "entries stand still while another flight phase is in use",
        unsure=None,
        careful="you are told to look",
    ),
    Key("pulses.low", _PERCENT, "what the channel display shows at a pulse of 1000 us"),
    Key("pulses.middle", _PERCENT, "the same at 1500 us"),
    Key("pulses.high", _PERCENT, "the same at 2000 us"),
    Key("pulses.travel", Amount("%", Fraction(1), Fraction(1000)), "the greatest travel that can be set"),
    Key("room.total", Whole(1, 999), "entries in the one list that several kinds share", nothing="no shared list"),
    Key("room.each", Counts(ENTRY_KINDS), "kinds with a list of their own, and its length", default=()),
    Key("room.absent", Several(_same(*ENTRY_KINDS)), "kinds of entry that do not exist", default=frozenset()),
    Key("gates.inputs", Whole(2, 64), "how many things one gate joins at most", unsure=2, careful="two are counted on"),
    Key(
        "gates.kinds",
        Several(_same("all", "any", "one"), 1),
        "a gate is true when all, any, or exactly one of its inputs is",
        unsure=frozenset({"all", "any"}),
        careful="all and any are counted on",
    ),
    Key("gates.inverts", Flag(), "an input may be taken as its opposite", unsure=False, careful=_WITHOUT),
    Key(
        "gates.later",
        Flag(),
        "an entry may read one further down the list",
        unsure=None,
        careful="it shows when you enter the list",
    ),
    Key("delays.steps", Grid("s"), "the times that can be set"),
    Key("delays.zero", Flag(), "a time of zero can be set", unsure=False, careful=_WITHOUT),
    Key(
        "delays.kinds",
        Several(_same("on", "off", "pulse")),
        "waiting before it goes on, before it goes off, or on for a fixed time",
        unsure=frozenset({"on"}),
        careful="a wait before going on is counted on",
    ),
    Key(
        "delays.where",
        Pick(("before", "after")),
        "whether the wait comes before or after the gate of the same entry",
        unsure=None,
        careful="a listing never has both in one entry",
    ),
    Key(
        "delays.again",
        Flag(),
        "a fixed time begins anew when its cause comes again",
        unsure=None,
        careful="you are told to look where it matters",
    ),
    Key("comparisons.orders", Several(ORDERS, 1), "the comparisons that can be made"),
    Key("comparisons.of_two", Flag(), "two changing numbers can be compared", unsure=False, careful=_WITHOUT),
    Key(
        "comparisons.difference",
        Flag(),
        "the difference of two changing numbers can be compared with a fixed one",
        unsure=False,
        careful=_WITHOUT,
    ),
    Key("comparisons.rate", Flag(), "how fast a reading changes can be compared", unsure=False, careful=_WITHOUT),
    Key("comparisons.band", Flag(), "one entry can hold two thresholds", unsure=False, careful=_WITHOUT),
    Key(
        "actions.kinds",
        Several(_same("drive", "move", "limit most", "limit least"), 1),
        "set a channel to a value, add to it, keep it at most, keep it at least",
        unsure=frozenset({"drive"}),
        careful="setting a channel to a value is counted on",
    ),
    Key("actions.percent", Grid("%"), "the values that an action can be given"),
    Key("actions.ramps", Grid("%/s"), "how fast a slow change can be set to go", nothing="none"),
    Key(
        "actions.level",
        Pick(("before mixing", "after mixing")),
        "whether an action takes hold before or after the mixing",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "actions.trim",
        Pick(("before", "after")),
        "whether trims are added before an action or after it",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "actions.ends",
        Pick(("before", "after")),
        "whether reversal and end points come before an action or after it",
        unsure=None,
        careful="you are told to look",
    ),
    Key("sounds.voice", Flag(), "texts of your own can be spoken", unsure=False, careful=_WITHOUT),
    Key("sounds.tone", Flag(), "tones can be played", unsure=False, careful=_WITHOUT),
    Key("sounds.vibration", Flag(), "it can shake in your hand", unsure=False, careful=_WITHOUT),
    Key(
        "sounds.longest",
        Amount("s", Fraction(1, 10), Fraction(3600)),
        "how long a spoken text may be",
        nothing="no limit",
        unsure=None,
        careful="no limit is taken",
    ),
    Key("sounds.repeats", Grid("s"), "the pauses after which a sound can repeat itself", nothing="none"),
    Key(
        "telemetry.stale",
        Pick(("last", "zero")),
        "what is left of a reading when no more arrives",
        unsure=None,
        careful="both are proved for",
    ),
    Key(
        "telemetry.stale_after",
        Amount("s", Fraction(1, 100), Fraction(3600)),
        "how long it takes until a reading counts as lost",
        unsure=None,
        careful="the time in the rule file is taken",
    ),
    Key(
        "telemetry.height_zero",
        Pick(("power-on", "button", "sea level")),
        "where height is counted from: where it was switched on, where you said so, or sea level",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "telemetry.cell",
        Pick(("lowest", "average", "pack")),
        "what a cell voltage is: of the lowest cell, the average, or the whole pack",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "telemetry.quality",
        Pick(("%", "dB", "dBm", "number")),
        "the unit of the link quality",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "telemetry.worse",
        Pick(("smaller", "greater")),
        "which way the link quality gets worse",
        unsure=None,
        careful="you are told to look",
    ),
    Key(
        "telemetry.renamed",
        Flag(),
        "a sensor found a second time gets a new name",
        unsure=None,
        careful="then find sensors only once",
    ),
    Key(
        "periods.logic",
        Times(),
        "shortest and longest time of one pass over the entries",
        unsure=(Fraction(1, 1000), Fraction(1, 10)),
        careful="anything from 1 ms to 100 ms is proved for",
    ),
    Key(
        "periods.outputs",
        Times(),
        "the same of the channels sent out",
        nothing="as the entries",
        unsure=None,
        careful="once in each pass is taken",
    ),
    Key(
        "periods.telemetry",
        Times(),
        "the same of thresholds on telemetry",
        nothing="as the entries",
        unsure=None,
        careful="once in each pass is taken",
    ),
)

HAND: tuple[Key, ...] = (
    Key("kind", Pick(("switch", "button", "stick", "slider")), "what it is; a knob counts as a slider"),
    Key("name", Text(), "what you call it"),
    Key("places", Row(WAYS), "of a switch, its places, from one end to the other", default=()),
    Key("springs", Flag(), "it goes back by itself", default=False),
    Key("rests", Pick(WAYS), "of a switch that goes back by itself, the place to which it goes", default=None),
    Key("taken", Text(empty=True), "what it already does; empty for nothing", default=""),
    Key("serves", Text(empty=True), "what your rule files call it; empty if they do not use it", default=""),
    Key("means", Pairs(WAYS), "for each position in the rule files, which place of the switch it is", default=()),
    Key("turned", Flag(), "its numbers run the other way round", unsure=None, careful="you are told to look"),
)

THRESHOLD: tuple[Key, ...] = (
    Key("quantity", Text(), "what is measured"),
    Key("shown", Text(empty=True), "the unit on the screen"),
    Key("steps", Grid(""), "the thresholds that can be set"),
    Key("kept", Text(empty=True), "the unit that is kept inside, where it is another one", default=None),
    Key("kept_step", Amount("", Fraction(1, 10**6)), "the step in which it is kept", default=None),
)


def threshold_keys(shown: object, kept: object) -> tuple[Key, ...]:
    """The keys of a threshold that is shown and kept in these units; of one that is no unit, as if there were none."""
    units: dict[str, Codec] = {
        "steps": Grid(shown if isinstance(shown, str) and shown in UNITS else ""),
        "kept_step": Amount(kept if isinstance(kept, str) and kept in UNITS else "", Fraction(1, 10**6)),
    }
    return tuple(replace(k, codec=units[k.path]) if k.path in units else k for k in THRESHOLD)


HAS: tuple[Key, ...] = (
    Key(
        "what",
        Pick(("throttle cut", "mix", "flight phase", "mode channel", "soft start", "sound", "other")),
        "what kind of thing it is",
    ),
    Key("name", Text(), "what you call it"),
    Key("channels", Numbers(), "the channels that it acts on", default=()),
    Key("uses", Texts(), "the switches and sliders that work it", default=()),
)

LISTS: dict[str, tuple[Key, ...]] = {"threshold": THRESHOLD, "hand": HAND, "has": HAS}
"""Tables that may come several times, in the order of the file."""

LIST_HEADINGS = {
    "threshold": "thresholds: one of these for each kind of number that can be compared",
    "hand": "what your hands move: one of these for each of them",
    "has": "what the model has already: one of these for each thing",
}

SECTIONS: dict[str, str] = {
    "": "in general",
    "pulses": "servo travel",
    "room": "how many entries there are",
    "gates": "joining conditions",
    "delays": "waiting",
    "comparisons": "comparing numbers",
    "actions": "acting on channels",
    "sounds": "sounds",
    "telemetry": "telemetry",
    "periods": "how quickly it works",
}


def of_hand(name: str) -> tuple[str, ...]:
    """The keys of one of the hands that can be assumed."""
    return tuple(f"hand.{name}.{part}" for part in ("kind", "springs", "taken", "turned"))


BY_PATH: dict[str, Key] = {k.path: k for k in KEYS}

_PER_SECOND = UNITS["m/s"].dimension

QUANTITIES: dict[str, tuple[Dimension, ...]] = {
    "height": (LENGTH,),
    "voltage": (UNITS["V"].dimension,),
    "current": (UNITS["A"].dimension,),
    "power": (UNITS["W"].dimension,),
    "speed": (_PER_SECOND,),
    "capacity": (UNITS["mAh"].dimension,),
    "rate": (_PER_SECOND, UNITS["V/s"].dimension, UNITS["%/s"].dimension, UNITS["deg/s"].dimension),
    "link quality": (UNITS["%"].dimension, UNITS["dB"].dimension, UNITS["dBm"].dimension, ()),
    "percent": (UNITS["%"].dimension,),
    "time": (UNITS["s"].dimension,),
    "angle": (UNITS["deg"].dimension,),
    "temperature": (UNITS["degC"].dimension,),
    "revolutions": (UNITS["rpm"].dimension,),
    "number": ((),),
}
"""What a threshold can be of, and the dimensions that it is shown in."""
