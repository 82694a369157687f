"""Random phrases of the rule language: signals, numbers, delays, actions, over the names that there are so far."""

import re
from dataclasses import dataclass, field
from random import Random

UNITS = ("m", "%", "s", "V", "")
LATE = re.compile(r"@late(signal|number)\[([^\]]*)\]@")


@dataclass
class Pool:
    """What may be named. `fixed`: tunes and facts by unit; `true`: true quantities, which only claims may speak of."""

    switches: dict[str, tuple[str, ...]] = field(default_factory=dict)
    sticks: list[str] = field(default_factory=list)
    channels: list[str] = field(default_factory=list)
    low: dict[str, int] = field(default_factory=dict)
    words: dict[str, tuple[str, ...]] = field(default_factory=dict)
    signals: list[str] = field(default_factory=list)
    numbers: dict[str, list[str]] = field(default_factory=lambda: {unit: [] for unit in UNITS})
    fixed: dict[str, list[str]] = field(default_factory=lambda: {unit: [] for unit in UNITS})
    true: list[tuple[str, str]] = field(default_factory=list)
    sensors: list[tuple[str, str]] = field(default_factory=list)
    arriving: list[str] = field(default_factory=list)
    delays: list[str] = field(default_factory=list)
    factors: list[str] = field(default_factory=list)
    rates: list[str] = field(default_factory=list)


