"""The card for each flying day and each flight: what to look at, from the roles, sensors, facts and dangers of these
rules. It ends with the way out."""

from collections.abc import Iterator

from latchproof.cards.given import Given
from latchproof.cards.model import Ask, Block, Card, Part, Point, Say, Step
from latchproof.listing import amounts, plain
from latchproof.listing.moved import moved, role_of
from latchproof.listing.settings import standing
from latchproof.rules.model import RoleName, Sensor
from latchproof.rules.units import UNITS

DO_NOT = "do not fly with these rules today"


def before_flight(g: Given) -> Card:
    return Card("before-flight", "Before flight", tuple(p for p in _parts(g) if p.blocks))


def _parts(g: Given) -> Iterator[Part]:
    yield Part("", (
        Say("Somebody else reads this card aloud, you look and answer. A box is ticked when it has been seen, not when "
            "it has been remembered."),
        Ask("Date"), Ask("Model and transmitter"), Ask("Read by"),
    ))  # fmt: skip
    yield Part("Each flying day", (
        Step("Has one of these happened since the bench test: another entry or number, a crash, binding again, another "
             "receiver or sensor, an update, a restored or copied model memory, another battery type, another site?",
             "nothing of the kind", "look at the card of what makes a check void before you go on"),
        Step("Do the card for failsafe and range.", "all of it ticked, today"),
        *(Step(p.step) for p in g.steps("every flying day") if p.hazard != "H34"),
    ))  # fmt: skip
    yield Part("Here and today, is this still so?", tuple(_facts(g)))
    yield Part("Each flight, before the transmitter is switched on", tuple(_switches(g)))
    yield Part("Each flight, transmitter and model on, motor stopped, model held", (
        *(Step(p.step) for p in g.steps("every flight") if p.hazard in ("H26", "H35")),
        Step("Listen for two seconds.", "no announcement of these rules but such as you expect with these switches",
             DO_NOT),
        Step("Look at the surfaces and the motor.", "everything follows your sticks, nothing moves by itself", DO_NOT),
        *_sensors(g),
        *(Step(p.step) for p in g.steps("every flight") if p.hazard not in ("H26", "H35")),
    ))  # fmt: skip
    yield Part("Last, before you let it go: the way out", tuple(_way_out(g)))


def _facts(g: Given) -> Iterator[Block]:
    """Facts of the world that the rules rest on, to be looked at where and when one flies."""
    if g.rules.facts or g.rules.assumptions:
        yield Say(f"If one of these is not so: {DO_NOT}.")
    for f in g.rules.facts:
        span = amounts.quantity(f.low, f.unit)
        span += f" to {amounts.quantity(f.high, f.unit)}" if f.high != f.low else ""
        yield Step(f"{plain.word(f.name)}: {span} ({standing(f.basis)})")
    for a in g.rules.assumptions:
        yield Step(f"{a.sentence or a.text} ({standing(a.basis)})")


_START: dict[RoleName, tuple[bool, str]] = {
    "kill": (True, "the motor stop is in first and out last"),
    "arm": (False, "the rules may do nothing on the ground"),
    "launch": (False, ""),
    "instructor": (False, ""),
}
"""How each role stands when the transmitter is switched on, and why."""


def _switches(g: Given) -> Iterator[Block]:
    told = set()
    for role, (wanted, why) in _START.items():
        signal = role_of(g.desk, role)
        action = "" if signal is None else moved(g.desk, signal, wanted=wanted)[0]
        if action and action not in told:
            told.add(action)
            yield Step(f"{_big(action)}{f' ({why})' if why else ''}.")
    if role_of(g.desk, "arm") is None:
        yield Say("No switch is named that takes these rules out: they act as soon as the transmitter is on.", True)
    if role_of(g.desk, "kill") is None:
        yield Say("No motor stop is named in these rules: use the one that the model has, and try that it wins.", True)
    sticks = [c for c in g.rules.controls if c.kind == "stick"]
    if sticks:
        yield Step("Every stick at its harmless place, the throttle at its lowest.")


def _sensors(g: Given) -> Iterator[Block]:
    used = _used(g)
    for s in g.rules.sensors:
        if s.name in used:
            yield Step(f"Look at {plain.word(s.name)} on the screen.", _healthy(s), DO_NOT)


def _used(g: Given) -> frozenset[str]:
    """Sensors that an entry reads."""
    return frozenset(n for e in g.listing.entries if e.section == "sensor" for n in e.names)


def _healthy(s: Sensor) -> str:
    said = f"a number in {s.unit.symbol or 'its unit'} that is right for the model as it stands here"
    if s.step is not None:
        said += f", shown in steps of {amounts.quantity(s.step, s.unit)}"
    if s.frame_every is not None:
        said += f", renewed at least every {amounts.quantity(s.frame_every, UNITS['s'])}"
    return said


def _way_out(g: Given) -> Iterator[Block]:
    way = g.listing.way_out
    yield Step(f"Say it aloud. To stop it in flight: {way.action}.")
    yield from (Point(f"NOT stopped by it: {text}") for text in way.still)
    yield from (Point(f"{text}.") for text in way.more)
    if way.stop:
        yield Step(f"Say it aloud. {_big(way.stop)}.")
    if way.named:
        yield Step("Find that switch with your finger, without looking, and move it there and back.",
                   "you find it at once, and no other", "mark it so that you do")  # fmt: skip
    yield Step("Look round: nobody in front of the model or beside the propeller; the helper knows the way out too.")


def _big(text: str) -> str:
    return text[:1].upper() + text[1:]
