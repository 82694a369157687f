"""A bench test carried out by the exact interpreter, pass by pass, by somebody who does just what the card says.

What is seen is worked out here anew from what the channels and announcements did; nothing of how the test was found is
used but the settings and what is expected.
"""

from fractions import Fraction

from latchproof.bench.can_do import KNOB, Bring, Hold, PowerCycle, Press, Setting
from latchproof.bench.trial import Trial
from latchproof.run.interpreter import Interpreter, Record, World
from latchproof.run.program import Exact

SIXTH_SENSE = Fraction(1, 200)


def worlds(t: Trial, k: int) -> list[list[World]]:
    """What the world does in each step, after the two seconds from switching on."""
    b = t.table.bench
    tick = b.rules.cycle.longest
    passes = [_passes(_inputs(t, b.rest), 2, tick)]
    for d in t.steps:
        before, after = _inputs(t, d.before), _inputs(t, d.after)
        made: list[World] = []
        match d.step.do:
            case PowerCycle():
                made += _passes(after, 2, tick)
            case Press(button):
                made += _passes({**after, button: True}, 1, tick)
            case Hold() | Bring() if d.before != d.after:
                moves = _moves(t, d.before, d.after)
                count = int(moves / tick)
                made += [World(tick, _between(before, after, Fraction(n + 1, count))) for n in range(count)]
            case _:
                pass
        passes.append(made + _passes(after, d.step.seconds, tick))
    return passes


def noticed(t: Trial, k: int) -> int | None:
    """The number of the first step in which machine k shows something else than the card says."""
    m = t.table.bench.machines[k]
    channels = [c.name for c in m.rules.channels]
    lasts = int(1 / t.table.bench.rules.cycle.longest)
    runner = Interpreter(m)
    parts: list[list[Record]] = []
    waiting: list[list[World]] = []
    for n, world in enumerate(worlds(t, k)):
        if n and isinstance(t.steps[n - 1].step.do, PowerCycle):
            parts += _cut(runner.run([w for part in waiting for w in part]), waiting)
            waiting = []
        waiting.append(world)
    parts += _cut(runner.run([w for part in waiting for w in part]), waiting)
    for n, d in enumerate(t.steps, 1):
        records, ended = parts[n], parts[n - 1][-1]
        for name, level, move, c in zip(channels, d.expected.levels, d.expected.moves, m.rules.channels, strict=True):
            travel = c.high - c.low
            last = [Fraction(r.values[name]) for r in records[-lasts:]]
            if level is not None:
                low, high = (t.table.bench.cycles[0].worth(x) for x in level)
                if min(last) - high >= travel / 5 or low - max(last) >= travel / 5:
                    return n
            way = last[-1] - Fraction(ended.values[name])
            if max(last) - min(last) <= travel / 200 and move != "either":
                seen = "stays" if abs(way) <= travel / 200 else "up" if way > 0 else "down"
                if seen != move and not travel / 200 < abs(way) < travel / 50:
                    return n
        for sound, (least, most) in zip(t.table.bench.sounds, d.expected.sounds, strict=True):
            times = sum(any(_says(m.rules, r, sound)) for r in records)
            if (most == 0 and times) or (least and not times):
                return n
            if (times >= 2 * most and times - most >= 2) or (least >= 2 * times and least - times >= 2):
                return n
    return None


def _says(rules, record: Record, sound):  # type: ignore[no-untyped-def]
    for rule in rules.rules:
        for a in rule.actions:
            if " sound " in rule.name and (a.means, a.text) == (sound.means, sound.text):
                yield record.values[f"{rule.name}.announced"]


def _cut(records: tuple[Record, ...], parts: list[list[World]]) -> list[list[Record]]:
    made, at = [], 0
    for part in parts:
        made.append(list(records[at : at + len(part)]))
        at += len(part)
    return made


def _inputs(t: Trial, s: Setting) -> dict[str, Exact]:
    rules = t.table.bench.rules
    given: dict[str, Exact] = {b.name: False for b in rules.buttons}
    for name, at in s.switches:
        count = next(len(x.positions) for x in rules.switches if x.name == name)
        given |= {f"{name}@{k}": k == at for k in range(1, count)}
    given |= dict(s.controls)
    for name, value in s.readings:
        given |= {f"{name}@frame": s.frames, f"{name}@reading": value, name + KNOB: value}
    return given


def _passes(inputs: dict[str, Exact], seconds: Fraction | int, tick: Fraction) -> list[World]:
    return [World(tick, inputs)] * int(seconds / tick)


def _moves(t: Trial, before: Setting, after: Setting) -> Fraction:
    for (name, a), (_, b) in zip(before.readings, after.readings, strict=True):
        if a != b and t.table.bench.ways[name].kind in ("stairs", "thresholds"):
            return max(Fraction(1), abs(a - b) * 2)
    return Fraction(1)


def _between(a: dict[str, Exact], b: dict[str, Exact], part: Fraction) -> dict[str, Exact]:
    return {n: y if isinstance(y, bool) or a[n] == y else a[n] + (y - a[n]) * part for n, y in b.items()}
