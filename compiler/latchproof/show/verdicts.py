"""Verdicts as a pilot reads them: *proved if ...*, *fails, like this*, *not decided*.

Each claim is shown when its verdict arrives; after the last one a summary, and after a full proof the cautions.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import assert_never

from latchproof.machine.model import Fight, Glitch, Machine
from latchproof.prove.least import is_least
from latchproof.prove.story import tell
from latchproof.prove.verdicts import Verdict
from latchproof.rules.model import Can, Claim
from latchproof.show import story, stuck
from latchproof.show.device import allowance
from latchproof.show.facts import fact
from latchproof.show.style import PLAIN, Style
from latchproof.show.table import paragraph
from latchproof.show.visible import visible
from latchproof.source import Source

CAUTIONS = (
    "What is proved is proved of these rules and of the facts named above, and of nothing else: not of the model, the "
    "receiver or the weather. A fact that is ASSUMED is as good as the guess.",
    "On the bench: propeller off, model held. A rule that drives a motor drives it there too.",
    "Check range and failsafe each flying day and after every change. When the control link is gone these rules are "
    "gone too, and only the receiver's failsafe acts.",
    "Fly it first with an experienced helper beside you, high, and ready to switch it off.",
    "Local rules and your club's safety officer come first: ask before the first flight.",
)


FEWER = "(The time ran out before it was settled whether it holds without some of these facts.)"


MORE = "What nobody promised is not looked for here: `latchproof hazards FILE` looks for the known dangers."


def render(verdict: Verdict, machine: Machine, style: Style = PLAIN) -> str:
    """One claim with its verdict, several lines, without a line break at the end."""
    claim = claim_of(verdict, machine)
    head = f"{visible(verdict.claim)}: " if claim is not None else ""
    title = paragraph(head + visible(sentence(verdict, machine)), style.width, rest="  ")
    return "\n".join([*(style.paint(line, "strong") for line in title), *_verdict(verdict, claim, machine, style)])


def concise(verdict: Verdict, machine: Machine, sources: Mapping[str, Source]) -> str:
    """`file:line:column: fails: claim NAME: sentence`, one line."""
    claim = claim_of(verdict, machine)
    name = f"claim {verdict.claim}: " if claim is not None else ""
    place = ""
    if claim is not None and claim.span.source in sources:
        line, column = sources[claim.span.source].place(claim.span.start)
        place = f"{visible(claim.span.source)}:{line}:{column}: "
    return f"{place}{word(verdict)}: {visible(name + sentence(verdict, machine))}"


def word(verdict: Verdict) -> str:
    """The verdict in a word or two."""
    return {"proved": "proved", "refuted": "fails", "unknown": "not decided"}[verdict.answer]


def summary(verdicts: Sequence[Verdict], style: Style = PLAIN) -> str:
    """`16 promises: 14 proved, 1 fails, 1 not decided`."""
    count = {answer: sum(v.answer == answer for v in verdicts) for answer in ("proved", "refuted", "unknown")}
    if not verdicts:
        return "no promises: nothing was claimed, so nothing was proved"
    said = [style.paint(f"{count['proved']} proved", "good")] if count["proved"] else []
    if count["refuted"]:
        said.append(style.paint(f"{count['refuted']} {'fails' if count['refuted'] == 1 else 'fail'}", "error"))
    if count["unknown"]:
        said.append(style.paint(f"{count['unknown']} not decided", "warning"))
    idle = sum(v.untested for v in verdicts)
    if idle:
        said.append(style.paint(f"{idle} of these never put to the test", "warning"))
    again = sum(v.remembered for v in verdicts)
    lately = f" ({'all' if again == len(verdicts) else again} from last time, checked again)" if again else ""
    return f"{len(verdicts)} promise{'' if len(verdicts) == 1 else 's'}: {', '.join(said)}{lately}"


def unsettled(claims: Sequence[str], style: Style = PLAIN) -> str:
    """Of these it is not known whether what they speak of ever comes true."""
    if not claims:
        return ""
    text = f"It could not be settled whether these are ever put to the test: {', '.join(map(visible, claims))}."
    return "\n".join(paragraph(text, style.width)) + "\n"


def sticking(verdicts: Sequence[Verdict], machine: Machine, style: Style = PLAIN) -> str:
    """For each promise that is not decided, the state that its proof cannot get past."""
    blocks = []
    for v in verdicts:
        if v.stuck is not None:
            said = stuck.sentence(v.stuck, machine.rules)
            blocks.append("\n".join(paragraph(f"{visible(v.claim)}: {visible(said)}", style.width, rest="  ")) + "\n")
    return "\n".join(blocks)


def standing(verdicts: Sequence[Verdict], style: Style = PLAIN) -> str:
    """What each proof cannot do without, where that was asked for."""
    lines = []
    for v in verdicts:
        if v.rests_on is not None:
            parts = ", ".join(map(visible, v.rests_on)) or "nothing but how channels and sensors work"
            lines += paragraph(f"{visible(v.claim)} rests on: {parts}", style.width, rest="  ")
    return "\n".join([*lines, ""]) if lines else ""


def cautions(style: Style = PLAIN) -> str:
    """What stands below a report in which everything is proved."""
    lines = [style.paint("Before you use it", "strong")]
    for text in CAUTIONS:
        lines += paragraph(text, style.width, first="- ", rest="  ")
    return "\n".join(lines)


def report_end(verdicts: Sequence[Verdict], style: Style = PLAIN) -> str:
    """The summary; when nothing is left open, the cautions and what to look for next."""
    everything = bool(verdicts) and all(v.answer == "proved" for v in verdicts)
    more = "\n".join(paragraph(MORE, style.width))
    return summary(verdicts, style) + (f"\n\n{cautions(style)}\n\n{more}" if everything else "")


def claim_of(verdict: Verdict, machine: Machine) -> Claim | None:
    """The claim a verdict is about; None for one that nobody wrote."""
    return next((c for c in machine.rules.claims if c.name == verdict.claim), None)


def sentence(verdict: Verdict, machine: Machine) -> str:
    """What is promised, in the pilot's own words if he gave some."""
    claim = claim_of(verdict, machine)
    if claim is not None:
        return claim.sentence or " ".join(claim.text.split())
    property_ = next((p for p in machine.properties if p.name == verdict.claim), None)
    unwritten = None if property_ is None else property_.unwritten
    match unwritten:
        case Glitch(latch=latch):
            return f"entries that read one another late do not set {latch} by a glitch"
        case Fight(channel=channel, one=one, other=other) if one == other:
            return f"no two actions of {one} drive {channel} to different values"
        case Fight(channel=channel, one=one, other=other):
            return f"no two rules of equal rank drive {channel} to different values: {one} and {other}"
        case None:
            return verdict.claim
        case _:
            assert_never(unwritten)


