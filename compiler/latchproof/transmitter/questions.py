"""The questions as a pure function: what was answered so far gives the next question, and an answer gives a new state.

A state is where it started and the answers as they were typed, in order; everything else follows from these. So "back"
is one answer less, and nothing is lost when somebody stops in between.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from latchproof.rules.units import UNITS
from latchproof.transmitter.answers import Given, default_of, given, thought, typed
from latchproof.transmitter.asking import KEYS as WORDS
from latchproof.transmitter.asking import LISTS as LIST_WORDS
from latchproof.transmitter.asking import ORDER
from latchproof.transmitter.build import rows
from latchproof.transmitter.codecs import Flag, Pick, Several
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.needs import NOTHING, Input, Needs
from latchproof.transmitter.schema import BY_PATH, HAND, HAS, QUANTITIES, Key, threshold_keys

MOST_ROWS = 32

KINDS_OF_HAND = ("switch of 2 places", "switch of 3 places", "button", "stick", "slider")

KEPT = {"ft": "m", "ft/s": "m/s", "km/h": "m/s"}
"""Units of the screen that may be kept in another one."""

USUAL = ("height", "voltage", "link quality", "percent")

YES = Key("", Flag(), "")
WHICH = Key("which", Several(tuple((q, q) for q in QUANTITIES)), "")
KIND_OF_HAND = Key("kind", Pick(KINDS_OF_HAND), "")

_HAND = {k.path: k for k in HAND}
_HAS = {k.path: k for k in HAS}

HAND_KEYS = {
    "name": replace(_HAND["name"], nothing="no more"),
    "kind": KIND_OF_HAND,
    **{part: replace(_HAND[part], nothing="nothing") for part in ("taken", "serves", "means")},
    "springs": _HAND["springs"],
    "rests": _HAND["rests"],
    "turned": _HAND["turned"],
}
HAS_KEYS = {
    "what": replace(_HAS["what"], nothing="no more"),
    "name": _HAS["name"],
    **{part: replace(_HAS[part], nothing="none") for part in ("channels", "uses")},
}


@dataclass(frozen=True, slots=True)
class Question:
    """`id` is what a prepared answer is kept under; `default` what Enter gives, None where it gives nothing.

    `hint`: what the starting point has, where that is not the default. `key`: what may be answered.
    """

    id: str
    group: str
    ask: str
    how: str
    key: Key
    default: str | None
    hint: str = ""
    positions: tuple[str, ...] = ()
    """All of these are to be given a place; as the rule file names them."""


@dataclass(frozen=True)
class State:
    """`generic`: the start is a built-in one, of which nothing is known to be true of the transmitter at hand.

    `said`: what was wrong with the last answer; then the same question is asked again.
    """

    start: Transmitter
    generic: bool
    answers: tuple[tuple[str, str], ...] = ()
    said: tuple[str, ...] = ()
    needs: Needs = NOTHING
    """What the rule file asks for that is to be entered, if one was named."""

    @cached_property
    def by_id(self) -> dict[str, str]:
        return dict(self.answers)

    @cached_property
    def open(self) -> tuple[Question, ...]:
        """What will still be asked, as far as can be seen from here."""
        return tuple(q for q in _questions(self) if q.id not in self.by_id)

    @property
    def question(self) -> Question | None:
        """The next one; None when all are answered."""
        return self.open[0] if self.open else None

    def value(self, id: str, key: Key) -> Any:
        """What was answered; None if nothing was, or that nobody knows."""
        text = self.by_id.get(id)
        found = None if text is None else given(key, text)
        return found.value if isinstance(found, Given) else None


def begin(start: Transmitter, *, generic: bool, needs: Needs = NOTHING) -> State:
    """With a built-in start nothing is taken over that is in somebody's hands or in a model."""
    if generic:
        start = replace(start, name="", hands=(), has=(), order=())
    return State(start, generic, needs=needs)


# ---------- which questions there are


