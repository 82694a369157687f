"""What every listing says, whatever its rules: how to read it, what to be careful about, what makes it void."""

from latchproof.listing.model import Entry

_FIRST = "Fly it first with an experienced helper beside you, high, far from people"

_CAUTIONS = (
    "Propeller OFF for everything you do on the bench with this list, from the first entry to the last test.",
    "After copying: switch the transmitter off and on, then read every entry back from the transmitter to this list.",
    "Before the first flight: range check, and the failsafe test of the last entry.",
    "{first}",
    "Local rules and the club's safety officer come first, before anything in this list.",
    "Pulse widths (us) are common practice, 1500 us in the middle: check on your own equipment what it sends.",
    "If the control link is lost, nothing in this list acts: only the receiver's failsafe does.",
)


def cautions(*, way_out: bool) -> tuple[str, ...]:
    """Whoever has no way out is not told to be ready to take it."""
    first = f"{_FIRST}, ready to take the way out above." if way_out else f"{_FIRST}."
    return tuple(first if c == "{first}" else c for c in _CAUTIONS)


def reading(entries: tuple[Entry, ...]) -> tuple[str, ...]:
    """How to read the entries; with what to do about those that read one further down, if there are any."""
    late = [e.number for e in entries if any(r.entry > e.number and r.when == "earlier" for r in e.reads)]
    if not late:
        return READING
    which = f"Entry {late[0]} reads one" if len(late) == 1 else f"Entries {', '.join(map(str, late))} read some"
    those = "it" if len(late) == 1 else "each"
    more = (
        f"{which} further down: leave that input empty, and complete {those} as soon as what it reads is made. Tick "
        f"{those} only then."
    )
    return (READING[0], more, *READING[1:])


READING = (
    'Type the entries in this order: what one reads stands above it, unless it says "one pass earlier".',
    'A pass is one run of the transmitter through all its entries. "True" and "false" are the two states of an entry.',
    "Before the first pass every entry and every switch position counts as false, and every number as 0.",
    "Every value stands with its unit, in brackets the same in another unit, rounded.",
    'What is set to "none" or "at once" is meant: set it so, and do not leave the field as you find it.',
    "Tick an entry when you have read it back from the screen, not when you have typed it.",
)

EMPTY_ROWS = (
    "Every other entry for logic, delays, overrides, limits, mixes on these channels, and announcements in this model "
    "memory must be empty, or be one that you know and have compared with this list.",
    "An entry left over from an earlier version still acts: delete it, do not only switch it off.",
    "Anything the model already has on these channels (motor cut, soft start, mixes) must be compared with this list.",
)

FLIGHT_PHASES = (
    "Every entry must act in every flight phase of this model memory, also in those you hardly use.",
    "Go through the phases one by one and look at the channel entries in each.",
)

VOIDS = (
    "a change of any entry, number or sound", "a crash or hard landing", "binding again",
    "another receiver, sensor, speed controller or servo", "an update of the transmitter",
    "a restored or copied model memory", "another type of battery", "another flying site",
)  # fmt: skip
