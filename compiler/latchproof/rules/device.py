"""The device section: in which order it reads its entries, how it starts, what it gives."""

from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.clauses import at_most_once
from latchproof.rules.durations import constant
from latchproof.rules.inputs import bases
from latchproof.rules.quantities import too_deep
from latchproof.rules.scope import Env
from latchproof.rules.suggest import did_you_mean
from latchproof.rules.units import UNITS
from latchproof.rules.words import shown
from latchproof.syntax import tree

_CLAUSE = {
    "device_reads": "how the device reads",
    "starts": "how the device starts",
    "gives": "what the device gives",
    "first_frame": "`first frame after`",
}

READS: tuple[model.Reads, ...] = ("this cycle", "last cycle", "listed order", "unknown order")


def device(s: tree.Device, env: Env) -> model.Device:
    """The section, with the default in place of a clause that says nothing usable; that was reported."""
    first: dict[str, tree.Clause] = {}
    for kind, what in _CLAUSE.items():
        clauses = [c for c in s.clauses if c.kind == kind]
        at_most_once((c.span for c in clauses), what, env)
        if clauses:
            first[kind] = clauses[0]
    pulse = first.get("gives")
    lasts = None if pulse is None else _time(pulse, "the time", env)
    return model.Device(
        _reads(first.get("device_reads"), env),
        _starts(first.get("starts"), env),
        None
        if pulse is None or pulse.name is None or lasts is None
        else model.Pulse(env.full(pulse.name.text), lasts, span=pulse.span),
        None if "first_frame" not in first else _time(first["first_frame"], "the time before the first frame", env),
        bases(s.clauses),
        span=s.span,
    )


def _reads(clause: tree.Clause | None, env: Env) -> model.Reads:
    if clause is None or clause.name is None:
        return "this cycle"
    said = f"{clause.name.text} {clause.word}"
    for known in READS:
        if said == known:
            return known
    known_by_word = [r for r in READS if r.partition(" ")[0] == clause.name.text]
    hints = (f"did you mean `reads {known_by_word[0]}`?",) if known_by_word else did_you_mean(said, READS)
    env.error(
        "unknown-device-fact",
        f"no device reads `{said}`",
        Label(clause.span, "how does an entry read another one?"),
        hints=(*hints, "write reads this cycle, reads last cycle, reads listed order or reads unknown order"),
    )
    return "this cycle"


def _starts(clause: tree.Clause | None, env: Env) -> model.Starts:
    if clause is None or clause.name is None:
        return "reset"
    if clause.name.text == "any":
        return "any"
    env.error(
        "unknown-device-fact",
        f"no device starts `{clause.name.text}`",
        Label(clause.name.span, "what does its memory hold at power-up?"),
        hints=("write starts reset or starts any",),
    )
    return "reset"


def _time(clause: tree.Clause, what: str, env: Env) -> Fraction | None:
    """A fixed time above 0, in seconds."""
    e = clause.expressions[0]
    amount = None if too_deep(e, env) else constant(e, env, what)
    if amount is None or amount.constant is None or not in_dimension(e, amount, UNITS["s"], what, env):
        return None
    if amount.constant <= 0:
        env.error(
            "zero-duration",
            f"{what} must be above 0",
            Label(e.span, f"this is {shown(amount.constant, amount.unit or UNITS['s'])}"),
            hints=("write a time such as 200 ms, or take the clause out",),
        )
        return None
    return amount.constant
