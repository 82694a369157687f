"""What is proved and what is not, and the facts that a proof stands on."""

from fractions import Fraction
from typing import Literal, assert_never

from latchproof.listing import amounts
from latchproof.listing.model import FactLine, Promise
from latchproof.listing.plain import word
from latchproof.listing.settings import standing
from latchproof.machine.allowance import longest_time
from latchproof.prove.verdicts import Answer, Verdict
from latchproof.rules.model import Basis, Can, Reads, RuleSet, Sensor
from latchproof.rules.units import UNITS
from latchproof.rules.words import per_second

GUESSED = "ASSUMED of your transmitter"
READS: dict[Reads, str] = {
    "this cycle": "an entry reads this pass's state of the entries above it",
    "last cycle": "an entry reads the last pass's state of every other entry",
    "listed order": "an entry reads this pass's state of the entries above it, the last pass's of those below",
    "unknown order": "whatever the order in which entries read one another, it is the same in every pass",
}


def _device(rules: RuleSet) -> tuple[FactLine, ...]:
    """What is taken for granted of the transmitter: what the file says, else the usual."""
    device, bases = rules.device, dict(rules.device.bases)

    def line(text: str, clause: str) -> FactLine:
        return FactLine(text, GUESSED if clause not in bases else standing(bases[clause]))

    lines = [line(READS[device.reads], "device_reads")]
    if device.starts == "reset":
        lines.append(line("every memory and time is at its start state after switching on", "starts"))
    if device.pulse is not None:
        lasts = amounts.quantity(device.pulse.seconds, UNITS["s"])
        lines.append(line(f"its start signal is true for {lasts} after switching on", "gives"))
    if device.no_frame_before is not None:
        first = amounts.quantity(device.no_frame_before, UNITS["s"])
        lines.append(line(f"no reading arrives in the first {first} after switching on", "first_frame"))
    return (*lines, FactLine("an action on a channel comes after trims, rates and mixes", GUESSED))


def promises(rules: RuleSet, verdicts: tuple[Verdict, ...] | None) -> tuple[Promise, ...]:
    answers = {v.claim: v.answer for v in verdicts or ()}
    late = {v.claim: _late(v, rules) for v in verdicts or ()}
    found = [
        Promise(
            word(c.name), (c.sentence or c.text) + late.get(c.name, ""), _state(answers.pop(c.name, None)),
            bool(c.sentence), isinstance(c.form, Can),
        )
        for c in rules.claims
    ]  # fmt: skip
    return (*found, *(Promise(word(name), _unwritten(name), _state(answer)) for name, answer in answers.items()))


def _late(verdict: Verdict, rules: RuleSet) -> str:
    """By how much a promise may be late, if it is proved with an allowance."""
    if verdict.answer != "proved" or not verdict.allowance:
        return ""
    return f" (up to {amounts.quantity(longest_time(verdict.allowance, rules), UNITS['ms'])} late)"


def _state(answer: Answer | None) -> Literal["proved", "FAILS", "not decided", "not checked"]:
    match answer:
        case "proved":
            return "proved"
        case "refuted":
            return "FAILS"
        case "unknown":
            return "not decided"
        case None:
            return "not checked"
        case _:
            assert_never(answer)


def _unwritten(name: str) -> str:
    """The promises that nobody wrote: two rules never pull at one channel."""
    match name.split("."):
        case ["one_driver", channel, *others]:
            return f"{' and '.join(word(o) for o in others)} never pull at {word(channel)} at the same time"
        case ["glitch", *latch]:
            return f"entries that read one another late do not set {word('.'.join(latch))} by a glitch"
        case _:
            return "a promise that every rule set makes"


