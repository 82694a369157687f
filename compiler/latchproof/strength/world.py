"""Facts and assumptions that contradict each other: in a world with no moment, or none after some moment, everything
would be proved."""

from collections.abc import Callable
from dataclasses import replace

from latchproof.diagnostics import Diagnostic, Label
from latchproof.machine.cone import System
from latchproof.machine.flat import flatten
from latchproof.machine.model import Constraint, Machine
from latchproof.prove.facts_alone import facts_alone
from latchproof.prove.found import Found
from latchproof.prove.tasks import Bounded, Progress
from latchproof.prove.workers import Workers
from latchproof.rules.model import RuleSet
from latchproof.source import Span


def contradictions(machine: Machine, workers: Workers, seconds: float) -> tuple[Diagnostic, ...]:
    """No first moment is an error; that time may stop is told as far as it is certain, with the facts that do it."""
    world = _world(machine)
    if not world.constraints:
        return ()
    if _begins(world, workers, seconds) is False:
        few = _fewest(world, lambda some: _begins(some, workers, seconds) is False)
        return (_impossible(few, machine.rules),)
    if _goes_on(world, workers, seconds):
        return ()
    few = _fewest(world, lambda some: not _goes_on(some, workers, seconds))
    return (_stops(few, machine.rules),)


def _world(machine: Machine) -> System:
    """All facts of the world, whichever claim they bear on."""
    known = (*machine.constraints, *(a.constraint for a in machine.assumed))
    cycle = machine.rules.cycle
    whole = System(
        "facts", "safe", machine.terms, (*machine.states, *machine.watching), (*machine.inputs, *machine.picks),
        machine.parameters, machine.requires, machine.starts, known, machine.terms.false, cycle.shortest, cycle.longest,
    )  # fmt: skip
    return facts_alone(whole)


def _begins(world: System, workers: Workers, seconds: float) -> bool | None:
    """Whether any first cycle is allowed; None when the time ran out."""
    once = replace(world, goal=world.terms.true)
    answer = workers.run(Bounded(flatten(once), False, 1, seconds), seconds)
    if not isinstance(answer, Found):
        return None
    return answer.stretches is not None or (None if answer.depth < 1 else False)


def _goes_on(world: System, workers: Workers, seconds: float) -> bool:
    return not world.constraints or workers.run(Progress(flatten(facts_alone(world))), seconds) is True


def _fewest(world: System, wrong: Callable[[System], bool]) -> tuple[Constraint, ...]:
    """Facts that are wrong together, and none of which can be spared for that."""
    left = list(world.constraints)
    for c in world.constraints:
        without = [x for x in left if x is not c]
        if without and wrong(replace(world, constraints=tuple(without))):
            left = without
    return tuple(left)


def _impossible(few: tuple[Constraint, ...], rules: RuleSet) -> Diagnostic:
    return Diagnostic(
        "no-first-cycle",
        "these leave the world no way to begin",
        _labels(few, rules),
        ("no flight keeps to all of them, so everything would be proved of it: change or take back one",),
    )


def _stops(few: tuple[Constraint, ...], rules: RuleSet) -> Diagnostic:
    return Diagnostic(
        "time-stops",
        "it is not certain that these always leave the world a way to go on",
        _labels(few, rules),
        ("where they leave it none, everything would be proved: say less in one of them, or give it a scope",),
        "warning",
    )


def _labels(few: tuple[Constraint, ...], rules: RuleSet) -> tuple[Label, ...]:
    places = dict.fromkeys(place for c in few if (place := _place(c.why, rules)) is not None)
    texts = ("this", *["and this"] * (len(places) - 1)) if len(places) > 1 else ("this alone",)
    return tuple(Label(place, text) for place, text in zip(places, texts, strict=True))


def _place(why: str, rules: RuleSet) -> Span | None:
    """Where the fact that a constraint comes from stands."""
    kind, _, name = why.partition(" of ") if " of " in why else why.partition(" ")
    if kind == "assumption":
        return next((a.span for a in rules.assumptions if a.name == name), None)
    return next((s.span for s in rules.sensors if s.name == name), None)
