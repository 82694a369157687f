"""Channels: what they follow, their ends, numbers and directions."""

from dataclasses import replace
from fractions import Fraction

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.clauses import at_most_once, missing
from latchproof.rules.durations import constant
from latchproof.rules.expressions import FromTable, Number
from latchproof.rules.inputs import bases
from latchproof.rules.kinds import number
from latchproof.rules.limits import CHANNEL_NUMBERS
from latchproof.rules.numbers import Amount
from latchproof.rules.quantities import declared_range, too_deep
from latchproof.rules.scope import Entity, Env, unknown
from latchproof.rules.suggest import did_you_mean, listed
from latchproof.rules.units import Unit
from latchproof.rules.words import KIND, OPPOSITE, shown
from latchproof.syntax import tree

PLAIN_DIRECTIONS = (("up", 1), ("down", -1), ("more", 1), ("less", -1))
"""Of a channel, stick or knob that declares none."""


def channel(s: tree.Channel, name: str, env: Env) -> model.Channel | None:
    numbered = _number(s, env)
    sources: list[tree.Clause | tree.FollowsTable] = []
    ends: list[tree.Clause] = []
    trims: list[tree.Clause] = []
    directions: list[tree.Clause] = []
    for clause in s.clauses:
        match clause:
            case tree.FollowsTable() | tree.Clause(kind="follows" | "rests_at"):
                sources.append(clause)
            case tree.Clause(kind="ends"):
                ends.append(clause)
            case tree.Clause(kind="trim"):
                trims.append(clause)
            case _:
                directions.append(clause)
    at_most_once((c.span for c in sources), f"where {name} comes from", env)
    at_most_once((c.span for c in ends), f"the range of {name}", env)
    at_most_once((c.span for c in trims), f"the trim of {name}", env)
    _check_directions(directions, name, env)
    if any(too_deep(e, env) for c in s.clauses for e in _expressions(c)):
        return None
    if not ends:
        missing(
            s.name.span,
            name,
            "has no range",
            "no `from ... to ...` here",
            "from 0 % to 100 %, its two end points",
            env,
            "missing-range",
        )
    if not sources:
        missing(
            s.name.span,
            name,
            "follows nothing",
            "no `follows` and no `rests at` here",
            "follows STICK, or rests at 0 %",
            env,
            "channel-needs-source",
        )
    if not ends or not sources:
        return None
    low_e, high_e = ends[0].expressions
    bounds = declared_range(tree.Range(low_e, high_e, span=ends[0].span), name, env)
    if bounds is None:
        return None
    low, high, unit = bounds
    source = _source(sources[0], name, bounds, replace(env, follows=True))
    trim = _trim(trims[0], name, unit, env) if trims else None
    if source is None:
        return None
    rests = isinstance(sources[0], tree.Clause) and sources[0].kind == "rests_at"
    return model.Channel(
        name,
        numbered,
        source,
        rests,
        low,
        high,
        unit,
        declared_directions(s) or PLAIN_DIRECTIONS,
        trim,
        bases(s.clauses),
        span=s.span,
    )


def _expressions(clause: tree.Clause | tree.FollowsTable) -> tuple[tree.Expr, ...]:
    return clause.expressions if isinstance(clause, tree.Clause) else tuple(r.value for r in clause.rows)


def _number(s: tree.Channel, env: Env) -> int | None:
    if s.number is None:
        return None
    value = s.number.value
    if s.number.unit is not None or value.denominator != 1 or not 1 <= value <= CHANNEL_NUMBERS:
        env.error(
            "channel-number",
            f"channels are numbered from 1 to {CHANNEL_NUMBERS}",
            Label(s.number.span, "not such a number"),
            hints=("write the number that the channel has in the transmitter, or leave it out",),
        )
        return None
    return int(value)


def distinct_numbers(channels: list[tree.Channel], env: Env) -> None:
    """Two channels cannot have one number."""
    first: dict[Fraction, tree.Channel] = {}
    for s in channels:
        if s.number is None:
            continue
        known = first.setdefault(s.number.value, s)
        if known is not s and known.number is not None:
            env.error(
                "channel-number",
                f"two channels have the number {s.number.digits}",
                Label(s.number.span, f"{s.name.text} ..."),
                Label(known.number.span, f"... and {known.name.text}"),
                hints=("give one of them its own number, or leave the number out",),
            )


# ---------- where its value comes from


def _source(
    clause: tree.Clause | tree.FollowsTable, name: str, bounds: tuple[Fraction, Fraction, Unit], env: Env
) -> Number | None:
    if isinstance(clause, tree.FollowsTable):
        return _table(clause, name, bounds, env)
    e = clause.expressions[0]
    if clause.kind == "rests_at":
        rest = constant(e, env, f"where {name} rests")
        if rest is None or not in_dimension(e, rest, bounds[2], name, env):
            return None
        return rest.number if within(e, rest, name, bounds, env) else None
    amount = number(e, env)
    if amount is None or not in_dimension(e, amount, bounds[2], name, env):
        return None
    return amount.number


