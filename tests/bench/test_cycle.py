"""The pass that is made for the bench test does what the exact interpreter does."""

import random
from fractions import Fraction
from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.bench.can_do import Way, stripped
from latchproof.bench.cycle import at_power_up, cycle, unit_of
from latchproof.bench.hold import run
from latchproof.bench.play import MANNERS, bench, started
from latchproof.machine.model import Machine
from latchproof.run.interpreter import Interpreter, World
from tests.layout.house import ROOT

FILES = sorted((ROOT / "examples").glob("*/*.latch"))


def machine(path: Path) -> Machine:
    rules = pipeline.check(str(path)).rules
    assert rules is not None
    return pipeline.machine(stripped(rules))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_a_pass_is_a_cycle_of_the_interpreter(path: Path) -> None:
    m = machine(path)
    dice = random.Random(path.stem)
    names = tuple(i.name for i in m.inputs)
    unit = unit_of([m], [Fraction(1, 1000)])
    channels = tuple(m.definitions[c.name] for c in m.rules.channels)
    c = cycle(m, names, channels, (), unit)
    world, values = [], {i.name: (False if i.sort == "bool" else i.low) for i in m.inputs}
    for _ in range(150):
        for i in m.inputs:
            if dice.random() < 0.15:
                if i.sort == "bool":
                    values[i.name] = dice.random() < 0.5
                else:
                    assert i.low is not None
                    assert i.high is not None
                    values[i.name] = i.low + (i.high - i.low) * Fraction(dice.randrange(5), 4)
        world.append(World(Fraction(dice.choice((4, 25, 25, 25)), 1000), dict(values)))
    cells = at_power_up(m, c, "nothing")
    for w, record in zip(world, Interpreter(m).run(world), strict=True):
        given = tuple(w.inputs[n] if isinstance(w.inputs[n], bool) else c.amount(w.inputs[n]) for n in names)
        cells, _, shown = c.step(cells, given, c.amount(w.dt))
        assert [c.worth(x) for x in shown] == [record.values[x.name] for x in m.rules.channels]
        for name, value in zip(c.cells, cells, strict=True):
            assert (value if name in c.booleans else c.worth(value)) == record.after[name]


def test_a_long_wait_is_many_passes() -> None:
    rules = pipeline.check(str(ROOT / "examples/floor_guard/mended.latch")).rules
    assert rules is not None
    b = bench(rules, (), {"height": Way("knob")})
    c = b.cycles[0]
    quick, slow = (started(b, 0, MANNERS[0]) for _ in range(2))
    tick = c.amount(rules.cycle.longest)
    on = b.rest
    dice = random.Random(4)
    for _ in range(60):
        name, count = dice.choice([("guard", 2), ("motor_stop", 2), ("flaps", 3)])
        on = type(on)(
            tuple((n, dice.randrange(count) if n == name else k) for n, k in on.switches),
            on.controls,
            (("height", Fraction(dice.choice((0, 30, 50, 58, 70)))),) if dice.random() < 0.7 else on.readings,
            dice.random() < 0.8,
        )
        start, end = slow.values, b.values(on, 0)
        passes = dice.randrange(1, 400)
        heard = [[0] * len(b.sounds), [0] * len(b.sounds)]
        run(c, quick.memory, start, end, passes, tick, heard[0])
        for k in range(passes):
            at = tuple(
                y if isinstance(y, bool) or x == y else x + (y - x) * (k + 1) // passes
                for x, y in zip(start, end, strict=True)
            )
            run(c, slow.memory, at, at, 1, tick, heard[1])
        assert heard[0] == heard[1]
        assert quick.memory == slow.memory
        slow.values = quick.values = end
