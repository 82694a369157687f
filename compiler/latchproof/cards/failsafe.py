"""The card for the receiver's failsafe and the range check: propeller off, channel by channel."""

from collections.abc import Iterator

from latchproof.cards.given import Given
from latchproof.cards.model import Ask, Block, Card, Part, Say, Step, Table
from latchproof.listing import plain
from latchproof.listing.model import Entry
from latchproof.listing.moved import moved, role_of
from latchproof.machine.overview import mentions
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce

OFF = "PROPELLER OFF, and somebody holds the model, before anything on this card. It stays off until its last line."
MOVES = "it holds its last value: the failsafe is not set. Do not fly"


def failsafe(g: Given) -> Card:
    return Card("failsafe", "Receiver failsafe and range check", tuple(_parts(g)))


def _parts(g: Given) -> Iterator[Part]:
    entry = next(x for x in g.listing.entries if x.section == "failsafe")
    yield Part("", (
        Say(OFF, True),
        Say("When the control link is lost, none of these rules act: they live in the transmitter. Only what is stored "
            "in the receiver acts then."),
        Step("Take the propeller off (or take the blades off, or unplug the motor where it cannot come off)."),
        Ask("Date"), Ask("Who holds the model"),
    ))  # fmt: skip
    yield Part("Store it in the receiver", (
        Step(f"Set: {_field(entry, 'set it with')}.", "no action of these rules is stored by mistake"),
        Table(("channel", "when the link is lost", "stored as"), tuple(
            (f"{f.label}, {name.strip()}", what.strip(), "________")
            for f in entry.fields if f.label.startswith("channel ")
            for name, _, what in [f.value.partition(":")]
        )),
        Step("Every other channel has a failsafe that you have thought through, or none on purpose."),
    ))  # fmt: skip
    yield Part("Try it, each flying day", tuple(_trial(g, entry)))
    yield Part("Range", tuple(_range(g)))
    yield Part("Put back", (
        Step("Full power of the transmitter is on again; the range mode is off."),
        Step(f"{_big(_harmless(g, stopped=True))}. Transmitter and model off. Only now the propeller "
             "goes back on, tight, the right way round."),
    ))  # fmt: skip


def _field(entry: Entry, label: str) -> str:
    return next((f.value for f in entry.fields if f.label == label), "")


def _trial(g: Given, entry: Entry) -> Iterator[Block]:
    """Each channel is off its failsafe value first, else nothing is seen."""
    yield Step(f"Propeller off, model held. {_big(_harmless(g, stopped=False))}.")
    motor = "Motor running slowly, propeller off, every" if g.site.motors else "Every"
    yield Step(f"{motor} surface held a little to one side. Switch the TRANSMITTER off.")
    for f in entry.fields:
        if f.label.startswith("channel "):
            name, _, what = f.value.partition(":")
            stored = "what you stored above" if "____" in what else what.strip()
            yield Step(f"Look at {name.strip()} ({f.label}).", f"{stored}, as soon as the receiver has noticed", MOVES)
    if g.site.motors:
        yield Ask("Seconds until the motor stood still")
    yield Step("Switch the transmitter on again, throttle at its lowest, and wait until telemetry is back.",
               "nothing moves by itself, and no rule acts: what was armed before has to be armed again",
               "do not fly: look which entry still acts")  # fmt: skip


def _range(g: Given) -> Iterator[Block]:
    yield Step("Transmitter in its range mode, held as in flight. Walk to the distance that its maker states, while "
               "the helper looks at the model.", "every stick is followed, without a stop or a twitch",
               "do not fly")  # fmt: skip
    yield Ask("Distance at which the first stop or twitch came (or the end of the field)")
    for s in g.rules.sensors:
        yield Step(f"Out there look at {plain.word(s.name)}.", "it goes on being renewed", "telemetry has less range "
                   "than control: note how far it goes, and do not count on the rules beyond that")  # fmt: skip
    for rule in g.rules.rules:
        if any(isinstance(a, Announce) for a in rule.actions) and _hears_silence(g, rule.condition):
            yield Step(f"Go on, or cover the model's telemetry aerial, until {plain.signal(rule.condition, g.rules)}.",
                       g.told.heard(rule), "the warning is missing: find out why before you fly")  # fmt: skip
    if g.site.motors:
        yield Step("Motor at half, propeller off, same distance.", "still no stop and no twitch",
                   "the motor disturbs the receiver: do not fly")  # fmt: skip


def _harmless(g: Given, *, stopped: bool) -> str:
    """The switches at which no rule acts, as far as the rules name them."""
    roles = (("kill", stopped), ("arm", False))
    moves = [moved(g.desk, s, wanted=wanted)[0] for r, wanted in roles if (s := role_of(g.desk, r)) is not None]
    return ", ".join(moves) or "every switch at its harmless place"


def _big(text: str) -> str:
    return text[:1].upper() + text[1:]


def _hears_silence(g: Given, signal: e.Signal) -> bool:
    """Whether the condition itself asks for a silent sensor."""
    waiting: list[e.Signal] = [signal]
    while waiting:
        x = waiting.pop()
        match x:
            case e.SensorState(state="stale"):
                return True
            case e.AllOf(operands=several) | e.AnyOf(operands=several):
                waiting += several
            case e.Timed(operand=inner):
                waiting.append(inner)
            case e.NamedSignal(name=name):
                waiting += [s.signal for s in g.rules.signals if s.name == name and name not in _own(s.signal)]
            case _:
                pass
    return False


def _own(x: e.Signal) -> frozenset[str]:
    return frozenset(n for n, _ in mentions(x))
