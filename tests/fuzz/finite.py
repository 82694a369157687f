"""Random rule sets whose states can be counted: a fixed cycle (or two times), few inputs, spans of a few cycles."""

from random import Random

CYCLES = ("from 10 ms to 10 ms",) * 4 + ("from 10 ms to 20 ms", "from 10 ms to 15 ms")
SPANS = ("0 s", "10 ms", "20 ms", "25 ms", "30 ms", "40 ms", "1 cycle", "2 cycles")


def finite(seed: int) -> str:
    """The text of a rule file; the same for the same seed."""
    return _Draft(Random(f"finite {seed}")).text()


class _Draft:
    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.signals: list[str] = []
        self.numbers: list[tuple[str, str]] = []
        self.arriving = False

    def chance(self, percent: int) -> bool:
        return self.rng.randrange(100) < percent

    def span(self) -> str:
        return self.rng.choice(SPANS)

    def positive(self) -> str:
        return self.rng.choice(SPANS[1:])

    def text(self) -> str:
        rng = self.rng
        lines = ['rules "Countable" version "1"', f"cycle {rng.choice(CYCLES)}", *self.inputs()]
        lines += [self.element(f"thing_{k}") for k in range(rng.randint(1, 3))]
        if self.chance(40):
            lines += self.acting()
        for k in range(rng.randint(1, 2)):
            provided = " provided height keeps arriving" if self.arriving and self.chance(40) else ""
            scope = rng.choice(("", "", "", f" while {self.signal(0)}", f" since {self.operand()}"))
            lines.append(f"claim claim_{k}: {self.form()}{scope}{provided}")
        if self.chance(15):
            lines.append(f"assume calm: whenever {self.atom()} then {self.atom()}")
        return "\n".join([*lines, ""])

    def inputs(self) -> list[str]:
        rng = self.rng
        positions = rng.choice((("off", "on"), ("low", "mid", "high")))
        lines = [f"switch lever positions {', '.join(positions)}"]
        self.signals += [f"lever is {p}" for p in positions]
        if self.chance(50):
            lines.append("button key")
            self.signals += ["key is pressed", "key is pressed"]
        if self.chance(40):
            lines.append("stick s from 0 % to 100 %")
            self.signals += ["s is above 50 %", "s is at most 20 %"]
            self.numbers.append(("s", "%"))
        if self.chance(45):
            clauses = ["from 0 m to 3 m", "step 1 m", f"stale after {rng.choice(('20 ms', '30 ms'))}"]
            if self.chance(50):
                clauses.append(f"frame every {rng.choice(('10 ms', '20 ms'))}")
                self.arriving = True
            if self.chance(30):
                clauses.append("once stale reads 0 m")
            lines.append(f"sensor height {{ {'  '.join(clauses)} }}")
            self.signals += ["height is above 1 m", "height is below 2 m", "height is stale", "height is fresh"]
            self.numbers.append(("height", "m"))
        return lines

    def atom(self) -> str:
        return self.rng.choice(self.signals)

    def operand(self) -> str:
        made = self.signal(1)
        return f"({made})"

    def signal(self, depth: int = 1) -> str:
        rng, a = self.rng, self.atom()
        if depth == 0 or self.chance(30):
            return a
        b = self.atom()
        return rng.choice((
            f"{a} and not ({b})", f"{a} and {b}", f"{a} or {b}", f"not ({a})",
            f"({a}) for {self.span()}", f"({a}) extended {self.span()}", f"({a}) pulsed {self.span()}",
            f"({a}) begins", f"({a}) ends", f"previous of ({a})", f"({a} and {b}) for {self.positive()}",
        ))  # fmt: skip

    def element(self, name: str) -> str:
        kind = self.rng.choice(("signal", "latch", "latch", "counter", "sample"))
        if kind == "sample" and not self.numbers:
            kind = "latch"
        match kind:
            case "signal":
                line = f"signal {name} = {self.signal()}"
            case "latch":
                clauses = [f"set when {self.signal()}", f"reset when {self.signal()}"]
                if self.chance(25):
                    clauses.append("set wins")
                if self.chance(40):
                    blocked = self.rng.choice((
                        "", f" then blocked until {self.operand()}", f" then blocked for {self.positive()}"
                    ))  # fmt: skip
                    clauses.append(f"timeout {self.positive()}{blocked}")
                line = f"latch {name} {{ {'  '.join(clauses)} }}"
            case "counter":
                line = f"counter {name} {{ counts {self.signal()}  clears when {self.signal()}  at most 2 }}"
                self.signals += [f"{name} is at least 2", f"{name} is equal to 1"]
                return line
            case _:
                number, unit = self.rng.choice(self.numbers)
                line = f"sample {name} = {number} when {self.signal()} first 1 {unit}"
                self.signals.append(f"{name} is above 1 {unit}")
                return line
        self.signals += [name, name]
        return line

    def acting(self) -> list[str]:
        source = "follows s" if any(n == "s" for n, _ in self.numbers) else "rests at 0 %"
        action = self.rng.choice((
            "drive motor to 70 %", "limit motor to at most 40 %", f"drive motor to 70 % after {self.positive()}",
            "drive motor to 40 % ramp up 2000 %/s", "drive motor to 50 % hand back 2500 %/s",
        ))  # fmt: skip
        lines = [f"channel motor {{ {source}  from 0 % to 100 % }}", f"rule act while {self.signal()} {{ {action} }}"]
        self.signals += ["motor is above 50 %", "motor is driven", "motor is free"]
        self.numbers.append(("motor", "%"))
        return lines

    def form(self) -> str:
        rng, a, b = self.rng, self.operand(), self.operand()
        choices = [
            f"never {self.operand()} and {self.atom()}", f"always {a} or {b}", f"whenever {a} then {b}",
            f"whenever {a} then {b} within {self.span()}", f"before {a} comes {b}",
            f"starts of {a} at most {rng.randint(1, 2)} in {self.positive()}",
            f"for {self.positive()} after {a} never {b}", f"length of {a} at least {self.positive()}",
            f"length of {a} at most {self.positive()}", f"can {a} then {b}", f"can {a} then {b} then {self.operand()}",
        ]  # fmt: skip
        if self.numbers:
            number, unit = rng.choice(self.numbers)
            choices.append(f"step of {number} at most {rng.choice((1, 40))} {unit} in {self.positive()}")
        return rng.choice(choices)
