"""What is particular about the transmitter on which something happens: late reading, memory at power-up, allowances."""

from collections.abc import Iterator
from fractions import Fraction

from latchproof.machine.allowance import longest_time
from latchproof.machine.model import Machine, Order
from latchproof.rules import expressions as e
from latchproof.rules.model import Counter, Device, Latch, RuleSet, Sample
from latchproof.rules.units import UNITS
from latchproof.run.program import Exact
from latchproof.show.quantities import quantity, seconds
from latchproof.show.wording import Wording

MOST_NAMED = 5
"""More late readings than these are not told one by one."""

READS = {
    "this cycle": "entries read this cycle's values",
    "last cycle": "entries read the last cycle's values",
    "listed order": "entries stand in the order of this file or of the listing",
    "unknown order": "entries read one another in any order",
}


def allowance(cycles: int, rules: RuleSet) -> str:
    """`2 cycles (50 ms)`: so many of the longest cycles."""
    return f"{cycles} cycle{'' if cycles == 1 else 's'} ({milliseconds(longest_time(cycles, rules))})"


def milliseconds(time: Fraction) -> str:
    return quantity(time, UNITS["ms"])


def fact(what: str, device: Device) -> str:
    """A clause of the device section as a fact."""
    match what:
        case "device_reads":
            return READS[device.reads]
        case "starts":
            return "all memory is reset at power-up"
        case "gives" if device.pulse is not None:
            return f"{device.pulse.name} is true for {seconds(device.pulse.seconds)} from power-up"
        case _:
            return f"no frame arrives in the first {seconds(device.no_frame_before or Fraction(0))}"


def told(device: Device, late: tuple[Order, ...], begun: tuple[tuple[str, Exact], ...], w: Wording) -> Iterator[str]:
    """Sentences before a story: on which transmitter it happens."""
    match device.reads:
        case "last cycle":
            yield "on a transmitter whose entries read the last cycle's value of one another"
        case "listed order" if any(not o.reader for o in late):
            yield "on a transmitter whose entries stand in the order of this file"
        case _:
            pass
    named = [o for o in late if o.reader]
    if named:
        said = [f"{reader(o)} sees {_read(o, w)}" for o in named[:MOST_NAMED]]
        more = f", and {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
        yield f"on a transmitter where one cycle late {', '.join(said)}{more}"
    held = list(dict.fromkeys(_held(name, value, w) for name, value in begun))
    if held:
        more = f", and {len(held) - MOST_NAMED} more" if len(held) > MOST_NAMED else ""
        yield f"on a transmitter that wakes up like this: {', '.join(held[:MOST_NAMED])}{more}"


def of_a_run(machine: Machine) -> Iterator[str]:
    """What a run on such a device leaves out."""
    if machine.orders:
        yield "the order in which entries read one another is not known: here each sees this cycle's values"
    if machine.rules.device.starts == "any":
        yield "here all memory is reset at power-up; on this device it may hold anything"
    if machine.chain:
        late = allowance(machine.chain, machine.rules)
        yield f"entries read late: a promise that is not strict counts as broken when it is more than {late} late"


def reader(o: Order) -> str:
    """Whose entry it is: of an action the rule, of a part of something the whole."""
    first, *rest = o.reader.split("@")
    return rest[0] if rest and rest[0] and not rest[0].startswith("entry") else first.removesuffix(".announced") or "it"


def _read(o: Order, w: Wording) -> str:
    if isinstance(o.read, str):
        return o.read.partition("@")[0]
    return f"({w.number(o.read) if isinstance(o.read, e.Number) else w.signal(o.read)})"


def _held(name: str, value: Exact, w: Wording) -> str:
    thing = w.things.get(name)
    if isinstance(thing, Latch) and value:
        return f"{name} set"
    if isinstance(thing, Counter | Sample) and not isinstance(value, bool):
        return f"{name} {quantity(value, w.unit_of_name(name))}"
    owner = name.partition("@")[0]
    return f"something running in {owner}" if owner else "a delay or edge running"
