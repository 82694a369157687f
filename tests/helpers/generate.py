"""Random rule sets over all constructs, small and (nearly always) without an error.

`generate(seed)` gives the same text for the same seed. What a statement reads was mostly written before it, so circles
do not arise; `previous of` may name anything. The statements of some files are shuffled: their order means nothing.
"""

import re
from dataclasses import dataclass, field
from random import Random

from tests.helpers.generate_claims import assumption, claims
from tests.helpers.phrases import Pool, Writer

CYCLES = ("from 20 ms to 100 ms", "from 50 ms to 50 ms", "from 10 ms to 30 ms", "from 40 ms to 60 ms")
"""The third and fourth pace the runs differently: the last has a longest cycle of less than twice the shortest."""


def generate(seed: int, *, devices: bool = False) -> str:
    """The text of a rule file. With `devices` it says something about the transmitter, and some claims are strict."""
    return _Draft(Random(f"rules {seed}"), Random(f"device {seed}") if devices else None).text()


@dataclass
class _Draft:
    rng: Random
    devices: Random | None = None
    pool: Pool = field(default_factory=Pool)
    lines: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.write = Writer(self.rng, self.pool)
        self.count = 0

    def name(self, stem: str) -> str:
        self.count += 1
        return f"{stem}_{self.count}"

    def some(self, low: int, high: int) -> range:
        return range(self.rng.randint(low, high))

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent

    def text(self) -> str:
        self.inputs()
        if self.devices is not None:
            self.device(self.devices)
        self.constants()
        self.logic()
        self.acting(last=False)
        self.logic()
        if self.chance(60):
            self.acting(last=True)
        self.roles()
        self.lines += [self.strictly(line) for line in claims(self.rng, self.write)]
        if self.chance(30):
            self.lines.append(assumption(self.rng, self.write))
        self.extras()
        body = [self.write.settled(line) for line in self.lines]
        if self.chance(30):
            self.rng.shuffle(body)
        if self.chance(20):
            body.insert(self.rng.randrange(len(body)), "# a remark between two statements")
        head = [f'rules "Made by chance" version "{self.rng.randint(1, 9)}"']
        if self.chance(90):
            basis = self.rng.choice(("", " assumed", ' assumed "a guess"', ' measured 2025-03-01 "a log"'))
            head.append(f"cycle {self.rng.choice(CYCLES)}{basis}")
        return "\n".join([*head, *body, ""])

    # ---------- inputs and constants

    def inputs(self) -> None:
        for _ in self.some(1, 2):
            name, positions = self.name("lever"), self.rng.choice((("off", "on"), ("low", "mid", "high")))
            self.lines.append(f"switch {name} positions {', '.join(positions)}")
            self.pool.switches[name] = positions
            self.pool.signals += [f"{name} is {self.rng.choice(positions)}", f"{name} is not {positions[0]}"]
        if self.chance(50):
            name = self.name("button")
            self.lines.append(f"button {name}")
            self.pool.signals += [f"{name} is pressed", f"{name} is released"]
        for _ in self.some(1, 2):
            name, low = self.name("stick"), self.rng.choice((0, -100))
            self.lines.append(f"stick {name} from {low} % to 100 %")
            self.pool.sticks.append(name)
            self.pool.numbers["%"].append(name)
        if self.chance(40):
            name = self.name("wait")
            self.lines.append(f"knob {name} from 0 s to {self.rng.choice(('0.3 s', '1 s'))}")
            self.pool.numbers["s"].append(name)
            self.pool.delays.append(name)
        for unit in ("m", "V"):
            if self.chance(60 if unit == "m" else 25):
                self.sensor(unit)

    def device(self, rng: Random) -> None:
        reads = rng.choice(("this cycle", "last cycle", "listed order", "unknown order"))
        clauses = [f"reads {reads}", f"starts {rng.choice(('reset', 'any'))}"]
        if rng.randrange(2):
            clauses.append(f"gives woken for {rng.choice(('60 ms', '0.2 s'))}")
            self.pool.signals += ["woken", "woken"]
        if rng.randrange(3) == 0:
            clauses.append(f"first frame after {rng.choice(('100 ms', '0.5 s'))}")
        rng.shuffle(clauses)
        basis = (' measured 2025-02-03 "two lamps"', " assumed", "")
        self.lines.append(f"device {{ {'  '.join(c + rng.choice(basis) for c in clauses)} }}")

    def strictly(self, claim: str) -> str:
        if self.devices is None or self.devices.randrange(4):
            return claim
        word, name, rest = re.fullmatch(r"(claim) (\w+)(.*)", claim, re.DOTALL).groups()  # type: ignore[union-attr]
        return f"{word} {name} strict{rest}"

    def sensor(self, unit: str) -> None:
        rng, name = self.rng, self.name("height" if unit == "m" else "pack")
        clauses = [f"from {rng.choice((-10, 0))} {unit} to {rng.choice((40, 100))} {unit}"]
        if self.chance(60):
            clauses.append(f"step {rng.choice(('0.5', '1', '2'))} {unit}")
        if self.chance(50):
            clauses.append(f"frame every {rng.choice(('150 ms', '0.3 s'))}")
            self.pool.arriving.append(name)
        if self.chance(70):
            clauses.append(f"stale after {rng.choice(('0.3 s', '0.5 s', '1 s'))}")
            clauses += rng.choice(([], ["once stale keeps value"], [f"once stale reads {rng.choice((0, 20))} {unit}"]))
            self.pool.signals += [f"{name} is stale", f"{name} is fresh"]
        if self.chance(60):
            clauses.append(f"error {rng.choice(('0', '1', '0.25'))} {unit}")
        if self.chance(50):
            clauses.append(f"changes from -{rng.choice((5, 20))} {unit}/s to {rng.choice((4, 30))} {unit}/s")
            self.pool.true.append((f"truth of {name}", unit))
            if self.chance(40):
                clauses.append("lag 100 ms")
        rng.shuffle(clauses)
        basis = (' measured 2025-02-03 "on the bench"', " assumed", "")
        self.lines.append(f"sensor {name} {{ {'  '.join(c + rng.choice(basis) for c in clauses)} }}")
        self.pool.numbers[unit].append(name)
        self.pool.signals.append(f"{name} is heard")
        self.pool.numbers["s"].append(f"age of {name}")
        self.pool.sensors.append((name, unit))

    def constants(self) -> None:
        rng, numbers = self.rng, self.pool.numbers
        if self.chance(40):
            name = self.name("delay")
            low = rng.choice(("0 s", "0.1 s"))
            self.lines.append(f"tune {name} = 0.2 s from {low} to 0.5 s")
            numbers["s"].append(name)
            self.pool.delays.append(name)
            if low != "0 s":
                self.pool.fixed["s"].append(name)
        if self.chance(50):
            low, high = self.name("floor"), self.name("release")
            self.lines += [f"tune {low} = 20 m from 10 m to 30 m", f"tune {high} = 35 m from 15 m to 60 m"]
            self.lines.append(f"require {high} is at least {low} + {rng.choice((0, 5))} m")
            numbers["m"] += [low, high]
            self.pool.fixed["m"] += [low, high]
        if self.chance(40):
            name = self.name("gain")
            self.lines.append(f"tune {name} = 0.5 from 0.25 to 1 in steps of 0.25")
            self.pool.factors.append(name)
        if self.chance(30):
            name = self.name("speed")
            self.lines.append(f"tune {name} = 40 %/s from 20 %/s to 60 %/s in steps of 20 %/s")
            self.pool.rates.append(name)
        if self.chance(40):
            name = self.name("span")
            self.lines.append(f"fact {name} = {rng.choice(('12 m', '8 m to 15 m'))} assumed")
            numbers["m"].append(name)
            self.pool.fixed["m"].append(name)
        if self.chance(30):
            name = self.name("power")
            self.lines.append(f"tune {name} = 40 % from 20 % to 70 %")
            numbers["%"].append(name)
            self.pool.fixed["%"].append(name)
        if self.chance(15):
            name = self.name("cells")
            self.lines.append(f"fact {name} = 3")
            self.pool.factors.append(name)

    # ---------- logic

    def logic(self) -> None:
        makers = [self.signal, self.latch, self.value, self.counter, self.sample, self.part]
        for _ in self.some(1, 3):
            self.rng.choices(makers, (4, 4, 2, 2, 2, 1))[0]()

    def signal(self) -> None:
        name = self.name("sign")
        if self.chance(8):
            self.lines.append(f"signal {name} = (not {name}) for {self.write.delay(positive=True)}")
        else:
            self.lines.append(f"signal {name} = {self.write.signal(2)}")
        self.pool.signals.append(name)

    def latch(self) -> None:
        name, w = self.name("latch"), self.write
        clauses = [f"set when {w.signal(2)}" for _ in self.some(1, 2)]
        clauses += [f"reset when {w.signal(1)}" for _ in self.some(1, 2)]
        if self.chance(10):
            clauses.append(f"reset when {w.operand(1)} and ({name} for {w.delay()})")
        if self.chance(25):
            clauses.append("set wins")
        if self.chance(40):
            blocked = ("", f" then blocked until {w.operand(1)}", f" then blocked for {w.delay()}")
            clauses.append(f"timeout {w.delay(positive=True)}{self.rng.choice(blocked)}")
        self.rng.shuffle(clauses)
        self.lines.append(f"latch {name} {{ {'  '.join(clauses)} }}")
        self.pool.signals += [name, name]

    def value(self) -> None:
        name, unit = self.name("value"), self.write.unit()
        self.lines.append(f"value {name} = {self.write.number(unit, 2)}")
        self.pool.numbers[unit].append(name)

    def counter(self) -> None:
        name, w = self.name("tries"), self.write
        clauses = [f"counts {w.signal(1)}", f"clears when {w.signal(1)}", f"at most {self.rng.randint(1, 4)}"]
        if self.chance(20):
            clauses.append(f"clears when {w.operand(1)}")
        self.rng.shuffle(clauses)
        self.lines.append(f"counter {name} {{ {'  '.join(clauses)} }}")
        self.pool.numbers[""].append(name)

    def sample(self) -> None:
        name, unit = self.name("kept"), self.write.unit()
        first = self.write.constant(unit)
        self.lines.append(f"sample {name} = {self.write.number(unit, 1)} when {self.write.signal(1)} first {first}")
        self.pool.numbers[unit].append(name)

    def part(self) -> None:
        part, use, w = self.name("part"), self.name("use"), self.write
        inner = self.rng.choice((
            "latch out { set when demand for wait  reset when not demand }",
            "latch l { set when demand begins  reset when demand ends  timeout wait } signal out = l extended 0.1 s",
            "counter n { counts demand  clears when (not demand) for wait  at most 3 } signal out = n is at least 2",
            "signal out = demand pulsed wait",
        ))  # fmt: skip
        self.lines.append(f"part {part} takes signal demand, value wait gives out {{ {inner} }}")
        self.lines.append(f"use {part} as {use} with demand = {w.operand(1)}, wait = {w.delay(cycles=False)}")
        self.pool.signals.append(f"{use}.out")

    # ---------- actions

    def acting(self, *, last: bool) -> None:
        """Rules and sequences on new channels; the channels may be read after them."""
        channels = [self.channel() for _ in self.some(1, 2)]
        controls = [self.rng.choice(self.pool.sticks)] if not last and self.chance(25) else []
        rules: list[str] = []
        told: list[str] = []
        for number in range(self.rng.randint(1, 2)):
            name = self.name("rule")
            text, means = self.write.actions(channels, controls)
            when = self.write.signal(1)
            if number == 0 and not last and self.chance(20):
                self.lines.append(f"role kill is {when}")
            self.lines.append(f"rule {name} while {when} {{ {text} }}")
            rules.append(name)
            told += [f"{name}.{m}" for m in means]
        if self.chance(35):
            name, phases = self.name("seq"), []
            count = self.rng.randint(1, 3)
            for k in range(count):
                text, _ = self.write.actions(channels, [], few=True)
                end = self.rng.choice((f"for {self.write.delay(fixed=True)}", f"until {self.write.operand(1)}"))
                phases.append(f"phase step_{k} {end if k + 1 < count or self.chance(30) else ''} {{ {text} }}")
                told.append(f"{name}.step_{k}")
            self.lines.append(f"sequence {name} while {self.write.signal(1)} {{ {' '.join(phases)} }}")
            rules.append(name)
        if len(rules) > 1 and self.chance(80):
            self.lines.append(f"priority {' over '.join(rules)}")
        self.pool.signals += told
        for name in channels:
            self.pool.channels.append(name)
            self.pool.numbers["%"] += [name, f"pilot_value of {name}"]
            states = self.rng.sample(("free", "driven", "moved", "limited"), 2)
            self.pool.signals += [f"{name} is {state}" for state in states]
        self.pool.signals += [f"{name} is {self.rng.choice(('driven', 'free', 'moved'))}" for name in controls]

    def channel(self) -> str:
        rng, name = self.rng, self.name("channel")
        low = rng.choice((0, -100))
        stick = rng.choice(self.pool.sticks)
        switch = rng.choice(list(self.pool.switches))
        rows = ", ".join(f"{p} {rng.choice((0, 50, 100))} %" for p in self.pool.switches[switch])
        source = rng.choice((
            f"follows {stick}", f"follows {stick}", f"follows 0.6 * {stick} + 0.4 * {rng.choice(self.pool.sticks)}",
            f"follows {switch} as {rows}", f"rests at {rng.choice((0, 30))} %", f"follows {stick} - 10 %",
        ))  # fmt: skip
        clauses = [source, f"from {low} % to 100 %"]
        if self.chance(30):
            clauses.append(f"up is {rng.choice(('negative', 'positive'))}")
            self.pool.words[name] = ("up", "down")
        if self.chance(10):
            clauses.append("trim at most 10 %")
        self.pool.low[name] = low
        number = f" {self.count}" if self.chance(50) and self.count <= 32 else ""
        self.lines.append(f"channel {name}{number} {{ {'  '.join(clauses)} }}")
        return name

    # ---------- the rest

    def roles(self) -> None:
        for role in ("arm", "landing", "launch"):
            if self.chance(10):
                self.lines.append(f"role {role} is {self.write.signal(1)}")
                self.pool.signals.append(role)

    def extras(self) -> None:
        if self.chance(20):
            self.lines.append("stage quiet { warn only }")