def within(e: tree.Expr, amount: Amount, name: str, bounds: tuple[Fraction, Fraction, Unit], env: Env) -> bool:
    """Whether the channel can take this value at all; what may lie inside is left to the end points."""
    low, high, unit = bounds
    if (amount.low is None or amount.low <= high) and (amount.high is None or amount.high >= low):
        return True
    value = amount.low if amount.low is not None and amount.low > high else amount.high
    env.error(
        "outside-range",
        f"{name} cannot go there",
        Label(e.span, f"this is {shown(value, amount.unit or unit)}" if value is not None else "out of its range"),
        hints=(f"{name} goes from {shown(low, unit)} to {shown(high, unit)}",),
    )
    return False


def _table(table: tree.FollowsTable, name: str, bounds: tuple[Fraction, Fraction, Unit], env: Env) -> Number | None:
    known = env.scope.names.get(table.switch.text)
    if known is None:
        if table.switch.text not in env.scope.names:
            unknown(table.switch, env, None, frozenset({"switch"}))
        return None
    env.book.used.add(known.name)
    if not isinstance(known.node, tree.Switch):
        env.error(
            "wrong-kind",
            f"a table goes by the positions of a switch, and {table.switch.text} is {KIND[known.kind]}",
            Label(table.switch.span, "no positions"),
            Label(known.place, f"{table.switch.text} is {KIND[known.kind]}"),
            hints=("name a switch here, or write follows NAME without `as`",),
        )
        return None
    rows = _rows(table, known, known.node, env)
    values: list[Number] = []
    for position in known.node.positions:
        row = rows.get(position.text)
        if row is None:
            continue
        amount = number(row.value, env)
        if (
            amount is not None
            and in_dimension(row.value, amount, bounds[2], name, env)
            and within(row.value, amount, name, bounds, env)
        ):
            values.append(amount.number)
    if len(values) < len(known.node.positions):
        return None
    return FromTable(known.name, tuple(values), span=table.span)


def _rows(table: tree.FollowsTable, entity: Entity, switch: tree.Switch, env: Env) -> dict[str, tree.TableRow]:
    positions = [p.text for p in switch.positions]
    rows: dict[str, tree.TableRow] = {}
    strange = False
    for row in table.rows:
        word = row.position
        if word.text not in positions:
            strange = True
            env.error(
                "unknown-position",
                f"{entity.name} has no position {word.text}",
                Label(word.span, f"it can be {listed(positions, 'or')}"),
                Label(entity.place, f"{entity.name} is a switch"),
                hints=did_you_mean(word.text, positions),
            )
        elif word.text in rows:
            env.error(
                "repeated-clause",
                f"{word.text} stands twice in this table",
                Label(word.span, "once more"),
                Label(rows[word.text].position.span, "first here"),
                hints=("keep one of the two",),
            )
        else:
            rows[word.text] = row
    lacking = [p for p in positions if p not in rows]
    if lacking and not strange:
        env.error(
            "missing-position",
            f"what at {listed(lacking, 'and')}?",
            Label(table.span, f"says nothing for {listed(lacking, 'and')}"),
            Label(entity.place, f"{entity.name} can be {listed(positions, 'or')}"),
            hints=(f"add: , {lacking[0]} 0 %",),
        )
    return rows


# ---------- directions and trim


def declared_directions(s: tree.Channel) -> tuple[tuple[str, int], ...]:
    """The words that the channel declares, with their opposites; +1 for a growing value."""
    signs: dict[str, int] = {}
    for clause in s.clauses:
        if isinstance(clause, tree.Clause) and clause.kind == "direction" and clause.name is not None:
            sign = -1 if clause.word == "negative" else 1
            signs.setdefault(clause.name.text, sign)
            if clause.name.text in OPPOSITE:
                signs.setdefault(OPPOSITE[clause.name.text], -sign)
    return tuple(signs.items())


def _check_directions(clauses: list[tree.Clause], name: str, env: Env) -> None:
    said: dict[str, tree.Clause] = {}
    for clause in clauses:
        if clause.name is None:
            continue
        word = clause.name.text
        opposite = said.get(OPPOSITE.get(word, ""))
        if word in said:
            at_most_once((said[word].span, clause.span), f"which way {word} is", env)
        elif opposite is not None and opposite.word == clause.word:
            env.error(
                "unknown-direction",
                f"two opposite directions of {name} cannot both be {clause.word}",
                Label(clause.span, "the same sign"),
                Label(opposite.span, "as here"),
                hints=(f"one line is enough: where {word} is {clause.word}, {OPPOSITE[word]} is the other way",),
            )
        said.setdefault(word, clause)


def _trim(clause: tree.Clause, name: str, unit: Unit, env: Env) -> Fraction | None:
    e = clause.expressions[0]
    amount = constant(e, env, f"the trim of {name}")
    if amount is None or amount.constant is None or not in_dimension(e, amount, unit, f"the trim of {name}", env):
        return None
    if amount.constant < 0:
        env.error(
            "negative-amount",
            f"the trim of {name} must not be below 0",
            Label(e.span, f"this is {shown(amount.constant, amount.unit or unit)}"),
            hints=("write how far it may be trimmed, either way, as a positive number",),
        )
        return None
    return amount.constant
