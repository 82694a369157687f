"""One answer after the other: the next state, and the transmitter as far as it is known."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from latchproof.rules.suggest import did_you_mean, listed
from latchproof.transmitter import agreement
from latchproof.transmitter.answers import Given, given
from latchproof.transmitter.build import rows, transmitter, value_at
from latchproof.transmitter.codecs import Trouble
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.places import Path
from latchproof.transmitter.questions import (
    HAND_KEYS,
    HAS_KEYS,
    KEPT,
    MOST_ROWS,
    State,
    comes_up,
    keeps,
    needed,
    shown_in,
    wanted,
)
from latchproof.transmitter.schema import BY_PATH, KEYS, QUANTITIES, Key, of_hand, threshold_keys

UNNAMED = "transmitter"

TURNED = ("stick", "slider")
"""What can show its numbers the other way round."""


def step(state: State, line: str) -> State:
    """The state after an answer; with `said`, if it was none."""
    text = " ".join(line.split())
    if text.lower() == "back":
        return replace(state, answers=state.answers[:-1], said=() if state.answers else ("this is the first question",))
    question = state.question
    if question is None:
        return state
    if not text:
        if question.default is None:
            return replace(state, said=("this must be known before it can go on",))
        text = question.default
    found = given(question.key, text)
    if isinstance(found, Trouble):
        return replace(state, said=(found.title, *found.mend))
    after = replace(state, answers=(*state.answers, (question.id, text)), said=())
    problems = _positions(question.positions, found.value) or _problems(after)
    return replace(state, said=problems) if problems else after


def _positions(wanted: tuple[str, ...], means: Any) -> tuple[str, ...]:
    """Either all positions of the rule file get a place, or for the time being none."""
    given_places = [name for name, _ in means or ()] if wanted else []
    for name in given_places:
        if name not in wanted:
            return f"there is no position {name}", *did_you_mean(name, wanted), f"the positions are {listed(wanted)}"
    missing = [p for p in wanted if p not in given_places]
    if given_places and missing:
        return f"and where is {listed(missing)}?", "say all of them, with commas"
    return ()


def result(state: State) -> Transmitter:
    """What is open is "don't know" where that is an answer; else it is as at the start, marked as assumed."""
    values: dict[str, Any] = {}
    unknown: set[str] = set()
    assumed: set[str] = set()
    for key in KEYS:
        values[key.path] = _value(key, state, unknown, assumed)
    tables = {
        "hand": _hands(state, unknown, assumed),
        "has": _has(state, assumed),
        "threshold": _thresholds(state, assumed),
    }
    if keeps(state, "hand"):
        unknown |= {k for k in state.start.unknown if k.startswith("hand.")}
    return transmitter(values, tables, frozenset(unknown), frozenset(assumed - unknown))


def _untried(state: State, id: str, key: Key) -> bool:
    text = state.by_id.get(id)
    found = None if text is None else given(key, text)
    return not isinstance(found, Given) or found.assumed


# ---------- what does not go together


@dataclass
class _Heard:
    """Collects what `agreement` has to say; places mean nothing while one is asked."""

    problems: list[tuple[str, ...]] = field(default_factory=list)

    def error(self, code: str, title: str, path: Path, hints: tuple[str, ...], *, value: bool = False) -> None:
        self.problems.append((title, *hints))


def _problems(state: State) -> tuple[str, ...]:
    """Only among what was answered: everything else can still change."""
    values = {key.path: state.value(key.path, key) for key in KEYS}
    tables = {"hand": _hands(state, set(), set()), "has": _has(state, set()), "threshold": _thresholds(state, set())}
    for name in ("hand", "has"):
        if getattr(state.start, f"{name}s" if name == "hand" else name) and f"{name}.keep" not in state.by_id:
            tables[name] = []
    heard = _Heard()
    agreement.check(values, tables, heard)
    return heard.problems[0] if heard.problems else ()


# ---------- the values


def _value(key: Key, state: State, unknown: set[str], assumed: set[str]) -> Any:
    text = state.by_id.get(key.path)
    found = None if text is None else given(BY_PATH[key.path], text)
    if isinstance(found, Given):
        unknown |= {key.path} if found.unsure else set()
        assumed |= {key.path} if found.assumed else set()
        return found.value
    if not state.generic:
        unknown |= {key.path} & state.start.unknown
        assumed |= {key.path} & state.start.assumed
        value = value_at(state.start, key.path)
    elif key.may_be_unsure:
        unknown.add(key.path)
        return key.unsure
    elif key.path == "sounds.repeats" and "sounds.vibration" in state.by_id and not comes_up(key.path, state):
        return None
    else:
        assumed.add(key.path)
        value = value_at(state.start, key.path) or (UNNAMED if key.path == "name" else value_at(state.start, key.path))
    if key.path == "order":  # of a transmitter with more channels
        assumed -= {"order"} if state.generic else set()
        return value[: state.value("channels", BY_PATH["channels"]) or len(value)]
    return value


def _hands(state: State, unknown: set[str], assumed: set[str]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = rows(state.start)["hand"] if keeps(state, "hand") else []
    assumed |= {k for h in found for k in of_hand(h["name"])} & state.start.assumed
    for i in _numbers(state, "hand"):

        def value(part: str, i: int = i) -> Any:
            return state.value(f"hand.{i}.{part}", HAND_KEYS[part])

        name, kind = value("name"), value("kind")
        if name is None or kind is None:
            continue
        turned = value("turned") if kind in TURNED else False
        if turned is None:
            unknown.add(f"hand.{name}.turned")
        three = kind.endswith("3 places")
        switch = kind.startswith("switch")
        asked = ("kind", "taken", *(("springs",) if switch else ()), *(("turned",) if kind in TURNED else ()))
        assumed |= {f"hand.{name}.{p}" for p in asked if _untried(state, f"hand.{i}.{p}", HAND_KEYS[p])}
        found.append(
            {
                "kind": "switch" if switch else kind,
                "name": name,
                "places": (("away", "middle", "towards") if three else ("away", "towards")) if switch else (),
                "springs": value("springs") or False,
                "rests": value("rests") if value("springs") else None,
                "taken": value("taken") or "",
                "serves": value("serves") or "" if (need := needed(state, i)) is None else need.name,
                "means": value("means") or (),
                "turned": turned,
            }
        )
    return found


def _has(state: State, assumed: set[str]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = rows(state.start)["has"] if keeps(state, "has") else []
    assumed |= {f"has.{row['name']}" for row in found} & state.start.assumed
    for i in _numbers(state, "has"):
        row = {part: state.value(f"has.{i}.{part}", key) for part, key in HAS_KEYS.items()}
        if row["what"] is not None:
            row["name"] = row["name"] or _unused(row["what"], [r["name"] for r in found])
            found.append({**row, "channels": row["channels"] or (), "uses": row["uses"] or ()})
            asked = ("what", "channels", "uses")
            if any(_untried(state, f"has.{i}.{part}", HAS_KEYS[part]) for part in asked):
                assumed.add(f"has.{row['name']}")
    return found


def _numbers(state: State, name: str) -> Iterator[int]:
    first = "name" if name == "hand" else "what"
    yield from (i for i in range(1, MOST_ROWS + 1) if f"{name}.{i}.{first}" in state.by_id)


def _unused(name: str, taken: list[str]) -> str:
    return next(n for n in (name, *(f"{name} {i}" for i in range(2, MOST_ROWS + 2))) if n not in taken)


def _thresholds(state: State, assumed: set[str]) -> list[dict[str, Any]]:
    if "threshold.which" not in state.by_id:
        kept_as_is = [] if state.generic else rows(state.start)["threshold"]
        assumed |= {f"threshold.{row['quantity']}" for row in kept_as_is} & state.start.assumed
        return kept_as_is
    found: list[dict[str, Any]] = []
    for quantity in QUANTITIES:
        shown = shown_in(state, quantity) if quantity in wanted(state) else None
        if shown is None:
            continue
        steps, kept_step = (k for k in threshold_keys(shown, KEPT.get(shown)) if k.path in ("steps", "kept_step"))
        value = state.value(f"threshold.{quantity}.steps", steps)
        if value is None:
            continue
        step = state.value(f"threshold.{quantity}.kept", replace(kept_step, nothing="none"))
        kept = KEPT[shown] if step is not None else None
        ids = [f"threshold.{quantity}.{part}" for part in ("shown", "steps", "kept")]
        if any(state.by_id.get(id, "").endswith("?") for id in ids):
            assumed.add(f"threshold.{quantity}")
        found.append({"quantity": quantity, "shown": shown, "steps": value, "kept": kept, "kept_step": step})
    return found
