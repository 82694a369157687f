"""What was found of each hazard, as a pilot reads it: what happens first, with the way out of it, then what does not.

An accepted hazard stands with its reason on the very line that tells of it.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import assert_never

from latchproof.hazards.model import Check, Finding, NotApplicable, NotNamed, Procedure, Remedy, Seen
from latchproof.rules.hazards import TITLES
from latchproof.rules.model import Accepted, RuleSet
from latchproof.rules.units import UNITS
from latchproof.show.facts import fact
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import paragraph
from latchproof.show.verdicts import sentence, told
from latchproof.show.visible import visible, width

State = str
FAILS, OPEN, ACCEPTED, UNNAMED, CARDS, FINE, APART = (
    "fails", "not decided", "accepted", "not named", "procedure", "proved", "not applicable",
)  # fmt: skip
GRAVEST = (FAILS, OPEN, ACCEPTED, UNNAMED, CARDS, FINE, APART)
"""How bad a finding is for whoever wants to fly: what stands first is the worst."""

_HEADS: Mapping[State, tuple[str, Role]] = {
    ACCEPTED: ("Accepted in the file, and looked for all the same", "warning"),
    UNNAMED: ("Not looked for: the file does not say enough. Add the line and run this again", "warning"),
    CARDS: ("No rule can prevent it: a step for you", "strong"),
    FINE: ("Looked for: cannot happen", "good"),
    APART: ("Does not concern these rules", "strong"),
}
_COUNTED = {
    FAILS: ("fails", "fail", "error"),
    OPEN: ("not decided", "not decided", "warning"),
    ACCEPTED: ("accepted", "accepted", "warning"),
    UNNAMED: ("not looked for", "not looked for", "warning"),
    CARDS: ("for you to do", "for you to do", "strong"),
    FINE: ("cannot happen", "cannot happen", "good"),
    APART: ("does not concern these rules", "do not concern these rules", "strong"),
}


def state(f: Finding) -> State:
    """What is shown of a finding: accepted is only what would else be bad news."""
    if f.accepted is not None and f.state in (FAILS, OPEN, UNNAMED):
        return ACCEPTED
    return f.state


def worst(found: Iterable[Finding]) -> State:
    return min((state(f) for f in found), key=GRAVEST.index)


def bad_news(found: Sequence[Finding], style: Style = PLAIN, *, everything: bool = False) -> str:
    """A hazard in full, if anything about it fails or is not decided (or if everything is wanted); else nothing.

    Of several things that fail only the first is told at length.
    """
    gravest = worst(found)
    if gravest not in (FAILS, OPEN) and not everything:
        return ""
    number = found[0].hazard
    title = paragraph(TITLES[number], style.width, first=f"{number}  ", rest="     ")
    lines = [style.paint(line, "strong") for line in title]
    shown = hidden = False
    before: Finding | None = None
    for f in found:
        here = state(f)
        if everything and before is not None and _alike(f, before):
            lines += paragraph(visible(_promised(f)), style.width, first="  ", rest="    ")
            lines.append(f"  {style.paint('proved', 'good')} likewise")
        elif everything or (here == gravest and not shown):
            lines += _full(f, style)
            shown = True
        elif here in (FAILS, OPEN):
            lines += paragraph(visible(f"{here} as well: {_promised(f)}"), style.width, first="  ", rest="    ")
            hidden = True
        before = f
    if hidden:
        lines += [f"  --only {number} --all tells how"]
    return "\n".join(lines)


def rest(found: Sequence[Sequence[Finding]], style: Style = PLAIN) -> str:
    """All that is not told in full, by what came of it; `found` are the findings of each hazard."""
    parts = []
    for group in (ACCEPTED, UNNAMED, CARDS, FINE, APART):
        rows: list[str] = []
        for several in found:
            if group in (FINE, APART) and worst(several) != group:
                continue
            rows += _rows([f for f in several if state(f) == group], group, style)
        if rows:
            head, role = _HEADS[group]
            parts.append("\n".join([style.paint(head, role), *rows]))
    return "\n\n".join(parts)


def summary(found: Sequence[Sequence[Finding]], style: Style = PLAIN) -> str:
    """`40 hazards: 2 fail, 1 accepted, 3 not looked for, ...`."""
    counts = {s: sum(worst(several) == s for several in found) for s in GRAVEST}
    said = []
    for s, number in counts.items():
        one, more, role = _COUNTED[s]
        if number:
            said.append(style.paint(f"{number} {one if number == 1 else more}", role))  # type: ignore[arg-type]
    whole = f"{len(found)} hazard{'' if len(found) == 1 else 's'}: "
    return _wrapped_list(whole, said, style)


def rests_on(found: Sequence[Sequence[Finding]], rules: RuleSet, style: Style = PLAIN) -> str:
    """The facts of the rules that anything here rests on, guesses first, once for all. What a check takes to be
    otherwise than the rules say is no such fact: it says so itself."""
    facts = {
        text: x.basis is not None and x.basis.kind == "measured"
        for several in found
        for f in several
        if f.machine is not None and f.verdict is not None and f.state == FINE
        for x in f.verdict.assumed
        if (text := fact(x, f.machine.rules)) == fact(x, rules) and not (_varied(f) and x.subject == "device")
    }
    if not facts:
        return ""
    said = "; ".join(visible(text) for text in sorted(facts, key=lambda text: facts[text]))
    return "\n".join(paragraph(f"What cannot happen is proved, if {said}.", style.width))


def _varied(f: Finding) -> bool:
    return isinstance(f.outcome, Check) and bool(f.outcome.variant)


AGAIN = "Mend the first one and run this again: one change often answers several."


def again(found: Sequence[Sequence[Finding]], style: Style = PLAIN) -> str:
    """What to do when several things fail."""
    failing = sum(worst(several) == FAILS for several in found)
    return "\n".join(paragraph(AGAIN, style.width)) if failing > 1 else ""


def unneeded(accepted: Iterable[Accepted], style: Style = PLAIN) -> str:
    """Acceptances of what does not occur."""
    lines = []
    for a in accepted:
        where = f" in {a.rule}" if a.rule else ""
        said = f"`accept {a.hazard}{where}` is not needed: what it accepts does not occur. Take it out."
        first, *more = paragraph(said, style.width, rest="  ")
        lines += [style.paint(first, "warning"), *more]
    return "\n".join(lines)


# ---------- one finding


def _alike(f: Finding, before: Finding) -> bool:
    """Both are proved, and rest on the same facts."""
    a, b = f.verdict, before.verdict
    if a is None or b is None or not a.answer == b.answer == "proved" or a.trace or b.trace or f.machine is None:
        return False
    return a.assumed == b.assumed and not _varied(f) and not _varied(before)


def _full(f: Finding, style: Style) -> Iterator[str]:
    match f.outcome:
        case Check():
            yield from _check(f, f.outcome, style)
        case Seen(fine=fine):
            word, role = ("fine", "good") if fine else ("fails", "error")
            yield from paragraph(visible(_promised(f)), style.width, first="  ", rest="    ")
            yield "  " + style.paint(word, role)  # type: ignore[arg-type]
        case NotApplicable(why=why):
            yield from paragraph(f"does not concern these rules: {visible(why)}", style.width, first="  ", rest="    ")
        case NotNamed(missing=missing):
            yield from paragraph(f"not looked for: {visible(missing)}. Add", style.width, first="  ", rest="    ")
            yield from code(f.outcome.add, style, "      ")
        case Procedure(step=step, when=when):
            yield from paragraph(f"{when}: {visible(step)}", style.width, first="  ", rest="    ")
        case _:
            assert_never(f.outcome)
    yield from _accepted(f, style)
    if f.state in (FAILS, OPEN) and isinstance(f.outcome, Check | Seen):
        for n, remedy in enumerate(f.outcome.remedies):
            yield from _remedy(remedy, style, "or: " if n else "to mend it: ")


def _check(f: Finding, check: Check, style: Style) -> Iterator[str]:
    assert f.verdict is not None
    assert f.machine is not None
    yield from paragraph(visible(_promised(f)), style.width, first="  ", rest="    ")
    yield from told(f.verdict, f.machine, style)
    if f.otherwise is not None and f.state == FAILS and f.otherwise.state == FAILS:
        yield from paragraph(
            "You cannot have both. Done the other way, this happens:", style.width, first="  ", rest="    "
        )
        assert isinstance(f.otherwise.outcome, Check)
        yield from _check(f.otherwise, f.otherwise.outcome, style)


def _promised(f: Finding) -> str:
    """What was looked for, in a sentence."""
    match f.outcome:
        case Check(about=about, variant=variant):
            assert f.verdict is not None
            assert f.machine is not None
            return _in(about, sentence(f.verdict, f.machine)) + (f" ({variant})" if variant else "")
        case Seen(about=about, said=said):
            return _in(about, said)
        case _:
            return ""


def _in(about: str, said: str) -> str:
    """What is said, with the name in front that it is about, unless it speaks of it anyway."""
    return said if not about or re.search(rf"(?<![\w.]){re.escape(about)}(?![\w.])", said) else f"{about}: {said}"


def _accepted(f: Finding, style: Style) -> Iterator[str]:
    if f.accepted is None or f.state not in (FAILS, OPEN, UNNAMED):
        return
    said = f'accepted: {f.hazard} because "{visible(f.accepted.reason)}"'
    first, *more = paragraph(said, style.width, first="  ", rest="    ")
    yield "  " + style.paint("accepted", "warning") + first[len("  accepted") :]
    yield from more


def _remedy(remedy: Remedy, style: Style, lead: str) -> Iterator[str]:
    first, *more = paragraph(lead + visible(remedy.said), style.width, first="  ", rest="    ")
    word = lead.strip()
    yield "  " + style.paint(word, "hint") + first[len("  " + word) :]
    yield from more
    for edit in remedy.edits:
        yield from paragraph(visible(edit.said) + (":" if edit.text.strip() else ""), style.width, "    ", "      ")
        yield from code(edit.text, style, "        ")


_UNIT = "|".join(re.escape(symbol) for symbol in sorted(UNITS, key=len, reverse=True) if symbol)
_TOKEN = re.compile(rf'"[^"]*"\S*|[0-9.]+ (?:{_UNIT})(?!\w)\S*|\S+')
"""A text, a number with its unit, a word: what stays on one line."""


def code(text: str, style: Style, indent: str) -> list[str]:
    """Lines of the rule language to be copied: broken only where a line break means nothing."""
    lines: list[str] = []
    for written in text.strip("\n").split("\n"):
        lead = indent + " " * (len(written) - len(written.lstrip()))
        line = lead
        for token in _TOKEN.findall(visible(written)):
            if line == lead or width(line) + 1 + width(token) <= style.width:
                line += token if line == lead else f" {token}"
            else:
                lines.append(line)
                line = " " * max(0, min(len(lead) + 4, style.width - width(token))) + token
        lines.append(line)
    return [line for line in lines if line.strip()]


def _rows(found: Sequence[Finding], group: State, style: Style) -> list[str]:
    """One line a hazard where nothing more is to be said of it, else a line for each thing that is."""
    lines: list[str] = []
    for n, f in enumerate(found):
        if n == 0:
            lines += paragraph(TITLES[f.hazard], style.width, first=f"  {f.hazard}  ", rest="       ")
        match f.outcome:
            case _ if group == ACCEPTED:
                assert f.accepted is not None
                does = {FAILS: "it does happen", OPEN: "not decided whether it happens"}.get(f.state, "not looked for")
                said = f'{_in(f.about, does)}, accepted because "{f.accepted.reason}"'
                lines += paragraph(visible(said), style.width, first="       ", rest="         ")
            case NotNamed(missing=missing, add=add):
                lines += paragraph(visible(missing), style.width, first="       ", rest="         ")
                lines += code(add, style, "         ")
            case Procedure(step=step, when=when):
                lines += paragraph(f"{when}: {visible(step)}", style.width, first="       ", rest="         ")
            case NotApplicable(why=why) if n == 0:
                lines += paragraph(visible(why), style.width, first="       ", rest="         ")
            case _:
                pass
    return lines


def _wrapped_list(lead: str, items: list[str], style: Style) -> str:
    """Painted items one after the other, wrapped by what is seen of them."""
    lines, line, used = [], lead, len(lead)
    for n, item in enumerate(items):
        text = item + ("," if n < len(items) - 1 else "")
        wide = width(re.sub(r"\x1b\[[0-9;]*m", "", text))
        if used + wide > style.width and n:
            lines.append(line.rstrip())
            line, used = "  ", 2
        line += text + " "
        used += wide + 1
    return "\n".join([*lines, line.rstrip()])
