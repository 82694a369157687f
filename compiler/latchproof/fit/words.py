"""Roundings, changes and misfits in sentences that a pilot understands."""

from fractions import Fraction
from typing import assert_never

from latchproof.fit.model import Change, Misfit, Reason, Rounding
from latchproof.rules.model import Reads
from latchproof.rules.units import Unit
from latchproof.rules.words import shown

_REASONS: dict[Reason, str] = {
    "acts rather than not": "so that the rule acts rather sooner or longer",
    "never more": "so that it is never more",
    "never less": "so that it is never less",
    "required": "because a `require` of the rule file asks for it",
    "no safe direction known": "to the nearest; no side is known to be the safer one",
    "needed both ways": "to the nearest; one use of it would be safer up, another one down, so it has no safe side",
    "the end of what can be entered": "because nothing lies on the other side",
    "else always the same": "because on the other side it would hold always, or never",
    "middle of a fact": "the middle of a fact that is not known exactly",
    "else nothing": "because on the other side nothing would be left of it",
}


def rounding(x: Rounding) -> str:
    """`floor: 42 m cannot be entered; 140 ft is, and the transmitter then works with 43 m ...`."""
    typed = shown(x.entered, x.unit)
    works = "" if x.kept == x.entered else f", and the transmitter then works with {_in_other(x)}"
    way = "" if x.way == "nearest" or x.reason == "middle of a fact" else f"rounded {x.way} "
    return f"{x.where}: {_wanted(x)} becomes {typed}{works}; {way}{_REASONS[x.reason]}"


def _wanted(x: Rounding) -> str:
    return shown(x.wanted, x.written)


def _in_other(x: Rounding) -> str:
    return shown(x.kept, x.works)


def change(x: Change, reads: Reads = "this cycle") -> str:
    """`reads`: how entries read one another on this transmitter."""
    where = f"{x.where}: " if x.where else ""
    return where + _changed(x) + _late(x, reads)


def _late(x: Change, reads: Reads) -> str:
    if reads == "this cycle" or not x.late:
        return ""
    if x.kind in ("latch", "time-out"):
        # each of two gates in a ring reads the other one pass late, so that the ring remembers two things by turns
        return (
            "; where entries read one pass late, a ring of gates keeps only what lasts for two passes at least,"
            " and flickers otherwise: what is promised has to be proved of it there"
        )
    return "; where entries read one pass late, this is later"


def _changed(x: Change) -> str:
    match x.kind:
        case "wide gate":
            return f"a gate of {x.much} inputs is made of several, since one takes fewer"
        case "no any":
            return "an `or` is made of an `and` of opposites, since there is no gate for it"
        case "no all":
            return "an `and` is made of an `or` of opposites, since there is no gate for it"
        case "no one":
            return "`exactly_one` is made of `and` and `or`, since there is no gate for it"
        case "no inversion":
            return "an opposite gets a gate of its own, since an input cannot be taken as its opposite"
        case "edge":
            return "true for one pass: made of a gate that reads the pass before"
        case "band":
            return "two thresholds: made of two comparisons and something that remembers"
        case "order":
            return "a comparison that does not exist is made of its opposite"
        case "two numbers":
            return "two numbers are compared as their difference with 0"
        case "spare channel":
            return "a difference is worked out by a mix on a channel to spare; leave nothing plugged in there"
        case "zero delay":
            return "a delay of no time is left out"
        case "cycles":
            return f"a time of {_passes(x.much)} is made of gates that read passes before"
        case "no off-delay":
            return "a delay before false is made of one before true and a memory of having been on"
        case "no pulse":
            return "a pulse is made of two delays before true that take turns"
        case "pulse again":
            return "the cause of a pulse is held back while it runs, since it would begin anew"
        case "latch":
            return "a latch is made of gates of which one reads the pass before"
        case "time-out":
            return "a latch with a time-out is made of gates and two delays that take turns"
        case "sequence":
            return "a sequence is taken apart: every phase has its own entry, delay and actions"
        case "limit":
            return "a limit is made of a drive to what would be left of the value"
        case "move":
            return "a move is made of a drive to the value with the amount added"
        case "solved":
            return "compared as what it is worked out from, with the number worked out instead"
        case "counter":
            return f"a counter is made of {x.much} latches that come on one after the other"
        case "channel state":
            return "who has a channel is told by what makes the rules act on it"
        case "mirror":
            return "to be seen one pass late it is repeated by a gate; that one stands below what reads it"
        case "merged":
            return "gates one behind the other are made one"
        case _:
            assert_never(x.kind)


def _passes(count: int) -> str:
    return "one pass" if count == 1 else f"{count} passes"


def misfit(x: Misfit) -> str:
    """What is missing, and what would help."""
    said = _missing(x)
    if x.proposed and x.kind in ("require", "tune out of range"):
        said += f"; these values would do: {_values(x.proposed)}"
    elif x.proposed:
        said += f"; the nearest is {_numbers(x.proposed)}"
    if x.helps:
        said += f". What would help: {'; '.join(x.helps)}"
    return said


