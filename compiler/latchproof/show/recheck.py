"""What the check of proof records comes to, as text and as JSON (schema `latchproof.recheck/1`)."""

import json
from collections.abc import Sequence

from latchproof.machine.model import Machine
from latchproof.prove.processes import Failed
from latchproof.prove.recheck import Comparison, Opinion, Result, Time
from latchproof.prove.records import says
from latchproof.prove.smtlib import Asks
from latchproof.show.device import allowance
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import paragraph
from latchproof.show.visible import visible

SCHEMA = "latchproof.recheck/1"

LONGEST = 200
"""Characters of a name that are shown; a record may call its claims anything."""

_FOUND: dict[Asks, str] = {
    "start": "a memory at power-up that the proof's statement leaves out",
    "step": "a cycle that leads out of the proof's statement",
    "claim": "a cycle in which what was proved does not hold",
}

_TIME: dict[Time, str] = {
    "open": "it is not settled that its facts leave the world a next moment in every state, and where they do not, "
    "everything holds of them",
    "too late": "time ran out on the question whether its facts leave the world a next moment in every state",
}

_LOOKS: dict[str, Role] = {"holds": "good", "fails": "error", "refused": "error", "absent": "error"}


def head(comparison: Comparison, folder: str, style: Style = PLAIN) -> str:
    """What is to be said of the folder as a whole; mostly nothing."""
    lines: list[str] = []
    if comparison.refused:
        told = paragraph(f"{visible(folder)}: refused: {visible(comparison.refused)}", style.width, rest="  ")
        lines += [told[0].replace(": refused:", f": {style.paint('refused', 'error')}:", 1), *told[1:]]
    for note in comparison.notes:
        lines += paragraph(f"note: {visible(note)}", style.width, rest="  ")
    return "\n".join(lines) + ("\n" if comparison.notes else "")


def line(opinion: Opinion, machine: Machine, style: Style = PLAIN) -> str:
    """`off_means_off: holds (z3, cvc5)`."""
    word, more = _told(opinion, machine)
    more = visible(more)
    name = visible(_name(opinion, machine)[:LONGEST])
    first, *rest = paragraph(f"{name}: {word}{more}", style.width, rest="  ")
    look = _LOOKS.get(opinion.result, "warning")
    if is_impossible(opinion):
        look = "error"
    start = f"{name}: {word}"
    painted = f"{name}: {style.paint(word, look)}{first[len(start) :]}" if first.startswith(start) else first
    return "\n".join([painted, *rest])


_COUNTED: dict[Result, tuple[str, str, Role]] = {
    "holds": ("holds", "hold", "good"),
    "absent": ("without a proof", "without a proof", "error"),
    "refused": ("refused", "refused", "error"),
    "fails": ("fails", "fail", "error"),
    "not decided": ("not decided", "not decided", "warning"),
}
"""Of one, of several, and how it looks."""


def end(opinions: Sequence[Opinion], style: Style = PLAIN) -> str:
    """How many there are of each, and what they take for granted."""
    results: list[Result] = ["fails" if is_impossible(o) else o.result for o in opinions if not is_example(o)]
    if not results:
        return "no promise that has a proof"
    said = []
    for result, (one, several, look) in _COUNTED.items():
        count = results.count(result)
        if count:
            said.append(style.paint(f"{count} {one if count == 1 else several}", look))
    lines = [f"{len(results)} checked: {', '.join(said)}"]
    facts = dict.fromkeys(f for o in opinions if o.result == "holds" for f in o.compared.facts)
    if facts:
        granted = f"Taken for granted, as the rule file states it: {', '.join(visible(f) for f in facts)}."
        if all(o.time == "goes on" for o in opinions if o.result == "holds" and o.compared.facts):
            granted += " Asked again (z3): under these facts there is always a next moment."
        lines += paragraph(granted, style.width)
    return "\n".join(lines)


def is_example(opinion: Opinion) -> bool:
    """What can happen is shown by an example, which `prove` finds: that there is no proof of it is no fault."""
    return opinion.compared.impossible and opinion.compared.absent


def is_impossible(opinion: Opinion) -> bool:
    """The promise fails, and that is what the record proves."""
    return opinion.compared.impossible and opinion.result == "holds"


def as_json(
    file: str,
    folder: str,
    solvers: Sequence[str],
    comparison: Comparison,
    opinions: Sequence[Opinion],
    machine: Machine,
) -> str:
    properties = {p.name: p for p in machine.properties}
    rows = [
        {
            "name": o.compared.name,
            "text": says(machine, properties[o.compared.name]) if o.compared.name in properties else None,
            "result": "example" if is_example(o) else "impossible" if is_impossible(o) else o.result,
            "reason": _told(o, machine)[1].removeprefix(": ") if o.result != "holds" else None,
            "answers": {s: {"failed": a.reason} if isinstance(a, Failed) else list(a) for s, a in o.answers.items()},
            "allowance": o.compared.allowance,
            "facts": list(o.compared.facts),
            "time": o.time,
        }
        for o in opinions
    ]
    data = {
        "schema": SCHEMA,
        "file": file,
        "folder": folder,
        "solvers": list(solvers),
        "refused": comparison.refused or None,
        "notes": list(comparison.notes),
        "claims": rows,
    }
    return json.dumps(data, indent=2, ensure_ascii=True)


def _name(opinion: Opinion, machine: Machine) -> str:
    """A claim by its name; what nobody wrote by what it says."""
    name = opinion.compared.name
    property_ = next((p for p in machine.properties if p.name == name), None)
    return name if property_ is None or property_.unwritten is None else says(machine, property_)


def _told(opinion: Opinion, machine: Machine) -> tuple[str, str]:
    """The verdict in a word or two, and what follows it."""
    if is_example(opinion):
        return "no proof", ": that something can happen is shown by an example"
    solvers = ", ".join(opinion.answers)
    match opinion.result:
        case "holds" if opinion.compared.impossible:
            return "fails", f": it can never happen, and the proof of that holds ({solvers})"
        case "holds":
            late = opinion.compared.allowance
            return "holds", f" ({solvers})" + (
                f", with an allowance of {allowance(late, machine.rules)}" if late else ""
            )
        case "absent":
            return "no proof", f": {opinion.compared.refused}"
        case "refused":
            return "refused", f": {opinion.compared.refused}"
        case "fails":
            return "fails", ": " + "; ".join(f"{s} finds {_FOUND[asks]}" for s, asks in opinion.answered("sat"))
        case _:
            troubles = [f"{s}: {a.reason}" for s, a in opinion.answers.items() if isinstance(a, Failed)]
            unsure = [f"{s} gave up on the question about the {asks}" for s, asks in opinion.answered("unknown")]
            unsure += [_TIME[opinion.time]] if opinion.time in _TIME else []
            return "not decided", f": {'; '.join(troubles + unsure)}"
