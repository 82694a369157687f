"""A stage of a rule set: the same rules with some tunes fixed, or with every action on a channel taken out."""

from dataclasses import replace

from latchproof.rules.model import Action, Announce, RuleSet, Sequence, Tune


def at_stage(rules: RuleSet, name: str) -> RuleSet:
    """The rules as they stand in this stage: tunes stay at the stage's values, and a warn-only stage only announces.

    `KeyError` if there is no such stage.
    """
    stage = next((s for s in rules.stages if s.name == name), None)
    if stage is None:
        raise KeyError(name)
    chosen = dict(stage.tunes)

    def fixed(tune: Tune) -> Tune:
        if tune.name not in chosen:
            return tune
        value = chosen[tune.name]
        return replace(tune, value=value, low=value, high=value, steps=(value,) if tune.steps else ())

    staged = replace(rules, tunes=tuple(fixed(t) for t in rules.tunes))
    if not stage.warn_only:
        return staged
    return replace(
        staged,
        rules=tuple(replace(r, actions=_spoken(r.actions)) for r in rules.rules),
        sequences=tuple(_spoken_sequence(s) for s in rules.sequences),
    )


def _spoken(actions: tuple[Action, ...]) -> tuple[Action, ...]:
    return tuple(a for a in actions if isinstance(a, Announce))


def _spoken_sequence(s: Sequence) -> Sequence:
    return replace(s, phases=tuple(replace(p, actions=_spoken(p.actions)) for p in s.phases))
