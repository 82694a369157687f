"""Entries for what has a name: latches, counters, samples, phases of sequences, values, signals."""

from latchproof.listing import plain
from latchproof.listing.desk import Desk, reading_itself
from latchproof.listing.draft import Draft, DraftField, Link, Text, choice, state
from latchproof.listing.numbers import calculation, duration, shown
from latchproof.listing.signals import entry, operand
from latchproof.rules.model import Counter, Latch, Phase, Sample, Sequence, Timeout

SET, RESET = "set wins", "reset wins"
THEN_NEXT = "the next phase"
THEN_NOTHING = "nothing is active until the sequence has been off"
THEN_STAYS = "nothing: it stays until the sequence is off"


def named(desk: Desk, name: str) -> None:
    """Drafts the entry of a name that was asked for."""
    if name in desk.latches:
        _latch(desk, reading_itself(desk.latches[name], name))
    elif name in desk.counters:
        _counter(desk, reading_itself(desk.counters[name], name))
    elif name in desk.n.samples:
        _sample(desk, reading_itself(desk.n.samples[name], name))
    elif name in desk.n.values:
        value = desk.n.values[name].value
        calculation(desk, name, value, "", name)
    elif name in desk.phases:
        sequence, _, _ = desk.phases[name]
        for i, phase in enumerate(sequence.phases):
            desk.want(f"{sequence.name}.{phase.name}")
            if f"{sequence.name}.{phase.name}" == name:
                _phase(desk, sequence, i)
    else:
        key = entry(desk, reading_itself(desk.conditions[name], name), f"gives {plain.word(name)}", name)
        desk.alias[name] = key


def _latch(desk: Desk, x: Latch) -> None:
    called = plain.word(x.name)
    draft = desk.put(
        Draft(x.name, "latch", "latch (set and reset)", ("stays on once set, until it is reset",), names=[x.name])
    )
    fields: list[DraftField] = []
    for i, s in enumerate(x.sets):
        fields.append(state("or set when" if i else "set when", operand(desk, s, f"sets {called}")))
    for i, s in enumerate(x.resets):
        fields.append(state("or reset when" if i else "reset when", operand(desk, s, f"resets {called}")))
    if not x.resets:
        fields.append(state("reset when", ("never",)))
    fields.append(choice("both at once", *((SET, RESET) if x.set_wins else (RESET, SET))))
    if x.timeout is None:
        fields += [
            DraftField("time-out", ("none",), words=("it may stay on for ever",), kind="time-out"),
            DraftField("lock-out", ("none",), kind="lock-out"),
        ]
    else:
        fields += _timeout(desk, x.name, called, x.timeout)
    draft.fields = fields
    draft.start = "off"


def _timeout(desk: Desk, name: str, called: str, x: Timeout) -> list[DraftField]:
    """The time-out and the lock-out get entries of their own; what the latch itself then says."""
    out, lock = f"@time-out {name}", f"@lock-out {name}"
    lasts = duration(desk, x.duration, f"the time-out of {called}")
    draft = desk.put(Draft(out, "latch", "time-out of a latch", (f"ends {called} when it has been on too long",)))
    draft.fields = [
        state("watch", (Link(name, "true", "earlier", 1),)),
        lasts.field("true when on for", "time", "", ("counted from the pass in which the latch became true",)),
        choice("true for", "that one pass"),
    ]
    draft.start = "false, its time at zero"
    fields = [
        DraftField("time-out", ("reset by ", Link(out, "true")), words=("which wins even over set",), kind="time-out")
    ]
    if x.blocked_until is None and x.blocked_for is None:
        again = ("it may be set again in the next pass",)
        return [*fields, DraftField("lock-out", ("none",), words=again, kind="lock-out")]
    blocker = desk.put(
        Draft(lock, "latch", "lock-out of a latch", (f"keeps {called} from being set again after a time-out",))
    )
    blocker.fields = [state("set when", (Link(out, "true"),))]
    if x.blocked_until is not None:
        blocker.fields += [
            state("reset when", operand(desk, x.blocked_until, f"ends the lock-out of {called}")),
            choice("both at once", SET, RESET),
        ]
    elif x.blocked_for is not None:
        time = duration(desk, x.blocked_for, f"the lock-out of {called}")
        blocker.fields.append(time.field("ends by itself after", "time", "", ("counted from the time-out",)))
    blocker.start = "off"
    return [*fields, DraftField("lock-out", ("set counts for nothing while ", Link(lock, "true")), kind="lock-out")]