def _questions(state: State) -> Iterator[Question]:
    for name in ORDER:
        match name:
            case "hand":
                yield from _kept("hand", bool(state.start.hands), state, _hands)
            case "has":
                yield from _kept("has", bool(state.start.has), state, _have)
            case "threshold":
                yield from _thresholds(state)
            case _ if comes_up(name, state):
                key, words = BY_PATH[name], WORDS[name]
                default, hint = default_of(key, state.start, generic=state.generic)
                if name == "order" and not state.start.order and state.needs.channels:
                    default = thought(typed(key, state.needs.channels))
                yield Question(name, words.group, words.ask, words.how, key, default, hint)


def comes_up(path: str, state: State) -> bool:
    """Whether it can matter, after what was answered before."""

    def answer(of: str) -> Any:
        return state.value(of, BY_PATH[of])

    match path:
        case "delays.again":
            return "pulse" in (answer("delays.kinds") or ())
        case "sounds.longest":
            return answer("sounds.voice") is True
        case "sounds.repeats":
            return any(answer(f"sounds.{means}") is True for means in ("voice", "tone", "vibration"))
        case "telemetry.worse":
            return answer("telemetry.quality") is not None
        case "telemetry.height_zero":
            return "height" in wanted(state)
        case "telemetry.cell":
            return "voltage" in wanted(state)
        case "telemetry.quality":
            return "link quality" in wanted(state)
        case "periods.outputs" | "periods.telemetry":
            text = state.by_id.get("periods.logic", "?")
            found = given(BY_PATH["periods.logic"], text)
            return isinstance(found, Given) and not found.unsure
        case _:
            return True


def _kept(name: str, there: bool, state: State, each: Callable[[State], Iterator[Question]]) -> Iterator[Question]:
    """What the start has is kept or not, then more can be named."""
    if there:
        yield _asked(f"{name}.keep", name, "keep", YES, "yes")
    yield from each(state)


def keeps(state: State, name: str) -> bool:
    return state.value(f"{name}.keep", YES) is not False


def _asked(id: str, name: str, part: str, key: Key, default: str | None, thing: str = "") -> Question:
    words = LIST_WORDS[f"{name}.{part}"]
    ask = words.ask.replace("{name}", thing) if thing else words.ask
    return Question(id, words.group, ask, words.how, key, default)


def _hands(state: State) -> Iterator[Question]:
    """First one for each input of the rule file, if there is one, then as many as there are."""
    for i in range(1, MOST_ROWS + 1):
        need = needed(state, i)

        def ask(part: str, default: str | None, i: int = i, need: Input | None = need) -> Question:
            words = part if need is None or f"hand.{part} of" not in LIST_WORDS else f"{part} of"
            question = _asked(f"hand.{i}.{part}", "hand", words, HAND_KEYS[part], default)
            if need is None:
                return question
            asked = question.ask.format(**_spoken(need))
            return replace(question, ask=asked, positions=need.positions if part == "means" else ())

        yield ask("name", "no more" if need is None else "none")
        if state.value(f"hand.{i}.name", HAND_KEYS["name"]) is None:
            if need is None:
                return
            continue
        yield ask("kind", None if need is None else thought(_usual_kind(need)))
        kind = state.value(f"hand.{i}.kind", KIND_OF_HAND) or ""
        if kind.startswith("switch"):
            yield ask("springs", thought("no"))
            if state.value(f"hand.{i}.springs", HAND_KEYS["springs"]):
                ways = ("away", "middle", "towards") if kind == KINDS_OF_HAND[1] else ("away", "towards")
                yield replace(ask("rests", None), key=replace(HAND_KEYS["rests"], codec=Pick(ways)))
        if kind in ("stick", "slider"):
            yield ask("turned", "?")
        yield ask("taken", thought("nothing"))
        if need is None:
            yield ask("serves", "nothing")
        if kind.startswith("switch") and (need or state.value(f"hand.{i}.serves", HAND_KEYS["serves"])):
            yield ask("means", "nothing")


def needed(state: State, i: int) -> Input | None:
    """The input of the rule file that hand number `i` is asked for: one that no hand serves which is kept."""
    served = {h.serves for h in state.start.hands} if keeps(state, "hand") else set()
    inputs = [x for x in state.needs.inputs if x.name not in served]
    return inputs[i - 1] if i <= len(inputs) else None


