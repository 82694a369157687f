"""What makes which check void: a list for what only a person knows, and what was worked out for a new version."""

from collections.abc import Iterator

from latchproof.cards.model import Block, Card, Part, Point, Say, Step, Table
from latchproof.cards.since import CHECKS, Check, Since
from latchproof.listing.advice import VOIDS

_EVENTS: dict[str, tuple[Check, ...]] = {
    "a change of any entry, number or sound": ("read-back", "bench test"),
    "a crash or hard landing": ("bench test", "failsafe and range", "first flight"),
    "binding again": ("failsafe and range",),
    "another receiver, sensor, speed controller or servo": (
        "the proofs", "bench test", "failsafe and range", "first flight", "officer's page",
    ),
    "an update of the transmitter": ("read-back", "bench test", "failsafe and range", "first flight"),
    "a restored or copied model memory": ("read-back", "bench test", "failsafe and range"),
    "another type of battery": ("the proofs", "failsafe and range", "first flight"),
    "another flying site": ("the proofs", "failsafe and range", "officer's page"),
}  # fmt: skip
"""What has to be done again after each: common practice and prudence, no source."""

_MEANS: dict[Check, str] = {
    "the proofs": "look at every fact again, change the rule file where one is not so any more, prove again",
    "read-back": "read every entry from the transmitter to the listing",
    "bench test": "the whole bench test, propeller off",
    "failsafe and range": "the whole card, propeller off",
    "first flight": "all stages, from the one that only warns",
    "officer's page": "print it anew and show it again",
}


MOST = 12
"""Reasons that are written out."""


def voids(since: Since | None = None) -> Card:
    return Card("voids", "What makes a check void", tuple(_parts(since)))


def _parts(since: Since | None) -> Iterator[Part]:
    if since is not None:
        yield Part("Since the earlier version", tuple(_worked_out(since)))
    rows = tuple((event, ", ".join(again)) for event, again in _events())
    yield Part("After one of these", (
        Say("No program can know these. If one has happened, what stands beside it is void until it has been done "
            "again."),
        Table(("this happened", "void, do again"), rows),
        Say("After a change of the rule file, let it be worked out: latchproof cards RULES --only voids --since OLD. "
            "If you are in doubt, all of it is void."),
    ))  # fmt: skip
    yield Part("Doing it again means", tuple(Point(f"{c}: {_MEANS[c]}.") for c in CHECKS))


def _events() -> Iterator[tuple[str, tuple[Check, ...]]]:
    """In the words of the listing; an event that is not known here makes everything void."""
    for event in VOIDS:
        yield event, _EVENTS.get(event, CHECKS)


def _worked_out(since: Since) -> Iterator[Block]:
    yield Say(since.said)
    void = [v for v in since.voided if v.void]
    stands = [v.check for v in since.voided if not v.void]
    if not void:
        yield Say("NOTHING IS VOID by this change.")
        return
    for v in void:
        yield Step(f"VOID: {v.check}. {_big(_MEANS[v.check])}.", "", "")
        yield from (Point(f"because {why}") for why in v.why[:MOST])
        if len(v.why) > MOST:
            yield Point(f"and {len(v.why) - MOST} more")
    if stands:
        yield Say(f"By this change alone these still stand: {', '.join(stands)}.")


def _big(text: str) -> str:
    return text[:1].upper() + text[1:]
