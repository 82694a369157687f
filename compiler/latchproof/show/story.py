"""A story as text: a table whose rows are moments, and one plain sentence at its end."""

from collections.abc import Iterator
from typing import assert_never

from latchproof.machine.model import Fight, Glitch, Unwritten
from latchproof.prove.ending import Ending
from latchproof.prove.moments import Event, Row
from latchproof.prove.story import Story
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Always,
    Announce,
    Before,
    Can,
    Claim,
    Control,
    Latch,
    LengthOf,
    Never,
    QuietAfter,
    Rule,
    RuleSet,
    StartsAtMost,
    StepOf,
    Whenever,
)  # fmt: skip
from latchproof.rules.units import UNITS
from latchproof.show import device
from latchproof.show.phrases import SPEAKS, bare, joined, phrase
from latchproof.show.quantities import apart, quantity, seconds
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import beside, listed, paragraph
from latchproof.show.visible import visible, width
from latchproof.show.wording import Wording

HEADS = ("time", "you and the air", "the rules")
INDENT = "  "


def render(story: Story, rules: RuleSet, style: Style = PLAIN) -> str:
    """The table and the sentence, without a line break at the end."""
    w = Wording.of(rules)
    lines = [
        INDENT + line
        for said in device.told(rules.device, story.late, story.begun, w)
        for line in paragraph(f"{visible(said)}:", style.width - len(INDENT), rest="  ")
    ]
    lines += rows(story.rows, w, style, gap=(story.gap, story.left_out))
    said = visible(sentence(story, w))
    lead = "done here: " if story.claim is not None and isinstance(story.claim.form, Can) else "broken here: "
    closing = paragraph(f"{lead}{said}.", style.width - len(INDENT), rest="    ")
    role: Role = "good" if lead.startswith("done") else "error"
    closing[0] = style.paint(lead.rstrip(), role) + closing[0][len(lead) - 1 :]
    return "\n".join([*lines, *(INDENT + line for line in closing)])


def rows(told: tuple[Row, ...], w: Wording, style: Style, gap: tuple[int, int] = (0, 0)) -> Iterator[str]:
    """The table: time, what you and the air did, what the rules did."""
    cells = [_cells(row, w) for row in told]
    times = max([width(HEADS[0]), *(width(time) for time, _, _ in cells)])
    free = style.width - len(INDENT) - times - 4
    middle = free // 2
    widths = (times, middle, free - middle)
    for head in beside([[h] for h in HEADS], widths):
        yield INDENT + style.paint(head, "strong")
    yield INDENT + "  ".join("-" * n for n in widths)
    for n, (time, world, ruled) in enumerate(cells):
        if gap[1] and n == gap[0]:
            yield f"{INDENT}... ({gap[1]} moments are left out here)"
        if told[n].opens:
            world = ["(the promise counts from here)", *world]
        for line in beside([[time], listed(world, middle), listed(ruled, free - middle)], widths):
            yield INDENT + line


def _cells(row: Row, w: Wording) -> tuple[str, list[str], list[str]]:
    world = [visible(event(x, w, first=row.cycle == 0)) for x in row.world]
    ruled = [visible(event(x, w, first=row.cycle == 0)) for x in row.rules]
    return seconds(row.time), world, ruled


def event(x: Event, w: Wording, *, first: bool = False) -> str:
    """One thing that happened. `first`: it is how things stand at power-up."""
    name = x.name
    if x.still and x.kind in ("on", "phase"):
        thing = w.things.get(name)
        return f"{name} still {'set' if isinstance(thing, Latch) else 'acts' if isinstance(thing, Rule) else 'holds'}"
    match x.kind:
        case "position":
            return f"{name} {w.position(name, int(x.value))}"
        case "button":
            return f"{name} {'pressed' if x.value else 'released'}"
        case "control":
            return f"{name} {_number(x, w)}"
        case "reading":
            return f"{name} shows {_number(x, w)}"
        case "truth":
            return f"true {name} {_number(x, w)}"
        case "unheard":
            return f"{name} not heard yet" if x.value is True else f"{name} unheard (reads {_number(x, w)})"
        case "silent":
            return f"no more frames of {name}"
        case "tune":
            return f"{name} {_number(x, w)} as written" if x.still else f"{name} tuned to {_number(x, w)}"
        case "fact":
            return f"{name} is {_number(x, w)}"
        case "on":
            return f"{name} {_on(x, w, first)}"
        case "phase":
            return f"{name.rpartition('.')[0]}: phase {name.rpartition('.')[2]} {_begins(x, first)}"
        case "voice" | "tone" | "vibration" | "announced":
            return _announcement(x, w)
        case "stale":
            return f"{name} {'still ' if x.still else ''}stale" if x.value else f"{name} fresh"
        case "channel":
            what = "after the rules " if isinstance(w.things.get(name), Control) else ""
            return f"{name} {'still ' if x.still else ''}{what}{_number(x, w)}"
        case "count" | "sample":
            return f"{name} {_number(x, w)}"
        case _:
            assert_never(x.kind)