def _values(several: tuple[tuple[str, Fraction, Unit], ...]) -> str:
    return ", ".join(f"{name} {shown(value, unit)}" for name, value, unit in several)


def _numbers(several: tuple[tuple[str, Fraction, Unit], ...]) -> str:
    return ", ".join(shown(value, unit) for _, value, unit in several)


_THRESHOLDS: dict[str, str] = {
    "height": "heights are", "voltage": "voltages are", "current": "currents are", "power": "powers are",
    "speed": "speeds are", "capacity": "capacities are", "rate": "a rate of change is", "percent": "percentages are",
    "link quality": "a link quality is", "time": "a time is compared, how it is", "angle": "angles are",
    "temperature": "temperatures are", "revolutions": "revolutions are", "number": "plain numbers are",
}  # fmt: skip


def _missing(x: Misfit) -> str:
    where = f"{x.where}: " if x.where else ""
    match x.kind:
        case "threshold unknown":
            what = _THRESHOLDS.get(x.needs, f"such a number ({x.needs}) is")
            return f"{where}your description does not say how {what} entered"
        case "out of reach":
            wanted, low, high = (shown(value, unit) for _, value, unit in x.values)
            return f"{where}{wanted} cannot be entered; the field goes from {low} to {high}"
        case "tune out of range":
            value, low, high = (shown(value, unit) for _, value, unit in x.values)
            return f"{where}no number that can be entered beside {value} lies in its range from {low} to {high}"
        case "require":
            return f"at the numbers that can be entered ({_values(x.values)}) this does not hold: {x.where}"
        case "no gate":
            has = f"; there are gates of the kind {x.has}" if x.has else ""
            return f"{where}it takes {_gate(x.needs)}, and there is no way to make one{has}"
        case "no inversion":
            return f"{where}it takes the opposite of an input, and no gate can make it"
        case "no delay":
            has = f"; the delays there are: {_delays(x.has)}" if x.has else "; there are no delays"
            return f"{where}it takes {_delay(x.needs)}, which cannot be made exactly of anything else{has}"
        case "delay in cycles":
            return f"{where}{x.needs} is counted in passes, and only seconds can be entered"
        case "no latch":
            return f"{where}it takes a latch, and there is none"
        case "time-out":
            return f"{where}without latches {x.needs} cannot be made exactly"
        case "no counter":
            return f"{where}it takes a counter, and there is none"
        case "no kept value":
            return f"{where}it takes an entry that keeps a value, and there is none"
        case "no calculation":
            return f"{where}it takes a calculation, and there is none"
        case "no rate":
            return f"{where}a rate of change cannot be compared"
        case "no comparison":
            return f"{where}it takes the comparison `{_order(x.needs)}`; there is only {_orders(x.has)}"
        case "no action":
            return (
                f"{where}it takes a `{x.needs}`, which cannot be made exactly of what acts there: {x.has or 'nothing'}"
            )
        case "no ramp":
            return f"{where}it takes a ramp, and there are none"
        case "no repeat":
            return f"{where}a sound is not repeated by itself"
        case "no sound":
            has = f"; there is {x.has}" if x.has else "; there is no sound at all"
            return f"{where}it takes a {x.needs}{has}"
        case "no order":
            return f"{where}it takes an entry that reads one further down the list, and none can"
        case "fact with a span":
            return f"{where}`{x.needs}` hangs on a fact that is not known exactly; no entry can hold that"
        case "too many":
            entries = "entry is" if x.needs == "1" else "entries are"
            return f"{x.needs} {entries} needed, the list has room for {x.has}: {x.where}"
        case "varying time":
            return f"{where}a time that changes in flight cannot be entered"
        case "no channel state":
            return f"{where}nothing can tell whether `{x.needs}`, since it is handed back slowly"
        case "not percent":
            return f"{where}a value for it is entered in percent, and the rule file gives another unit"
        case _:
            assert_never(x.kind)


_ORDERS: dict[str, str] = {
    "<": "is below", "<=": "is at most", ">": "is above", ">=": "is at least", "==": "is equal to",
}  # fmt: skip


def _order(sign: str) -> str:
    return _ORDERS.get(sign, sign)


def _orders(signs: str) -> str:
    return ", ".join(f"`{_order(s)}`" for s in signs.split(", ") if s) or "none"


_DELAYS: dict[str, str] = {"on": "a delay before true", "off": "a delay before false", "pulse": "a pulse"}


def _delay(kind: str) -> str:
    return _DELAYS.get(kind, f"a delay before true, since {kind}")


def _delays(kinds: str) -> str:
    return ", ".join(_DELAYS.get(k, k) for k in kinds.split(", "))


_GATES: dict[str, str] = {"any": "an `or`", "all": "an `and`", "one": "an `exactly_one`"}


def _gate(kind: str) -> str:
    return _GATES.get(kind, kind)
