"""Cycle, switches, buttons, sticks, knobs and sensors."""

from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import Mixed, in_dimension, sum_of
from latchproof.rules.clauses import at_most_once, missing
from latchproof.rules.durations import constant
from latchproof.rules.quantities import basis, declared_range, too_deep
from latchproof.rules.scope import Env
from latchproof.rules.units import UNITS, Unit
from latchproof.rules.words import per_second, shown
from latchproof.source import Span
from latchproof.syntax import tree

_SECONDS, _CYCLE = UNITS["s"], UNITS["ms"]

_CLAUSE = {
    "reads": "the range",
    "step": "the step",
    "frame_every": "`frame every`",
    "stale_after": "`stale after`",
    "keeps_value": "what a stale sensor reads",
    "reads_value": "what a stale sensor reads",
    "error": "the error",
    "changes": "`changes`",
    "lag": "the lag",
}

DEFAULT_CYCLE = (Fraction(5, 1000), Fraction(30, 1000))
"""Seconds; taken where the file says nothing, and said to be taken."""


def default_cycle(place: Span) -> model.Cycle:
    shortest, longest = DEFAULT_CYCLE
    return model.Cycle(
        shortest, longest, model.Basis("assumed", note="not stated in the file"), declared=False, span=place
    )


def cycle(s: tree.Cycle, env: Env) -> model.Cycle | None:
    low_e, high_e = s.range.low, s.range.high
    if too_deep(low_e, env) or too_deep(high_e, env):
        return None
    low, high = constant(low_e, env, "the shortest cycle"), constant(high_e, env, "the longest cycle")
    if low is None or high is None or low.constant is None or high.constant is None:
        return None
    fits = [in_dimension(low_e, low, _CYCLE, "a cycle", env), in_dimension(high_e, high, _CYCLE, "a cycle", env)]
    if not all(fits):
        return None
    if low.constant <= 0:
        env.error(
            "zero-duration",
            "a cycle takes some time",
            Label(low_e.span, f"this is {shown(low.constant, low.unit or _CYCLE)}"),
            hints=("write the shortest time between two passes, such as 5 ms",),
        )
        return None
    if low.constant > high.constant:
        env.error(
            "empty-range",
            "the shortest cycle is longer than the longest",
            Label(low_e.span, f"from {shown(low.constant, low.unit or _SECONDS)} ..."),
            Label(high_e.span, f"... to {shown(high.constant, high.unit or _SECONDS)}, which is less"),
            hints=("write the shorter time first",),
        )
        return None
    taken = basis(s.basis) or model.Basis("assumed")
    return model.Cycle(low.constant, high.constant, taken, span=s.span)


def switch(s: tree.Switch, name: str, env: Env) -> model.Switch:
    first: dict[str, tree.Name] = {}
    for position in s.positions:
        known = first.setdefault(position.text, position)
        if known is not position:
            env.error(
                "duplicate-name",
                f"{name} has two positions called {position.text}",
                Label(position.span, "the second"),
                Label(known.span, "the first"),
                hints=("every position needs a name of its own",),
            )
    return model.Switch(name, tuple(p.text for p in s.positions), span=s.span)


def control(s: tree.Control, name: str, env: Env) -> model.Control | None:
    bounds = declared_range(s.range, name, env)
    if bounds is None:
        return None
    low, high, unit = bounds
    return model.Control(s.kind, name, low, high, unit, span=s.span)


