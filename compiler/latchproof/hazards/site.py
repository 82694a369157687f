"""A rule set as the hazard families look at it: who acts on what, which roles are named, which sensor is which."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from latchproof.machine.actions import announcements
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Action,
    Announce,
    Channel,
    Drive,
    Latch,
    Limit,
    Move,
    Role,
    Rule,
    RuleSet,
    Sensor,
    Sequence,
)
from latchproof.source import Source, Span


@dataclass(frozen=True)
class Site:
    """`sources`: the texts of the rule file and its parts by name, for remedies that change them."""

    rules: RuleSet
    sources: Mapping[str, Source]

    def text(self, span: Span) -> str:
        """What stands there in the file."""
        return self.sources[span.source].text[span.start : span.end]

    def line(self, span: Span) -> str:
        """The same on one line."""
        return " ".join(self.text(span).split())

    @property
    def main(self) -> Source:
        """The rule file itself."""
        return next(iter(self.sources.values()))

    # ---------- roles

    def role(self, name: str) -> Role | None:
        return next((r for r in self.rules.roles if r.role == name), None)

    @cached_property
    def arm(self) -> Role | None:
        return self.role("arm")

    @cached_property
    def kill(self) -> Role | None:
        return self.role("kill")

    # ---------- who acts

    def actions_of(self, x: Rule | Sequence) -> tuple[Action, ...]:
        if isinstance(x, Rule):
            return x.actions
        return tuple(a for p in x.phases for a in p.actions)

    @cached_property
    def acting(self) -> tuple[Rule | Sequence, ...]:
        """Rules and sequences that do something to a channel or control."""
        everyone: tuple[Rule | Sequence, ...] = (*self.rules.rules, *self.rules.sequences)
        return tuple(x for x in everyone if self.touched(x))

    @cached_property
    def guards(self) -> tuple[Rule | Sequence, ...]:
        """The same without those that are the motor stop itself: their condition is the kill role's signal."""
        kill = self.kill
        return tuple(x for x in self.acting if kill is None or not self.is_kill(x))

    def is_kill(self, x: Rule | Sequence) -> bool:
        kill = self.kill
        return kill is not None and x.condition in (kill.signal, e.NamedSignal("kill", span=x.span))

    def touched(self, x: Rule | Sequence) -> tuple[str, ...]:
        """The channels and controls it acts on, each once, in the order of the text."""
        names = (a.channel for a in self.actions_of(x) if isinstance(a, Drive | Move | Limit))
        return tuple(dict.fromkeys(names))

    def announces(self, x: Rule | Sequence) -> tuple[Announce, ...]:
        return announcements(self.actions_of(x))

    # ---------- things by name or nature

    @cached_property
    def channels(self) -> Mapping[str, Channel]:
        return {c.name: c for c in self.rules.channels}

    @cached_property
    def latches(self) -> Mapping[str, Latch]:
        return {x.name: x for x in self.rules.latches}

    @cached_property
    def motors(self) -> tuple[Channel, ...]:
        """Channels named after a motor or engine, and those that the motor stop drives."""
        stopped = {
            a.channel for x in self.acting if self.is_kill(x) for a in self.actions_of(x) if isinstance(a, Drive)
        }
        return tuple(
            c for c in self.rules.channels
            if c.name in stopped or any(word in c.name for word in ("motor", "engine", "throttle", "power"))
        )  # fmt: skip

    def sensor(self, name: str) -> Sensor:
        return next(s for s in self.rules.sensors if s.name == name)

    def sensors_in(self, *symbols: str) -> tuple[Sensor, ...]:
        """Sensors that are measured in one of these units, such as `m`, `ft`."""
        return tuple(s for s in self.rules.sensors if s.unit.symbol in symbols)


# ---------- expressions, with the place of the thing they speak of


def named(name: str, span: Span) -> e.Signal:
    return e.NamedSignal(name, span=span)


def acts(x: Rule | Sequence, channel: str | None = None) -> e.Signal:
    """An action of the rule has a say (on that channel): after its delay, and until its hand-back is over."""
    return e.NamedSignal(f"{x.name}.acting" + (f"@{channel}" if channel else ""), span=x.span)


def not_(signal: e.Signal) -> e.Signal:
    return signal.operand if isinstance(signal, e.Not) else e.Not(signal, span=signal.span)


def all_of(*signals: e.Signal) -> e.Signal:
    return signals[0] if len(signals) == 1 else e.AllOf(tuple(signals), span=signals[0].span)


def any_of(*signals: e.Signal) -> e.Signal:
    return signals[0] if len(signals) == 1 else e.AnyOf(tuple(signals), span=signals[0].span)
