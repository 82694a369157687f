"""A description of a transmitter in words, for reading it through."""

import textwrap
from collections.abc import Iterator

from latchproof.show.style import Style
from latchproof.show.visible import visible
from latchproof.transmitter.answers import typed
from latchproof.transmitter.build import value_at
from latchproof.transmitter.model import Hand, Has, Threshold, Transmitter
from latchproof.transmitter.schema import KEYS, SECTIONS, Key, threshold_keys

INDENT = "      "


def render(t: Transmitter, style: Style) -> str:
    return "\n".join(_lines(t, style))


def _lines(t: Transmitter, style: Style) -> Iterator[str]:
    yield style.paint(visible(t.name), "strong")
    yield from _wrapped(_standing(t), style, "")
    for section, heading in SECTIONS.items():
        yield ""
        yield style.paint(heading, "strong")
        for key in KEYS:
            if key.section == section and key.path != "name":
                yield from _wrapped(_said(t, key), style)
        if section == "comparisons":
            for threshold in t.comparisons.thresholds:
                yield from _wrapped(_threshold(threshold) + _mark(t, f"threshold.{threshold.quantity}"), style)
    yield ""
    yield style.paint("what your hands move", "strong")
    for hand in t.hands:
        yield from _wrapped(_hand(hand) + _assumed_of(t, hand), style)
    if not t.hands:
        yield "  nothing is named"
    yield ""
    yield style.paint("what the model has already", "strong")
    for has in t.has:
        yield from _wrapped(_has(has) + _mark(t, f"has.{has.name}"), style)
    if not t.has:
        yield "  nothing is named"


def _standing(t: Transmitter) -> str:
    if not t.unknown and not t.assumed:
        return "All of it was looked at on the transmitter."
    parts = []
    if t.assumed:
        parts.append("1 answer is ASSUMED" if len(t.assumed) == 1 else f"{len(t.assumed)} answers are ASSUMED")
    if t.unknown:
        number = "1 is" if len(t.unknown) == 1 else f"{len(t.unknown)} are"
        parts.append(f"{number} not known: there all that may be is proved for, or the careful one is taken")
    return f"{'; '.join(parts)}."


def _said(t: Transmitter, key: Key) -> str:
    if key.path in t.unknown:
        value = f"don't know{f' ({key.careful})' if key.careful else ''}"
    else:
        value = typed(key, value_at(t, key.path))
    return f"{key.says}: {value}{_mark(t, key.path)}"


def _mark(t: Transmitter, key: str) -> str:
    return " (ASSUMED)" if key in t.assumed else ""


def _assumed_of(t: Transmitter, hand: Hand) -> str:
    words = {
        "kind": "what it is",
        "springs": "whether it goes back by itself",
        "taken": "what it does already",
        "turned": "which way its numbers run",
    }
    parts = [said for part, said in words.items() if f"hand.{hand.name}.{part}" in t.assumed]
    return f" (ASSUMED: {', '.join(parts)})" if parts else ""


def _threshold(x: Threshold) -> str:
    steps, kept = (k for k in threshold_keys(x.shown, x.kept) if k.path in ("steps", "kept_step"))
    said = f"{x.quantity}: {typed(steps, x.steps)}"
    if x.kept_step is not None and x.kept is not None:
        said += f"; kept in steps of {typed(kept, x.kept_step)}, so the threshold moves to the nearest of them"
    return said


def _hand(hand: Hand) -> str:
    said = f"{hand.name}: a {hand.kind}"
    if hand.places:
        said += f", {', '.join(hand.places)}"
    if hand.springs:
        said += f", goes back{f' to {hand.rests}' if hand.rests else ''} by itself"
    if hand.turned is None:
        said += ", perhaps with its numbers the other way round"
    elif hand.turned:
        said += ", its numbers run the other way round"
    if hand.serves:
        said += f"; in the rules: {hand.serves}"
        if hand.means:
            said += f" ({', '.join(f'{position} is {way}' for position, way in hand.means)})"
    return said + (f"; does already: {hand.taken}" if hand.taken else "")


def _has(has: Has) -> str:
    said = f"{has.name}: {has.what}"
    if has.channels:
        said += f", on channel {', '.join(str(n) for n in has.channels)}"
    return said + (f", worked by {', '.join(has.uses)}" if has.uses else "")


def _wrapped(text: str, style: Style, indent: str = "  ") -> list[str]:
    hanging = INDENT if indent else ""
    return textwrap.wrap(
        visible(text), style.width, initial_indent=indent, subsequent_indent=hanging, break_on_hyphens=False
    )
