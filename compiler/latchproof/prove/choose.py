"""Free choices in a model made as a person would make them. Each is kept only if the goal stays in reach."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor

import z3

from latchproof.machine.model import Input
from latchproof.prove.encode import real
from latchproof.prove.unrolling import Step, Unrolling, number

ROUND_NUMBERS = tuple(Fraction(n) for n in ("10", "5", "1", "0.5", "0.1", "0.05", "0.01", "0.005", "0.001"))
"""Steps of numbers that a person would say, coarse to fine, in base units."""

FURTHEST = 12
"""How many of a sensor's steps away a reading is looked for that the sensor can show."""

EFFORT = 10_000_000
"""What may be spent on wishes, in the solver's own units (some five seconds); the rest are met only by chance. Counted
and not timed, so that the same question gives the same path on any machine."""


def choose(engine: Unrolling) -> z3.ModelRef:
    """A model of the solver's assertions with as few changes and as round numbers as can be had."""
    chooser = Chooser(engine.solver)
    system = engine.encoder.system
    chooser.prefer(engine.encoder.parameters[p.name] == real(p.value) for p in system.parameters)
    _calm(engine, chooser)
    for p in system.parameters:
        chooser.round(engine.encoder.parameters[p.name])
    for step in engine.steps:
        for inputs in (step.inputs, step.meanwhile):
            for i in system.inputs:
                _read(chooser, i, inputs)
    _keep_truths(engine, chooser)
    for step in engine.steps:
        for i in system.inputs:
            if i.sort == "number" and i.grid is None:
                chooser.round(step.inputs[i.name])
                chooser.round(step.meanwhile[i.name])
        chooser.round(step.wait)
    for s in system.states:
        if s.initial is None and s.sort == "number":
            chooser.round(engine.first[s.name])
    return chooser.model


def _read(chooser: "Chooser", i: Input, inputs: Mapping[str, z3.ExprRef]) -> None:
    """A reading that arrives is one that the sensor can show; what does not arrive is nobody's business."""
    sensor, _, kind = i.name.partition("@")
    if kind != "reading":
        return
    frame = inputs[f"{sensor}@frame"]
    arrives = z3.is_true(chooser.model.eval(frame, model_completion=True))
    chooser.want(frame == z3.BoolVal(arrives))
    if arrives:
        chooser.on_grid(inputs[i.name], i)


class Chooser:
    """Assertions are added one wish at a time; a wish that cannot be met is dropped."""

    def __init__(self, solver: z3.Solver) -> None:
        self.solver = solver
        self.model = self._solve()
        self._before = self._spent()

    def _solve(self) -> z3.ModelRef:
        answer = self.solver.check()
        if answer != z3.sat:
            raise RuntimeError(f"a model was lost: {answer}")
        return self.solver.model()

    def _spent(self) -> int:
        counts = self.solver.statistics()
        return int(counts.get_key_value("rlimit count")) if "rlimit count" in counts.keys() else 0  # noqa: SIM118

    def want(self, wish: z3.BoolRef) -> bool:
        """Meet the wish if that is possible."""
        if z3.is_true(self.model.eval(wish, model_completion=True)):
            self.solver.add(wish)
            return True
        if self._spent() - self._before > EFFORT or self.solver.check(wish) != z3.sat:
            return False
        self.model = self.solver.model()
        self.solver.add(wish)
        return True

    def prefer(self, wishes: Iterable[z3.BoolRef]) -> None:
        """All of them at once if possible, else by halves, down to each one alone."""
        several = list(wishes)
        if not several or self.want(z3.And(*several)) or len(several) == 1:
            return
        half = len(several) // 2
        self.prefer(several[:half])
        self.prefer(several[half:])

    def round(self, x: z3.ArithRef) -> None:
        """The value it has or the nearest round one that still does."""
        value = number(self.model, x)
        for step in ROUND_NUMBERS:
            if any(self.want(x == real(v)) for v in _near(value, step)):
                return
        self.want(x == real(value))

    def on_grid(self, x: z3.ArithRef, i: Input) -> None:
        """A round value among a sensor's own steps, else one of its steps nearby; what none of them allows stays
        open."""
        if i.grid is None:
            self.round(x)
            return
        low, value = i.low or Fraction(0), number(self.model, x)
        coarse = [s for s in ROUND_NUMBERS if s >= i.grid and (s / i.grid).denominator == 1]
        for step in (*coarse, i.grid):
            for v in _near(value, step):
                if ((v - low) / i.grid).denominator == 1 and self.want(x == real(v)):
                    return
        for far in range(2, FURTHEST):
            middle = low + floor((value - low) / i.grid) * i.grid
            if any(self.want(x == real(middle + sign * far * i.grid)) for sign in (1, -1)):
                return


def _near(value: Fraction, step: Fraction) -> tuple[Fraction, ...]:
    """The multiples of a step around a value, the nearer one first."""
    below, above = floor(value / step) * step, ceil(value / step) * step
    near = (below, above) if value - below <= above - value else (above, below)
    return tuple(dict.fromkeys(near))


def _calm(engine: Unrolling, chooser: Chooser) -> None:
    """Nothing moves that need not: inputs as in the moment before, no wait where none is needed, one cycle time."""
    system = engine.encoder.system
    usual = real(system.longest)
    chooser.prefer(s.dt == usual for s in engine.steps)
    chooser.prefer(z3.Not(engine.first[s.name]) for s in system.states if s.initial is None and s.sort == "bool")
    chooser.prefer(
        engine.first[s.name] == 0
        for s in system.states
        if s.initial is None and s.sort == "number" and not s.name.endswith("@was")
    )
    previous: Step | None = None
    for step in engine.steps:
        wishes = _unchanged(system.inputs, step, previous)
        chooser.prefer(wishes)
        previous = step
    chooser.prefer(z3.Not(s.waits) for s in engine.steps)
    for step in engine.steps:
        chooser.prefer(_silent(system.inputs, step))


def _unchanged(inputs: Sequence[Input], step: Step, previous: Step | None) -> list[z3.BoolRef]:
    wishes: list[z3.BoolRef] = []
    for i in inputs:
        x, (sensor, _, kind) = step.inputs[i.name], i.name.partition("@")
        if kind in {"frame", "truth"}:
            continue
        if kind == "reading":
            shown = step.before.get(f"{sensor}@last")
            if shown is not None:
                wishes.append(z3.Implies(step.inputs[f"{sensor}@frame"], x == shown))
            continue
        if previous is not None:
            wishes.append(x == previous.meanwhile[i.name])
        elif i.sort == "bool":
            wishes.append(z3.Not(x))
        else:
            zero = real(0) if i.low is None or i.low <= 0 else real(i.low)
            wishes.append(x == zero)
    return wishes


def _silent(inputs: Sequence[Input], step: Step) -> list[z3.BoolRef]:
    """During a wait a reading stays as it is."""
    return [step.meanwhile[i.name] == step.inputs[i.name] for i in inputs if i.name.endswith("@reading")]


def _keep_truths(engine: Unrolling, chooser: Chooser) -> None:
    """The truths move no more than they must; after the readings, which must be ones that the sensor can show."""
    for i in engine.encoder.system.inputs:
        if not i.name.endswith("@truth"):
            continue
        before = engine.first[f"{i.name.partition('@')[0]}@was"]
        chooser.prefer((before == 0,))
        for step in engine.steps:
            chooser.prefer((step.inputs[i.name] == before, step.meanwhile[i.name] == step.inputs[i.name]))
            before = step.meanwhile[i.name]