def sensor(s: tree.Sensor, name: str, env: Env) -> model.Sensor | None:
    """`s` with its facts in base units. What a clause cannot be used for is left out; it was reported."""
    kinds: dict[str, list[tree.Clause]] = {}
    for clause in s.clauses:
        key = "reads_value" if clause.kind == "keeps_value" else clause.kind
        kinds.setdefault(key, []).append(clause)
    for kind, clauses in kinds.items():
        at_most_once((c.span for c in clauses), _CLAUSE[kind], env)
    if any(too_deep(e, env) for c in s.clauses for e in c.expressions):
        return None
    first = {kind: clauses[0] for kind, clauses in kinds.items()}
    if "reads" not in first:
        missing(
            s.name.span,
            name,
            "has no range",
            "no `from ... to ...` here",
            "from 0 m to 500 m, the least and the most that it can show",
            env,
            "missing-range",
        )
        return None
    low_e, high_e = first["reads"].expressions
    bounds = declared_range(tree.Range(low_e, high_e, span=first["reads"].span), name, env)
    if bounds is None:
        return None
    low, high, unit = bounds

    def read(
        kind: str, wanted: Unit, what: str, above: Fraction | None = None, strictly: bool = False
    ) -> Fraction | None:
        clause = first.get(kind)
        if clause is None or not clause.expressions:
            return None
        e = clause.expressions[0]
        amount = constant(e, env, what)
        if amount is None or amount.constant is None or not in_dimension(e, amount, wanted, what, env):
            return None
        if above is not None and (amount.constant < above or (strictly and amount.constant == above)):
            env.error(
                "negative-amount",
                f"{what} must {'be above' if strictly else 'not be below'} 0",
                Label(e.span, f"this is {shown(amount.constant, amount.unit or wanted)}"),
                hints=("write a positive number",),
            )
            return None
        return amount.constant

    zero = Fraction(0)
    return (
        model.Sensor(
            name,
            low,
            high,
            unit,
            step=read("step", unit, f"the step of {name}", zero, strictly=True),
            frame_every=read("frame_every", _SECONDS, "the time between frames", zero, strictly=True),
            stale_after=read("stale_after", _SECONDS, "the time until stale", zero, strictly=True),
            stale_reads=read("reads_value", unit, name),
            error=read("error", unit, f"the error of {name}", zero) or zero,
            change=_change(first.get("changes"), name, unit, env),
            lag=read("lag", _SECONDS, f"the lag of {name}", zero) or zero,
            bases=bases(s.clauses),
            span=s.span,
        )
        if _stale_is_said(first, name, env)
        else None
    )


def _stale_is_said(first: dict[str, tree.Clause], name: str, env: Env) -> bool:
    """`once stale reads 0 m` needs `stale after`."""
    reads = first.get("reads_value")
    if reads is None or not reads.expressions or "stale_after" in first:
        return True
    env.error(
        "needs-stale-after",
        f"when does {name} count as stale?",
        Label(reads.span, "it is said what it reads then"),
        hints=(f"add to sensor {name}: stale after 2 s",),
    )
    return False


def _change(clause: tree.Clause | None, name: str, unit: Unit, env: Env) -> tuple[Fraction, Fraction] | None:
    if clause is None:
        return None
    low_e, high_e = clause.expressions
    what = f"how fast {name} changes"
    low, high = constant(low_e, env, what), constant(high_e, env, what)
    if low is None or high is None or low.constant is None or high.constant is None:
        return None
    wanted = per_second(unit)
    fits = [in_dimension(low_e, low, wanted, what, env), in_dimension(high_e, high, wanted, what, env)]
    if not all(fits) or isinstance(sum_of(low_e, low, high_e, high, "is", env), Mixed):
        return None
    if low.constant > high.constant:
        env.error(
            "empty-range",
            f"{what}: nothing lies in this range",
            Label(low_e.span, f"from {shown(low.constant, low.unit or wanted)} ..."),
            Label(high_e.span, f"... to {shown(high.constant, high.unit or wanted)}, which is less"),
            hints=("write the fastest fall first, as a negative number, then the fastest rise",),
        )
        return None
    return low.constant, high.constant


def bases(clauses: tuple[tree.Clause | tree.FollowsTable, ...]) -> tuple[tuple[str, model.Basis], ...]:
    """Where the facts come from, by the kind of the clause."""
    found: list[tuple[str, model.Basis]] = []
    for clause in clauses:
        taken = basis(clause.basis)
        if taken is not None:
            found.append((clause.kind if isinstance(clause, tree.Clause) else "follows", taken))
    return tuple(found)
