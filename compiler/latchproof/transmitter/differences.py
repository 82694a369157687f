"""Where the rule file takes the device for something else than its description says."""

from collections.abc import Iterator
from fractions import Fraction

from latchproof.hazards.causes import inside
from latchproof.rules.expressions import Timed
from latchproof.rules.model import Announce, RuleSet, Sensor
from latchproof.rules.units import LENGTH, UNITS
from latchproof.rules.words import shown
from latchproof.transmitter.codecs import time
from latchproof.transmitter.finding import Finding, acting, word
from latchproof.transmitter.model import Transmitter

PROVED = "the listing is proved as the description says"

_READS = {
    "this cycle": "this cycle's values",
    "last cycle": "the last cycle's values",
    "listed order": "in the order of the list",
    "unknown order": "in any order",
}


def differences(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    for sensor in rules.sensors:
        yield from _stale(t, sensor)
        yield from _meaning(t, sensor)
    yield from _device(t, rules)
    yield from _periods(t, rules)
    yield from _level(t, rules)
    yield from _pulses(t, rules)


def _stale(t: Transmitter, s: Sensor) -> Iterator[Finding]:
    name = word(s.name)
    assumed = "its last value" if s.stale_reads is None else shown(s.stale_reads, s.unit)
    look = f"switch the model off, propeller off, and look what {name} shows then"
    match t.telemetry.stale:
        case None:
            text = f"nobody knows what {name} reads once it is lost; both are proved for, the rules take {assumed}"
            yield Finding("stale reading", "look", (s.name,), text, look)
        case "last" if s.stale_reads is not None:
            text = f"the rules take {assumed} for a lost {name}, but here it keeps its last value"
            yield Finding("stale reading", "unlike", (s.name,), text, f"write once stale keeps value; {PROVED}")
        case "zero" if s.stale_after is None and t.telemetry.stale_after is None:
            text = f"a lost {name} drops to zero, nobody knows when, and the rules do not look at it"
            do = f"write stale after in sensor {s.name}, and require {name} is fresh where a low reading acts"
            yield Finding("stale reading", "unlike", (s.name,), text, do)
        case "zero" if s.stale_reads != 0:
            text = f"the rules take {assumed} for a lost {name}, but here it reads zero"
            zero = shown(Fraction(0), s.unit)
            yield Finding("stale reading", "unlike", (s.name,), text, f"write once stale reads {zero}; {PROVED}")
        case _:
            pass
    mine, theirs = s.stale_after, t.telemetry.stale_after
    if mine is not None and theirs is not None and mine != theirs:
        text = f"the rules take {name} for lost after {time(mine)}, this transmitter after {time(theirs)}"
        do = f"write stale after {time(theirs)} in sensor {s.name}, or set {time(mine)} where that can be set"
        yield Finding("stale after", "unlike", (s.name,), text, do)


def _meaning(t: Transmitter, s: Sensor) -> Iterator[Finding]:
    """Whether the number means what the rules take it for."""
    name, telemetry = word(s.name), t.telemetry
    if s.unit.dimension == LENGTH:
        match telemetry.height_zero:
            case None:
                text = f"nobody knows where {name} is counted from"
                do = "switch the model off and on again up a flight of stairs, and look whether it begins at zero there"
                yield Finding("height zero", "look", (s.name,), text, do)
            case "button":
                text = f"{name} is counted from where you told it to be zero"
                do = "set it to zero before every flight, at the height of the runway"
                yield Finding("height zero", "look", (s.name,), text, do)
            case "sea level":
                text = f"{name} is counted from sea level, not from the runway"
                do = "take a sensor that is counted from the ground, or add the height of the site to every height"
                yield Finding("height zero", "unlike", (s.name,), text, do)
            case "power-on":
                pass
    if s.unit.dimension == UNITS["V"].dimension and telemetry.cell != "lowest":
        says = {None: "a cell, nobody knows which", "average": "the average of all cells", "pack": "the whole pack"}
        text = f"if {name} is a cell voltage, on this transmitter it is that of {says[telemetry.cell]}"
        do = "compare it with a meter at the balance plug; one weak cell hides in an average and in a pack"
        yield Finding("cell", "look", (s.name,), text, do)
    if telemetry.quality is None and (s.unit.symbol in ("dB", "dBm") or "quality" in s.name):
        text = f"nobody knows in what this transmitter shows the quality of the link, which {name} may be"
        yield Finding(
            "link quality",
            "look",
            (s.name,),
            text,
            f"look at its unit, which the rules take for {s.unit.symbol or 'none'}",
        )
    in_words = s.unit.symbol or "number"
    if s.unit.symbol in ("dB", "dBm") and telemetry.quality not in (None, in_words):
        text = f"the rules take {name} in {in_words}, this transmitter shows link quality in {telemetry.quality}"
        yield Finding("link quality", "stops", (s.name,), text, f"write sensor {s.name} in {telemetry.quality}")
    if (
        telemetry.worse is None
        and telemetry.quality is not None
        and (s.unit.symbol in ("dB", "dBm") or "quality" in s.name)
    ):
        text = f"nobody knows which way {name} goes when the link gets worse"
        yield Finding("link quality", "look", (s.name,), text, "walk away with the transmitter and watch the number")
    if telemetry.worse == "greater" and (s.unit.symbol in ("dB", "dBm") or "quality" in s.name):
        text = f"link quality gets worse as its number grows, on this transmitter; {name} may be that number"
        yield Finding(
            "link quality", "unlike", (s.name,), text, f"look whether each threshold on {name} is the right way"
        )


def _device(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    mine = rules.device
    if mine.span is not None and mine.reads != t.reads:  # without a section the file claims nothing
        here = "how they do here is not known" if "reads" in t.unknown else f"here they read {_READS[t.reads]}"
        text = f"the rules take it that entries read {_READS[mine.reads]}; {here}"
        yield Finding("reads", "unlike", (), text, f"{PROVED}; write the same into the device section of the rules")
    if mine.starts == "reset" and t.starts == "any":
        unknown = "starts" in t.unknown
        text = f"memories {'may hold' if unknown else 'hold'} anything at power-up here; the rules take them for reset"
        yield Finding("starts", "unlike", (), text, f"{PROVED}; the rules may need a reset at the start")
    if mine.pulse is not None:
        name = word(mine.pulse.name)
        if t.pulse is None:
            text = f"the rules count on a start signal, {name}, and this transmitter has none that is known"
            do = f"find one (a timer that starts with the transmitter will do) or do without {name}"
            yield Finding("start signal", "stops", (mine.pulse.name,), text, do)
        elif t.pulse != mine.pulse.seconds:
            text = f"{name} is on for {time(t.pulse)} here, and for {time(mine.pulse.seconds)} in the rules"
            yield Finding("start signal", "unlike", (mine.pulse.name,), text, PROVED)
    if mine.no_frame_before is not None and (t.no_frame_before or Fraction(0)) < mine.no_frame_before:
        here = "at once" if t.no_frame_before is None else f"after {time(t.no_frame_before)}"
        text = (
            f"telemetry may arrive {here} here; the rules take it that none comes before {time(mine.no_frame_before)}"
        )
        yield Finding("first frame", "unlike", (), text, PROVED)


def _periods(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    shortest, longest = t.periods.logic
    cycle = rules.cycle
    if cycle.declared and (shortest < cycle.shortest or longest > cycle.longest):
        here, there = f"{time(shortest)} to {time(longest)}", f"{time(cycle.shortest)} to {time(cycle.longest)}"
        text = f"one pass over the entries takes {here} here; the rules take it for {there}"
        yield Finding("cycle", "unlike", (), text, f"{PROVED}; write cycle from {here}")
    slow = t.periods.outputs
    if slow is not None and slow[1] > longest:
        text = f"channels are sent out every {time(slow[0])} to {time(slow[1])}, less often than entries are worked out"
        do = f"count on every action reaching the model up to {time(slow[1])} later than was proved"
        yield Finding("outputs", "look", (), text, do)
    late = t.periods.telemetry
    if late is not None and late[1] > longest and rules.sensors:
        names = tuple(s.name for s in rules.sensors)
        text = f"thresholds on telemetry are looked at only every {time(late[0])} to {time(late[1])}"
        do = f"write lag {time(late[1])} into the sensors of the rules, and add it to the times that they count on"
        yield Finding("telemetry period", "unlike", names, text, do)


def _level(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    """A value that the rules give a channel is what they take the servo to get."""
    if not any(not isinstance(a, Announce) for _, actions in acting(rules) for a in actions):
        return
    try_it = "make one action by hand, move sticks and trims, and look at the channel display, propeller off"
    for key, value, right, text in (
        ("actions.level", t.actions.level, "after mixing", "actions take hold before the mixing"),
        ("actions.trim", t.actions.trim, "before", "trims are added after an action"),
        ("actions.ends", t.actions.ends, "after", "reversal and end points come before an action"),
    ):
        if value is None:
            yield Finding("level", "look", (), f"nobody knows whether {text}; the rules take it that not", try_it)
        elif value != right:
            yield Finding("level", "unlike", (), f"{text} here; the rules take it that not ({key})", try_it)


def _pulses(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    """In the language a pulse neither begins anew nor lasts longer when its cause comes again."""
    if not any(isinstance(x, Timed) and x.kind == "pulsed" for x in inside(rules)):
        return
    if t.delays.again is None:
        text = "nobody knows whether a pulse begins anew when its cause comes again; the rules take it that it does not"
        do = "set one to 5 s, flick the switch, and again after 4 s; it must be over 5 s after the first"
        yield Finding("pulse", "look", (), text, do)
    elif t.delays.again:
        text = "a pulse begins anew here when its cause comes again; in the rules it does not"
        do = "write a latch with a timeout in its place, which is the same on every transmitter"
        yield Finding("pulse", "stops", (), text, do)