def _counter(desk: Desk, x: Counter) -> None:
    called = plain.word(x.name)
    draft = desk.put(Draft(x.name, "counter", "counter", ("counts how often its input becomes true",), names=[x.name]))
    fields = [
        state(
            "counts", operand(desk, x.counts, f"is counted by {called}"), words=("one more each time it becomes true",)
        )
    ]
    for i, s in enumerate(x.clears):
        fields.append(
            state(
                "or back to 0 when" if i else "back to 0 when",
                operand(desk, s, f"clears {called}"),
                words=("as long as this is true it stays 0",),
            )
        )
    if not x.clears:
        fields.append(state("back to 0 when", ("never",)))
    fields.append(DraftField("at most", (str(x.limit),), words=("then it counts no further",), kind="count"))
    draft.fields, draft.start = fields, "0"


def _sample(desk: Desk, x: Sample) -> None:
    called = plain.word(x.name)
    draft = desk.put(Draft(x.name, "sample", "kept value (sample)", ("takes a value and keeps it",), names=[x.name]))
    value, first = (
        shown(desk, x.value, f"the value that {called} takes"),
        shown(desk, x.first, f"what {called} is at first", x.unit),
    )
    draft.fields = [
        value.field("takes", "number"),
        state("in each pass with", operand(desk, x.when, f"makes {called} take its value")),
        first.field("before that", "number"),
    ]
    draft.start = 'as entered for "before that"'


def _phase(desk: Desk, s: Sequence, i: int) -> None:
    phase, called = s.phases[i], plain.word(s.name)
    key = f"{s.name}.{phase.name}"
    draft = desk.put(
        Draft(
            key, "sequence", f"phase {i + 1} of {len(s.phases)} of a sequence", (f"one step of {called}",), names=[key]
        )
    )
    running = operand(desk, s.condition, f"runs {called}")
    if i == 0:
        begins: Text = ("in the pass in which this becomes true: ", *running)
        how = ""
    else:
        before = s.phases[i - 1]
        ended = " comes to its end by itself"
        begins, how = ("in the pass in which ", Link(f"{s.name}.{before.name}", "value"), ended), _end_in_words(before)
    draft.fields = [
        DraftField("begins", begins, words=(how,) if how else (), kind="phase begins"),
        _end(desk, s, phase, called),
        state("stops at once when", operand(desk, s.condition, f"runs {called}", False)),
    ]
    last = i + 1 == len(s.phases)
    after = THEN_NOTHING if last else THEN_NEXT
    if last and phase.lasts is None and phase.until is None:
        after = THEN_STAYS
    draft.fields.append(choice("then", after, words=("at most one step in a pass",)))
    draft.start = "false"


def _end_in_words(p: Phase) -> str:
    return "its time is over" if p.lasts is not None else "its end has come"


def _end(desk: Desk, s: Sequence, p: Phase, called: str) -> DraftField:
    itself = f"{s.name}.{p.name}"
    if p.lasts is not None:
        return duration(desk, p.lasts, f"the length of phase {plain.word(p.name)} of {called}").field(
            "ends", "phase ends", "after ", ("counted from the pass in which it began",)
        )
    if p.until is not None:
        ends = operand(desk, reading_itself(p.until, itself), f"ends phase {plain.word(p.name)} of {called}")
        begun = ("from the pass after the one in which it began",)
        return DraftField("ends", ("when ", *ends), words=begun, kind="phase ends")
    return DraftField("ends", ("never of itself",), kind="phase ends")
