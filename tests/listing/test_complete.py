"""Whoever has only the listing can build the same machine: whatever is changed in the rules changes the entries."""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction

import pytest

from latchproof.listing import build
from latchproof.listing.plain import word
from latchproof.rules import RuleSet
from latchproof.rules import expressions as e
from latchproof.rules import model as m
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules

PARTS = (
    "tunes", "sensors", "channels", "values", "samples", "signals", "latches", "counters", "rules", "sequences",
    "accepted",
)  # fmt: skip
OTHER = {
    "<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "<", "for": "extended", "extended": "pulsed", "pulsed": "for",
    "begins": "ends", "ends": "begins", "most": "least", "least": "most", "voice": "tone", "tone": "vibration",
    "vibration": "voice", "stale": "heard", "fresh": "heard", "heard": "stale", "free": "driven", "driven": "moved",
    "moved": "limited", "limited": "free", "measured": "assumed", "assumed": "measured",
}  # fmt: skip
WORDS = {"order", "kind", "bound", "means", "state"}
NAMES = {
    "channel",
    "sensor",
    "switch",
    "button",
    "control",
    "name",
    "word",
    "unit",
    "directions",
    "words",
}
"""Left alone: a change of a name alone gives another rule set, or none."""


def changed(x: object, inside: str = "") -> Iterator[tuple[str, object]]:
    """Each way of changing one thing in `x`, with what was changed."""
    match x:
        case -1 | 1 if inside == "sign":
            yield inside, -x
        case bool():
            yield inside, not x
        case int() | Fraction():
            yield inside, x + 1
        case str() if inside in WORDS:
            yield f"{inside} {x}", OTHER[x]
        case str() if inside in ("text", "reason"):
            yield inside, x + " indeed"
        case tuple():
            for i, item in enumerate(x):
                for what, other in changed(item, inside):
                    yield f"{inside}[{i}] {what}", (*x[:i], other, *x[i + 1 :])
            if len(x) > 1 and inside in ("operands", "sets", "resets", "clears", "actions", "phases"):
                yield f"{inside} without the last", x[:-1]
        case e.NamedSignal() | e.NamedNumber() | e.Parameter() | e.AtPosition() | m.Basis():
            if isinstance(x, e.AtPosition):
                yield "position", replace(x, position=x.position - 1 if x.position else 1)
        case e.Not(operand=operand):
            yield "not", operand
            for what, other in changed(operand, "operand"):
                yield f"not {what}", replace(x, operand=other)
        case _ if is_dataclass(x):
            for f in fields(x):
                if f.name in ("span", *NAMES):
                    continue
                if isinstance(x, m.Tune) and x.steps and f.name in ("low", "high"):
                    continue  # the steps say it all
                for what, other in changed(getattr(x, f.name), f.name):
                    yield f"{type(x).__name__}.{what}", replace(x, **{f.name: other})  # type: ignore[type-var]


def variants(case: RuleSet) -> Iterator[tuple[str, RuleSet]]:
    """What nothing hangs on is left alone; so are values that stand still, which stand folded where they are used."""
    idle = build(case).left_out
    for part in PARTS:
        things = getattr(case, part)
        for i, thing in enumerate(things):
            if word(getattr(thing, "name", "")) in idle or isinstance(getattr(thing, "value", None), e.Constant):
                continue
            for what, other in changed(thing, part):
                yield f"{part}: {what}", replace(case, **{part: (*things[:i], other, *things[i + 1 :])})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "case",
    [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")],
)
def test_every_change_shows(case: RuleSet) -> None:
    before = build(case)
    told = (before.entries, before.tunables, before.accepted, before.sounds, before.untouched)
    hidden = []
    count = 0
    for what, variant in variants(case):
        count += 1
        after = build(variant)
        if told == (after.entries, after.tunables, after.accepted, after.sounds, after.untouched):
            hidden.append(what)
    assert hidden == []
    assert count >= 10


def test_modifiers_show_when_they_are_taken_out() -> None:
    case = rules(EVERYTHING)
    before = build(case).entries
    rule = next(r for r in case.rules if r.name == "recover")
    drive = rule.actions[0]
    assert isinstance(drive, m.Drive)
    for name in ("after", "rising", "falling", "back"):
        less = replace(drive, modifiers=replace(drive.modifiers, **{name: None}))
        others = tuple(replace(rule, actions=(less, *rule.actions[1:])) if r is rule else r for r in case.rules)
        assert build(replace(case, rules=others)).entries != before


def test_every_range_position_number_and_text_is_there() -> None:
    case = rules(EVERYTHING)
    listing = build(case)
    everything = repr(listing)
    for words in (
        "may be 30 m to 90 m", "may be 0.25, 0.5, 0.75", "floor is at least 31 m", '"floor"', "I keep my stick still",
        "-20 m to 500 m", "0.1 m", "must read 3 m", "-18 m/s to 8 m/s", "ASSUMED, a guess", "at off -90 %, at mid 10 %",
        "at on 70 %", "at most 15 % each way", "up is minus here", "3 passes", "6 (mode)", "____ (wing)",

        "divided by 4", "8.5 s", "11 s", "at most 65 %/s", "from the pass after the one in which it began",
        "5 ms to 20 ms", "measured 2025-01-02, logic analyser",
    ):  # fmt: skip
        assert words in everything, words
    for switch in case.switches:
        asks = next(f for f in listing.fill_in_first if f.subject.startswith(switch.name.replace("_", " "))).asks
        assert all(any(f'"{p}"' in a.question for a in asks) for p in switch.positions)
