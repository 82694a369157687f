"""What rules and sequences do: drive, move, limit, announce, and how fast."""

from typing import Literal, assert_never

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.agreement import in_dimension
from latchproof.rules.channels import PLAIN_DIRECTIONS, within
from latchproof.rules.durations import duration
from latchproof.rules.kinds import number
from latchproof.rules.logic import checked_signal
from latchproof.rules.numbers import Amount, Varies
from latchproof.rules.parts import reserved_phase
from latchproof.rules.quantities import too_deep
from latchproof.rules.rates import modifiers
from latchproof.rules.scope import Entity, Env
from latchproof.rules.suggest import did_you_mean, listed
from latchproof.rules.targets import Target, directions_of, target
from latchproof.rules.units import NO_UNIT
from latchproof.rules.words import MEANS, shown
from latchproof.syntax import tree

_MEANS: dict[str, Literal["voice", "tone", "vibration"]] = {"voice": "voice", "tone": "tone", "vibration": "vibration"}


def rule(s: tree.Rule, name: str, env: Env) -> model.Rule | None:
    condition = checked_signal(s.condition, env)
    done = actions(s.actions, env)
    if condition is None or done is None:
        return None
    return model.Rule(name, condition, done, span=s.span)


def sequence(s: tree.Sequence, name: str, env: Env) -> model.Sequence | None:
    condition = checked_signal(s.condition, env)
    phases: list[model.Phase | None] = []
    first: dict[str, tree.Phase] = {}
    for i, phase in enumerate(s.phases):
        _phase_name(phase, first, env)
        if phase.lasts is None and phase.until is None and i + 1 < len(s.phases):
            env.error(
                "phase-needs-end",
                f"when does {phase.name.text} end?",
                Label(phase.name.span, "nothing ends this phase"),
                Label(s.phases[i + 1].name.span, "so this one never comes"),
                hints=(
                    f"write phase {phase.name.text} for 2 s {{ ... }}",
                    f"phase {phase.name.text} until SIGNAL {{ ... }}",
                ),
            )
        phases.append(_phase(phase, env))
    if condition is None or None in phases:
        return None
    return model.Sequence(name, condition, tuple(p for p in phases if p), span=s.span)


def _phase_name(phase: tree.Phase, first: dict[str, tree.Phase], env: Env) -> None:
    name = phase.name
    known = first.setdefault(name.text, phase)
    if known is not phase:
        env.error(
            "duplicate-name",
            f"two phases called {name.text}",
            Label(name.span, "the second"),
            Label(known.name.span, "the first"),
            hints=("give one of them another name",),
        )
    if reserved_phase(name.text):
        env.error(
            "reserved-name",
            f"a phase cannot be called {name.text}",
            Label(name.span, "this word tells of announcements"),
            hints=(f"try {name.text}_phase",),
        )


def _phase(phase: tree.Phase, env: Env) -> model.Phase | None:
    lasts = None
    if phase.lasts is not None:
        lasts = None if too_deep(phase.lasts, env) else duration(phase.lasts, env)
    until = None if phase.until is None else checked_signal(phase.until, env)
    done = actions(phase.actions, env)
    if done is None or (phase.lasts is not None and lasts is None) or (phase.until is not None and until is None):
        return None
    return model.Phase(phase.name.text, lasts, until, done, span=phase.span)


def actions(written: tuple[tree.Action, ...], env: Env) -> tuple[model.Action, ...] | None:
    """Every action for every channel it names; None if any of them has an error."""
    done: list[model.Action | None] = []
    seen: dict[tuple[str, str], tree.Ref] = {}
    for action in written:
        match action:
            case tree.Announce():
                done.append(_announce(action, env))
            case tree.Drive() | tree.Move() | tree.Limit():
                done += [_on_one(action, ref, seen, env) for ref in action.channels]
            case _:
                assert_never(action)
    good = tuple(a for a in done if a is not None)
    return good if len(good) == len(done) else None


def _on_one(
    action: tree.Drive | tree.Move | tree.Limit, ref: tree.Ref, seen: dict[tuple[str, str], tree.Ref], env: Env
) -> model.Action | None:
    on = target(ref, env)
    if on is None:
        _read_only(action, env)
        return None
    if not _once(action, ref, on.entity, seen, env):
        return None
    match action:
        case tree.Drive():
            return _drive(action, ref, on, env)
        case tree.Move():
            return _move(action, ref, on, env)
        case tree.Limit():
            return _limit(action, ref, on, env)
        case _:
            assert_never(action)


def _read_only(action: tree.Drive | tree.Move | tree.Limit, env: Env) -> None:
    """The channel is not known, but what else stands there may be wrong as well."""
    e = action.target if isinstance(action, tree.Drive) else action.amount
    if not too_deep(e, env):
        number(e, env)