def _number(x: Event, w: Wording) -> str:
    text = quantity(x.value if not isinstance(x.value, bool) else UNITS["s"].factor, w.unit_of_name(x.name))
    return text + {1: " and rising", -1: " and falling", 0: ""}[x.going]


def _on(x: Event, w: Wording, first: bool) -> str:
    match w.things.get(x.name):
        case Latch():
            return ("is set" if first else "sets") if x.value else "resets"
        case Rule():
            return "acts" if x.value else "ends"
        case _:
            return _begins(x, first)


def _begins(x: Event, first: bool) -> str:
    return ("holds" if first else "begins") if x.value else "ends"


def _announcement(x: Event, w: Wording) -> str:
    rule = x.name.rpartition(".")[0]
    if not x.value:
        return f"{rule} falls silent" if x.kind != "vibration" else f"{rule} stops vibrating"
    texts = [a.text for r in w.rules.rules if r.name == rule for a in r.actions
             if isinstance(a, Announce) and a.means == x.kind and a.text]  # fmt: skip
    said = f' "{texts[0]}"' if x.kind == "voice" and len(texts) == 1 else ""
    return f"{rule} {'still ' if x.still else ''}{'says' if said else SPEAKS[x.kind][0]}{said}"


# ---------- the sentence


def _unwritten(what: Unwritten | None) -> str:
    match what:
        case Glitch(latch=latch):
            return (
                f"{latch} sets although what sets it was not so, nor shortly before: entries that it hangs on read "
                "one another late and disagreed for a cycle"
            )
        case Fight(channel=channel, one=one, other=other) if one == other:
            return f"{one} drives {channel} to two different values at once"
        case Fight(channel=channel, one=one, other=other):
            return f"{one} and {other} drive {channel} to different values at once"
        case None:
            raise AssertionError("a story is of a claim or of what nobody claimed")
        case _:
            assert_never(what)


def sentence(story: Story, w: Wording) -> str:
    """What was broken, or for a `can` claim what was reached; no full stop."""
    if story.claim is None:
        return _unwritten(story.unwritten)
    said = _said(story.claim, story.ending, w)
    scope = story.claim.scope
    if scope is None or isinstance(story.claim.form, Can):
        return said
    if scope.kind == "while":
        return f"{said}, while {joined(phrase(s, w) for s in story.ending.scope)}"
    return f"{said}, since {w.signal(scope.signal)}"


def _said(claim: Claim, end: Ending, w: Wording) -> str:
    seen = joined(phrase(s, w) for s in end.seen)
    began = joined(phrase(s, w) for s in end.began)
    match claim.form:
        case Never() | Always():
            return seen
        case Whenever(effect=effect, within=within):
            if within is None or not end.elapsed:
                return f"{began}, but {seen}"
            missing = f"{bare(effect, w)} has not come within {_bound(claim, end, w)}"
            return f"{missing}: it is {_ago(end, w, claim)} since this was so: {began}"
        case Before(first=first):
            return f"{seen}, and {bare(first, w)} has not come before it"
        case StartsAtMost(signal=signal, count=count):
            begins = f"{bare(signal, w)} begins"
            allowed = f"more than {count} in {_bound(claim, end, w)}"
            return f"{begins} {count + 1} times in {_ago(end, w, claim)}, {allowed}" if count else begins
        case QuietAfter(cause=cause):
            return f"{seen}, only {_ago(end, w, claim)} after {w.signal(cause)} instead of {_bound(claim, end, w)}"
        case LengthOf(signal=signal, bound=side):
            more = "longer than" if side == "most" else "shorter than"
            lasted = "has lasted" if side == "most" else "lasted only"
            return f"{bare(signal, w)} {lasted} {_ago(end, w, claim)}, {more} {_bound(claim, end, w)}"
        case StepOf(number=number):
            old, new, most = end.numbers
            unit = w.unit(number)
            was, now = apart(old, new, unit)
            by, bound = apart(abs(new - old), most, unit)
            return f"{w.number(number)} goes from {was} to {now} in {_ago(end, w, claim)}: {by}, more than {bound}"
        case Can():
            return seen
        case _:
            assert_never(claim.form)


def _ago(end: Ending, w: Wording, claim: Claim) -> str:
    """The time that has passed, written so that it can be told from what the claim allows."""
    duration = _duration(claim)
    if duration is not None and duration.in_cycles:
        return quantity(UNITS["cycle"].factor * end.cycles, UNITS["cycles"])
    return apart(end.elapsed, end.bound, UNITS["s"])[0] if end.bound is not None else seconds(end.elapsed)


def _bound(claim: Claim, end: Ending, w: Wording) -> str:
    duration = _duration(claim)
    return "" if duration is None else w.duration(duration, end.bound)


def _duration(claim: Claim) -> e.Duration | None:
    match claim.form:
        case Whenever(within=within):
            return within
        case StartsAtMost(window=window) | StepOf(window=window):
            return window
        case QuietAfter(duration=duration) | LengthOf(duration=duration):
            return duration
        case _:
            return None
