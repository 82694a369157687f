"""What does not go with a transmitter, as data."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from latchproof.rules.model import Action, RuleSet

Subject = Literal[
    "serves nothing", "not served", "none free", "wrong kind", "hand taken", "springs back", "turned", "too few places",
    "no place", "no position", "spare place", "no channel", "other channel", "channel shared", "phase", "no sound",
    "stale reading", "stale after", "height zero", "cell", "link quality", "cycle", "outputs", "telemetry period",
    "reads", "starts", "start signal", "first frame", "level", "pulse", "two places",
]  # fmt: skip

Weight = Literal["stops", "unlike", "look"]
"""It cannot be entered like that; the rule file assumes otherwise, so what is proved has to be looked at again; or
something that only a person can look at."""


@dataclass(frozen=True, slots=True)
class Finding:
    """`about`: names of the rule file; `text` what is the matter, `do` what to do about it, without a full stop."""

    subject: Subject
    weight: Weight
    about: tuple[str, ...]
    text: str
    do: str


def word(name: str) -> str:
    return name.replace("_", " ").replace(".", " ")


def acting(rules: RuleSet) -> Iterator[tuple[str, tuple[Action, ...]]]:
    """Rules and phases by name, with what they do."""
    yield from ((r.name, r.actions) for r in rules.rules)
    yield from ((f"{s.name}.{p.name}", p.actions) for s in rules.sequences for p in s.phases)