def _spoken(need: Input) -> dict[str, str]:
    positions = f" ({', '.join(need.positions)})" if need.positions else ""
    ways = ("away", "middle", "towards") if len(need.positions) > 2 else ("away", "towards")
    example = ", ".join(f"{p} is {w}" for p, w in zip(need.positions, ways, strict=False))
    return {
        "input": f"{need.name}{positions}",
        "example": example,
        "kind": "slider or knob" if need.kind == "knob" else need.kind,
    }


def _usual_kind(need: Input) -> str:
    match need.kind:
        case "switch":
            return KINDS_OF_HAND[1 if len(need.positions) > 2 else 0]
        case "knob":
            return "slider"
        case kind:
            return kind


def _have(state: State) -> Iterator[Question]:
    for i in range(1, MOST_ROWS + 1):
        yield _asked(f"has.{i}.what", "has", "what", HAS_KEYS["what"], "no more")
        what = state.value(f"has.{i}.what", HAS_KEYS["what"])
        if what is None:
            return
        yield _asked(f"has.{i}.name", "has", "name", HAS_KEYS["name"], what)
        yield _asked(f"has.{i}.channels", "has", "channels", HAS_KEYS["channels"], thought("none"))
        yield _asked(f"has.{i}.uses", "has", "uses", HAS_KEYS["uses"], thought("none"))


def wanted(state: State) -> frozenset[str]:
    """Kinds of reading that are to be compared."""
    return state.value("threshold.which", WHICH) or frozenset()


def _thresholds(state: State) -> Iterator[Question]:
    there = {row["quantity"]: row for row in rows(state.start)["threshold"]}
    usual = [q for q in USUAL if q in there] if state.generic else list(there)
    usual = list(dict.fromkeys([*([] if state.generic else usual), *state.needs.compared])) or usual
    yield _asked("threshold.which", "threshold", "which", WHICH, ", ".join(usual) or "none")
    for quantity in QUANTITIES:
        if quantity in wanted(state):
            yield from _threshold(state, quantity, there.get(quantity))


def shown_key(quantity: str) -> Key:
    units = tuple(u for u in UNITS if UNITS[u].dimension in QUANTITIES[quantity])
    return Key("shown", Pick(tuple(u or "no unit" for u in units)), "")


def shown_in(state: State, quantity: str) -> str | None:
    """The unit on the screen; None as long as it is not known."""
    key = shown_key(quantity)
    assert isinstance(key.codec, Pick)
    only = key.codec.words[0] if len(key.codec.words) == 1 else None
    unit: str | None = only or state.value(f"threshold.{quantity}.shown", key)
    return "" if unit == "no unit" else unit


def _threshold(state: State, quantity: str, row: dict[str, Any] | None) -> Iterator[Question]:
    key = shown_key(quantity)
    assert isinstance(key.codec, Pick)
    looked_at = row is not None and not state.generic and f"threshold.{quantity}" not in state.start.assumed

    def default(answer: str) -> str:
        return answer if looked_at else thought(answer)

    if len(key.codec.words) > 1:
        unit = None if row is None else default(row["shown"] or "no unit")
        yield _asked(f"threshold.{quantity}.shown", "threshold", "shown", key, unit, quantity)
    shown = shown_in(state, quantity)
    if shown is None:
        return
    mine = row if row is not None and row["shown"] == shown else {}
    steps, kept_step = (k for k in threshold_keys(shown, KEPT.get(shown)) if k.path in ("steps", "kept_step"))
    usual = default(typed(steps, mine["steps"])) if mine else None
    yield _asked(f"threshold.{quantity}.steps", "threshold", "steps", steps, usual, quantity)
    if shown in KEPT:
        kept = mine["kept_step"] if mine and mine["kept"] == KEPT[shown] else None
        key = replace(kept_step, nothing="none")
        yield _asked(f"threshold.{quantity}.kept", "threshold", "kept", key, default(typed(key, kept)), quantity)