@dataclass
class Writer:
    rng: Random
    pool: Pool

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent

    # ---------- numbers

    def unit(self) -> str:
        """A unit in which something can be named."""
        return self.rng.choice([u for u in UNITS if u and self.pool.numbers[u]])

    def constant(self, unit: str) -> str:
        match unit:
            case "%":
                return f"{self.rng.choice((0, 10, 25, 50, 80, 100))} %"
            case "s":
                return self.rng.choice(("0 s", "0.1 s", "0.25 s", "0.5 s"))
            case "":
                return str(self.rng.randint(0, 3))
            case _:
                return f"{self.rng.choice((0, 5, 12, 20, 33, 60))} {unit}"

    def number(self, unit: str, depth: int) -> str:
        """A term that may stand anywhere in a sum."""
        if depth == 0 or self.chance(40):
            known = self.pool.numbers[unit]
            return self.rng.choice(known) if known and self.chance(75) else self.constant(unit)
        a, b = self.number(unit, depth - 1), self.number(unit, depth - 1)
        factor = self.rng.choice((*self.pool.factors, "0.5", "2", "1.25"))
        divisor = self.rng.choice((*self.pool.factors, "2", "4"))
        return self.rng.choice((
            f"({a} + {b})", f"({a} - {b})", f"({factor} * {a})", f"({a} / {divisor})", f"size of ({a} - {b})",
            f"smaller of ({a}, {b})", f"larger of ({a}, {b})", f"previous of ({a})",
            f"previous of @latenumber[{unit}]@",
        ))  # fmt: skip

    # ---------- signals

    def atom(self) -> str:
        if self.pool.signals and self.chance(55):
            return self.rng.choice(self.pool.signals)
        return self.comparison(0)

    def comparison(self, depth: int) -> str:
        rng = self.rng
        unit = "" if self.pool.numbers[""] and self.chance(15) else self.unit()
        a, b = self.named(unit, depth), self.number(unit, depth)
        if unit == "":
            b = self.constant("")
        match rng.randrange(10):
            case 0:
                low, high = sorted(rng.sample(range(0, 60, 5), 2))
                return f"{a} is from {low}{unit and ' ' + unit} to {high}{unit and ' ' + unit}"
            case 1:
                low, high = sorted(rng.sample(range(0, 60, 5), 2))
                low_word, high_word = f"{low}{unit and ' ' + unit}", f"{high}{unit and ' ' + unit}"
                below, above = rng.choice((("below", "above"), ("at most", "at least")))
                if rng.random() < 0.5:
                    return f"{a} is {below} {low_word} until {above} {high_word}"
                return f"{a} is {above} {high_word} until {below} {low_word}"
            case 2 if unit == "%":
                return f"{a} is equal to {b}"
            case 3 if unit in ("%", "m", "V"):
                whose = f"rate of ({a})" if " " in a else f"rate of {a}"
                subject = rng.choice((whose, f"size of ({whose})"))
                relation = rng.choice(("below", "above", "at least", "at most"))
                return f"{subject} is {relation} {rng.choice((0, 5, 20, 80))} {unit}/s"
            case _:
                return f"{a} is {rng.choice(('below', 'above', 'at least', 'at most'))} {b}"

    def named(self, unit: str, depth: int) -> str:
        return self.number(unit, depth) if depth else self.rng.choice(self.pool.numbers[unit])

    def operand(self, depth: int) -> str:
        """What may stand beside `and`."""
        return self.atom() if depth <= 0 or self.chance(35) else f"({self.signal(depth)})"

    def signal(self, depth: int) -> str:
        """What may stand where a clause begins or inside brackets."""
        rng = self.rng
        if depth <= 0:
            return self.atom()
        a, b = self.operand(depth - 1), self.operand(depth - 1)
        timed = a if self.chance(70) else f"({a})"
        match rng.randrange(14):
            case 0 | 1 | 2:
                return f"{a} and {b}"
            case 3 | 4:
                return f"{a} or {b}"
            case 5:
                return f"not {a if ' ' not in a else f'({a})'}"
            case 6:
                return f"{timed} for {self.delay()}"
            case 7:
                return f"{timed} extended {self.delay()}"
            case 8:
                return f"{timed} pulsed {self.delay()}"
            case 9:
                return f"{timed} {rng.choice(('begins', 'ends'))}"
            case 10:
                return f"exactly_one of ({a}, {b}, {self.operand(depth - 1)})"
            case 11:
                return rng.choice((f"previous of ({a})", "previous of @latesignal[]@"))
            case 12:
                return self.comparison(depth)
            case _:
                return self.atom()

    # ---------- times

    def delay(self, *, positive: bool = False, cycles: bool = True, fixed: bool = False) -> str:
        rng = self.rng
        steady = ("50 ms", "0.1 s", "0.12 s", "0.25 s", "0.4 s", "1 s")
        if positive:
            return rng.choice((*steady, "3 cycles") if cycles else steady)
        if self.pool.delays and not fixed and self.chance(30):
            return rng.choice(self.pool.delays)
        if cycles and self.chance(25):
            return rng.choice(("1 cycle", "2 cycles", "5 cycles"))
        return rng.choice((*steady, "0 s") if not fixed else steady)

    # ---------- actions

    def actions(self, channels: list[str], controls: list[str], *, few: bool = False) -> tuple[str, list[str]]:
        """The text of a rule's actions, and which announcements it makes."""
        rng, made, means = self.rng, [], []
        targets = [c for c in (*channels, *controls) if self.chance(70)]
        for name in targets[: 1 if few else None]:
            made.append(self.action(name))
            if self.chance(15):
                made.append(self.action(name, other=made[-1].split()[0]))
        for kind in ("voice", "tone", "vibration"):
            if self.chance(30 if kind == "voice" else 8):
                every = f" every {self.delay(positive=True)}" if self.chance(50) else ""
                made.append(f'announce {kind} "told"{every}')
                means.append(kind)
        if means:
            means.append("announced")
        return "  ".join(made), [m for m in means if rng.random() < 0.7]

    def action(self, name: str, other: str = "") -> str:
        rng = self.rng
        kind = rng.choice([k for k in ("drive", "move", "limit") if k != other])
        amount = rng.choice((f"{rng.choice((0, 20, 60, 100))} %", *self.pool.fixed["%"]))
        up, down = self.pool.words.get(name, ("more", "less"))
        rates = ("40 %/s", "150 %/s", *self.pool.rates)
        words = [word for word in ("after", f"ramp {up}", f"ramp {down}", "hand back") if self.chance(25)]
        modifiers = [f"{word} {self.delay() if word == 'after' else rng.choice(rates)}" for word in words]
        rng.shuffle(modifiers)
        tail = "".join(f"  {m}" for m in modifiers)
        match kind:
            case "drive":
                stick = rng.choice(self.pool.sticks)
                target = rng.choice((amount, amount, f"larger of (0 %, smaller of (100 %, {stick}))"))
                return f"drive {name} to {target}{tail}"
            case "move":
                return f"move {name} {rng.choice((up, down))} by {rng.choice((5, 15, 40))} %{tail}"
            case _:
                return f"limit {name} to at {rng.choice(('least', 'most'))} {amount}{tail}"

    # ---------- names that come later

    def settled(self, text: str) -> str:
        """Names put in where `previous of` left them open."""

        def choose(found: re.Match[str]) -> str:
            if found[1] == "signal":
                names = [s for s in self.pool.signals if " " not in s]
                return self.rng.choice(names) if names else f"({self.rng.choice(self.pool.signals)})"
            known = [n for n in self.pool.numbers[found[2]] if " " not in n and not n.startswith("value")]
            return self.rng.choice(known) if known else f"({self.constant(found[2])})"

        return LATE.sub(choose, text)