def _once(
    action: tree.Drive | tree.Move | tree.Limit,
    ref: tree.Ref,
    entity: Entity,
    seen: dict[tuple[str, str], tree.Ref],
    env: Env,
) -> bool:
    """One value at a time: a rule drives a channel once, and has one limit of each kind on it."""
    match action:
        case tree.Drive():
            kind, word = "drive", "driven"
        case tree.Limit(bound=bound):
            kind, word = f"limit {bound}", "limited"
        case _:
            return True
    first = seen.setdefault((kind, entity.name), ref)
    if first is ref:
        return True
    env.error(
        "repeated-action",
        f"{ref.text} is {word} twice by one rule",
        Label(ref.span, "once more"),
        Label(first.span, "first here"),
        hints=("keep one of the two, or make two rules and say which goes first with `priority`",),
    )
    return False


def _amount(e: tree.Expr, ref: tree.Ref, on: Target, env: Env) -> Amount | None:
    if too_deep(e, env):
        return None
    amount = number(e, env)
    if amount is None or not in_dimension(e, amount, on.unit, ref.text, env):
        return None
    return amount


def _drive(action: tree.Drive, ref: tree.Ref, on: Target, env: Env) -> model.Action | None:
    amount = _amount(action.target, ref, on, env)
    speeds = modifiers(action.modifiers, ref, on, env)
    if amount is None or speeds is None or not within(action.target, amount, ref.text, (on.low, on.high, on.unit), env):
        return None
    return model.Drive(on.entity.name, amount.number, speeds, span=ref.span)


def _limit(action: tree.Limit, ref: tree.Ref, on: Target, env: Env) -> model.Action | None:
    amount = _amount(action.amount, ref, on, env)
    speeds = modifiers(action.modifiers, ref, on, env)
    if amount is None or speeds is None or not within(action.amount, amount, ref.text, (on.low, on.high, on.unit), env):
        return None
    return model.Limit(on.entity.name, action.bound, amount.number, speeds, span=ref.span)


def _move(action: tree.Move, ref: tree.Ref, on: Target, env: Env) -> model.Action | None:
    sign = direction(action.direction, ref, on, env)
    amount = _amount(action.amount, ref, on, env)
    speeds = modifiers(action.modifiers, ref, on, env)
    if sign is None or amount is None or speeds is None:
        return None
    if amount.low is None or amount.low < 0:
        if amount.low is None:
            label = "it cannot be told that this is never below 0"
        else:
            can_be = "is" if amount.varies == Varies.FIXED else "can be"
            label = f"this {can_be} {shown(amount.low, amount.unit or NO_UNIT)}"
        opposite = next((w for w, s in directions_of(on, env) if s == -sign), None)
        env.error(
            "negative-amount",
            "a move has a direction and a positive amount",
            Label(action.amount.span, label),
            Label(action.direction.span, "the direction"),
            hints=(
                f"for the other way write: move {ref.text} {opposite} by ..."
                if amount.varies == Varies.FIXED and opposite
                else "keep it from going below 0, such as by the range of the tune",
            ),
        )
        return None
    return model.Move(on.entity.name, action.direction.text, sign, amount.number, speeds, span=ref.span)


def direction(word: tree.Name, ref: tree.Ref, on: Target, env: Env) -> int | None:
    """+1 or -1 for a direction word of the channel."""
    known = dict(directions_of(on, env))
    if word.text in known:
        return known[word.text]
    declared = on.entity.kind == "channel" and tuple(known.items()) != PLAIN_DIRECTIONS
    env.error(
        "unknown-direction",
        f"{ref.text} has no direction {word.text}",
        Label(word.span, "not a direction it knows"),
        Label(
            on.entity.place,
            f"{ref.text} has {listed(known)}" if declared else f"without a declaration: {listed(known)}",
        ),
        hints=did_you_mean(word.text, known) or (_no_direction(word, ref, on),),
    )
    return None


def _no_direction(word: tree.Name, ref: tree.Ref, on: Target) -> str:
    if on.entity.kind == "channel":
        return f"declare it in the channel: {word.text} is positive"
    return f"write more or less; or let the action name the channel that {ref.text} moves"


def _announce(action: tree.Announce, env: Env) -> model.Action | None:
    means = action.means.text
    every = None
    if action.every is not None:
        every = None if too_deep(action.every, env) else duration(action.every, env, positive=True)
    if means not in _MEANS:
        env.error(
            "unknown-means",
            f"nothing is announced by {means}",
            Label(action.means.span, "not known"),
            hints=did_you_mean(means, MEANS) or (f"write {listed(MEANS, 'or')}",),
        )
        return None
    if means == "voice" and action.text is None:
        env.error(
            "missing-clause",
            "what does the voice say?",
            Label(action.span, "no words"),
            hints=('write announce voice "what it says"',),
        )
        return None
    if action.every is not None and every is None:
        return None
    return model.Announce(_MEANS[means], None if action.text is None else action.text.value, every, span=action.span)