def state(rules: RuleSet, verdicts: tuple[Verdict, ...] | None) -> str:
    found = promises(rules, verdicts)
    count = {s: sum(p.state == s for p in found) for s in ("proved", "FAILS", "not decided", "not checked")}
    if verdicts is None:
        many = f"none of its {len(found)} promises has" if len(found) > 1 else "its one promise has not"
        what = f"{many} been checked" if found else "it makes no promises"
        return f"NOT PROVED YET: {what}. Do not fly it like this."
    if not found:
        return "NOTHING PROVED: these rules make no promises. Do not fly them like this."
    said = [f"{n} {s}" for s, n in count.items() if n]
    if count["proved"] == len(found):
        return f"All {len(found)} promises are proved." if len(found) > 1 else "Its one promise is proved."
    return f"NOT ALL PROVED: {', '.join(said)}. Do not fly it like this."


def facts(rules: RuleSet, verdicts: tuple[Verdict, ...] | None) -> tuple[FactLine, ...]:
    """Without verdicts: everything the file states, which a proof would stand on."""
    if verdicts is None:
        found = _all_facts(rules)
    else:
        found = [(f.subject, f.what, f.basis) for v in verdicts for f in v.assumed]
    unique = dict.fromkeys(found)
    lines = [FactLine(text, standing(basis)) for s, w, basis in unique if (text := _text(rules, s, w))]
    return (*dict.fromkeys(lines), *_device(rules))


def _all_facts(rules: RuleSet) -> list[tuple[str, str, Basis | None]]:
    found: list[tuple[str, str, Basis | None]] = [("cycle", "cycle", rules.cycle.basis)]
    for s in rules.sensors:
        bases = dict(s.bases)
        stated = {
            "frame_every": s.frame_every, "step": s.step, "error": s.error or None, "lag": s.lag or None,
            "changes": s.change,
        }  # fmt: skip
        if s.stale_after is not None:
            stated |= {"keeps_value" if s.stale_reads is None else "reads_value": Fraction(1)}
        found += [(s.name, what, bases.get(what)) for what, value in stated.items() if value is not None]
    found += [(f.name, "fact", f.basis) for f in rules.facts]
    return found + [(a.name, "assumption", a.basis) for a in rules.assumptions]


def _text(rules: RuleSet, subject: str, what: str) -> str:
    if what == "cycle":
        c = rules.cycle
        low, high = (amounts.quantity(t, UNITS["ms"]) for t in (c.shortest, c.longest))
        return f"one pass of the transmitter takes {low} to {high}"
    if what == "fact":
        f = next(f for f in rules.facts if f.name == subject)
        span = amounts.quantity(f.low, f.unit)
        return f"{word(subject)} is {span}" + (f" to {amounts.quantity(f.high, f.unit)}" if f.low != f.high else "")
    if what == "assumption":
        a = next(a for a in rules.assumptions if a.name == subject)
        return a.sentence or a.text
    sensor = next((s for s in rules.sensors if s.name == subject), None)
    return "" if sensor is None else _of_sensor(sensor, what)


def _of_sensor(s: Sensor, what: str) -> str:
    name, unit = word(s.name), s.unit
    match what:
        case "reads":
            return f"{name} shows {amounts.quantity(s.low, unit)} to {amounts.quantity(s.high, unit)}"
        case "stale_after" if s.stale_after is not None:
            return f"{name} is stale {amounts.quantity(s.stale_after, UNITS['s'])} after its last reading"
        case "keeps_value":
            return f"a stale {name} keeps its last value"
        case "reads_value" if s.stale_reads is not None:
            return f"a stale {name} reads {amounts.quantity(s.stale_reads, unit)}"
        case "frame_every" if s.frame_every is not None:
            return f"a reading of {name} at least every {amounts.quantity(s.frame_every, UNITS['s'])}"
        case "error":
            return f"{name} is wrong by at most {amounts.quantity(s.error, unit)}"
        case "step" if s.step is not None:
            return f"{name} is shown in steps of {amounts.quantity(s.step, unit)}"
        case "lag":
            return f"{name} is shown at most {amounts.quantity(s.lag, UNITS['s'])} late"
        case "changes" if s.change is not None:
            slow, fast = (amounts.quantity(c, per_second(unit)) for c in s.change)
            return f"the true {name} changes by {slow} to {fast}"
        case _:
            return ""
