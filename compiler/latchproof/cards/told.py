"""Rules in a pilot's words, for the cards: what a rule does, when, and what is behind the names in it."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import assert_never

from latchproof.hazards.causes import behind
from latchproof.hazards.site import Site
from latchproof.listing import amounts, plain
from latchproof.listing.fixed import Names, fixed, names_of, unit_of
from latchproof.machine.overview import mentions
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Drive, Latch, Limit, Modifiers, Move, Phase, Rule, RuleSet, Sequence

Actor = Rule | Sequence


@dataclass(frozen=True)
class Told:
    site: Site

    @property
    def rules(self) -> RuleSet:
        return self.site.rules

    @cached_property
    def names(self) -> Names:
        return names_of(self.rules)

    # ---------- numbers

    def amount(self, x: e.Number) -> str:
        """`power (45 %)` for what has a name, `45 %` for what has none."""
        value, said = fixed(x, self.names), plain.number(x)
        if value is None or isinstance(x, e.Constant):
            return said
        return f"{said} ({amounts.quantity(value, unit_of(x, self.names))})"

    def duration(self, d: e.Duration) -> str:
        if d.in_cycles:
            return plain.duration(d)
        return self.amount(d.amount)

    # ---------- actions

    def does(self, a: Drive | Move | Limit) -> str:
        """`takes motor to 45 %`, with its delay and whether it is gradual."""
        channel = plain.word(a.channel)
        match a:
            case Drive(target=target):
                said = f"takes {channel} to {self.amount(target)}"
            case Move(word=way, amount=by):
                said = f"moves {channel} {way} by {self.amount(by)}"
            case Limit(bound=bound, amount=at):
                said = f"keeps {channel} at {self.amount(at)} or {'more' if bound == 'least' else 'less'}"
            case _:
                assert_never(a)
        return said + self._how(a.modifiers)

    def _how(self, m: Modifiers) -> str:
        parts = [] if m.after is None else [f"after {self.duration(m.after)}"]
        if m.rising is not None or m.falling is not None:
            parts.append("gradually")
        if m.back is not None:
            parts.append("handed back gradually")
        return "".join(f", {p}" for p in parts)

    def sound(self, a: Announce) -> str:
        """`you hear "floor" every 2 s`."""
        verb = "feel" if a.means == "vibration" else "hear"
        what = {"voice": "a voice", "tone": "a tone", "vibration": "a vibration"}[a.means]
        text = f'"{a.text}"' if a.text and a.means == "voice" else f'{what} ("{a.text}")' if a.text else what
        again = "" if a.every is None else f" every {self.duration(a.every)}"
        return f"you {verb} {text}{again}"

    def heard(self, x: Actor | Phase) -> str:
        found = [self.sound(a) for a in _actions(x) if isinstance(a, Announce)]
        return "; ".join(dict.fromkeys(found)) or "you hear nothing: this rule has no sound of its own"

    def seen(self, x: Actor | Phase) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.does(a) for a in _actions(x) if not isinstance(a, Announce)))

    # ---------- conditions

    def when(self, x: Actor) -> str:
        return plain.signal(x.condition, self.rules)

    def latches(self, x: Actor) -> tuple[Latch, ...]:
        """Latches that make it act by being on, in the order in which they come on."""
        found = behind(self.site, x.condition).helping
        return tuple(sorted(found, key=lambda y: (len(behind(self.site, _any(y)).helping), y.name)))

    def begins(self, x: Actor) -> str:
        """`rescuing, which begins when armed and ...; armed begins when ...`: its condition, and what is behind it."""
        said = self.when(x)
        behind_it = self.latches(x)
        if isinstance(x.condition, e.NamedSignal) and behind_it and behind_it[-1].name == x.condition.name:
            said = f"{said}, which begins {self.sets(behind_it[-1])}"
            behind_it = behind_it[:-1]
        return "; ".join([said, *(f"{plain.word(y.name)} begins {self.sets(y)}" for y in reversed(behind_it))])

    def sets(self, latch: Latch) -> str:
        """`when armed and height is below floor`, `at the moment when ...`."""
        return " or ".join(_at(plain.signal(s, self.rules)) for s in latch.sets)

    def meanings(self, *signals: e.Signal) -> Iterator[str]:
        """What the names in them stand for, and the names in those: definitions only, not latches."""
        defined = {s.name: s.signal for s in self.rules.signals}
        seen: dict[str, None] = {}
        waiting: list[object] = list(signals)
        while waiting:
            for name, _ in mentions(waiting.pop(0)):
                if name in defined and name not in seen:
                    seen[name] = None
                    waiting.append(defined[name])
        for name in seen:
            yield f"{plain.word(name)} means: {plain.signal(defined[name], self.rules)}"


def _at(condition: str) -> str:
    return f"at {condition}" if condition.startswith("the moment when") else f"when {condition}"


def _any(latch: Latch) -> e.Signal:
    return latch.sets[0] if len(latch.sets) == 1 else e.AnyOf(latch.sets, span=latch.span)


def _actions(x: Actor | Phase) -> tuple[Drive | Move | Limit | Announce, ...]:
    return tuple(a for p in x.phases for a in p.actions) if isinstance(x, Sequence) else x.actions