def told(verdict: Verdict, machine: Machine, style: Style = PLAIN) -> tuple[str, ...]:
    """The verdict alone, without the claim above it: lines."""
    return tuple(_verdict(verdict, claim_of(verdict, machine), machine, style))


def _verdict(v: Verdict, claim: Claim | None, machine: Machine, style: Style) -> Iterator[str]:
    guessed_first = sorted(v.assumed, key=lambda f: f.basis is not None and f.basis.kind == "measured")
    rests = "; ".join(visible(fact(f, machine.rules)) for f in guessed_first)
    example = claim is not None and isinstance(claim.form, Can)
    wide = style.width
    match v.answer:
        case "proved":
            late = f" with an allowance of {allowance(v.allowance, machine.rules)}" if v.allowance else ""
            late += "" if is_least(v) else " (with less it was not decided in time)"
            said = f"proved{late}{',' if late and rests else ''}{f' if {rests}' if rests else ''}"
            first, *rest = paragraph(said, wide, first="  ", rest="    ")
            yield "  " + style.paint("proved", "good") + first[len("  proved") :]
            yield from rest
            if v.reason:
                yield from paragraph(FEWER, wide, first="  ", rest="  ")
            if v.trace is not None:
                yield "  for example like this:"
                yield from _story(v, machine, style)
        case "refuted" if v.trace is not None:
            even = f", even with an allowance of {allowance(v.allowance, machine.rules)}" if v.allowance else ""
            yield "  " + style.paint(f"fails{even}, like this:", "error")
            yield from _story(v, machine, style)
        case "refuted":
            never = "fails: this can never happen" if example else "fails"
            first, *rest = paragraph(f"{never}, if {rests}" if rests else never, wide, first="  ", rest="    ")
            yield "  " + style.paint("fails", "error") + first[len("  fails") :]
            yield from rest
        case "unknown":
            first, *rest = paragraph(f"not decided: {_why(v)}", wide, first="  ", rest="    ")
            yield "  " + style.paint("not decided", "warning") + first[len("  not decided") :]
            yield from rest


def _story(v: Verdict, machine: Machine, style: Style) -> Iterator[str]:
    property_ = next(p for p in machine.properties if p.name == v.claim)
    assert v.trace is not None
    yield from story.render(tell(machine, property_, v.trace), machine.rules, style).split("\n")


_REASONS = (
    ("time ran out", "the time ran out (--time-limit gives it more)"),
    ("it is not settled", "it is not certain that the facts and assumptions always leave the world a way to go on"),
    ("an example was found", "what was found did not stand when it was run exactly, so it is not shown"),
    ("no engine", "none of the ways of proving it came to an end"),
)
"""How the prover's reasons begin, and what a pilot reads."""


def _why(v: Verdict) -> str:
    reason = v.reason or ""
    why = next((said for begins, said in _REASONS if reason.startswith(begins)), "it could not be settled")
    searched = v.depth and "example" not in reason
    looked = f"; nothing that breaks it was found within {v.depth} moments" if searched else ""
    return f"{why}{looked}. Do not fly on it: it may hold or fail"
