"""One page for the safety officer: what these rules may do, what stops them, what is proved and what is not."""

from collections import Counter
from collections.abc import Iterator, Mapping

from latchproof.cards.given import Given
from latchproof.cards.model import Ask, Block, Card, Part, Point, Say, Table
from latchproof.cards.told import Actor
from latchproof.hazards.model import Check as HazardCheck
from latchproof.hazards.model import Finding
from latchproof.listing import amounts, plain
from latchproof.listing.model import Promise
from latchproof.listing.settings import standing
from latchproof.machine.overview import overview
from latchproof.rules.hazards import TITLES
from latchproof.rules.model import LengthOf, Sequence, StartsAtMost
from latchproof.rules.units import UNITS

MOST = 6
"""Promises that are written out; the others are counted, so that it stays one page."""

NO_PERMISSION = (
    "This page is no permission and no approval. It was printed by the pilot's own program from rules that the pilot "
    "wrote. It says what these rules do; it says nothing about the model, the pilot, the site or the law."
)


def officer(g: Given) -> Card:
    return Card("officer", "For the safety officer, on one page", tuple(p for p in _parts(g) if p.blocks))


def _parts(g: Given) -> Iterator[Part]:
    yield Part("", (
        Say(NO_PERMISSION, True),
        Say("The rules run in the pilot's transmitter. They act through the control link only: without it they can do "
            "nothing, and the receiver's failsafe acts alone."),
    ))  # fmt: skip
    yield Part("What it may do, when, and for how long at most", tuple(_may(g)))
    yield Part("What stops it", tuple(_stops(g)))
    yield Part("What is proved", tuple(_proved(g)))
    yield Part("What is ASSUMED, or not measured", tuple(_assumed(g)))
    yield Part("Known dangers", tuple(_dangers(g)))
    yield Part("Seen", (
        Say("Seen is not approved. The decision, and what it is tied to, stand elsewhere."),
        Ask("Pilot"), Ask("Safety officer"), Ask("Date"),
    ))  # fmt: skip


# ---------- what it may do


def _may(g: Given) -> Iterator[Block]:
    rows = []
    for x in g.site.acting:
        does = "; ".join(g.told.seen(x))
        rows.append((_called(x), does, g.told.begins(x), _length(g, x)))
    if rows:
        yield Table(("rule", "it", "while", "at a stretch"), tuple(rows))
        if silent := _out_of_reach(g):
            yield Say(f"It never touches: {', '.join(map(plain.word, silent))}. A channel that is not named in the "
                      "rules it cannot touch.")  # fmt: skip
    else:
        yield Say("It acts on no channel. It only speaks.")
    tunes = [
        f"{plain.word(t.name)} is {amounts.quantity(t.value, t.unit)} "
        f"(from {amounts.quantity(t.low, t.unit)} to {amounts.quantity(t.high, t.unit)})" for t in g.rules.tunes
    ]  # fmt: skip
    if tunes:
        yield Say("Numbers, and how far the pilot may change them while what is proved stays proved: "
                  f"{'; '.join(tunes)}.")  # fmt: skip


def _out_of_reach(g: Given) -> list[str]:
    """Channels on which nothing acts, nor on anything that they follow, such as a stick."""
    acting = {x.name for x in g.site.acting}
    seen = overview(g.rules)
    touched = {n for x in g.site.acting for n in g.site.touched(x)}
    return [c.name for c in g.rules.channels if not seen.reaching([c.name]) & (acting | touched)]


def _called(x: Actor) -> str:
    return f"{'sequence' if isinstance(x, Sequence) else 'rule'} {plain.word(x.name)}"


def _length(g: Given, x: Actor) -> str:
    if g.site.is_kill(x):
        return "as long as the motor stop is in"
    if x.name in g.bounds:
        return f"at most {amounts.quantity(g.bounds[x.name], UNITS['s'])} (proved)"
    return "as long as that is so: no limit is proved"


# ---------- what stops it


def _stops(g: Given) -> Iterator[Block]:
    way = g.listing.way_out
    yield Point(f"{way.action}.")
    yield from (Point(f"NOT stopped by it: {text}") for text in way.still)
    if way.stop:
        yield Point(f"{way.stop}.")
    for f in _facing(g, {"H06": "a sensor falls silent", "H29": "a landing", "H35": "the instructor takes over"}):
        yield Point(f)


def _facing(g: Given, dangers: Mapping[str, str]) -> Iterator[str]:
    """What the search for dangers proved about what ought to stop it."""
    for hazard, when in dangers.items():
        found = [f for f in g.findings or () if f.hazard == hazard and isinstance(f.outcome, HazardCheck)]
        if found and all(f.state == "proved" for f in found):
            yield f"{when}: proved that this is taken care of."


# ---------- what is proved


def _proved(g: Given) -> Iterator[Block]:
    x = g.listing
    yield Say(x.state)
    for p in x.not_proved:
        yield Point(f"{p.state}: {p.text}")
    proved = [p for p in x.promises if p.state == "proved" and not p.example]
    first = sorted(proved, key=lambda p: not _weighty(g, p))[:MOST]
    for p in (p for p in proved if p in first):
        yield Point(p.text)
    more = sum(p.state == "proved" for p in x.promises) - len(first)
    if more:
        yield Say(f"And {more} more, which stand in the listing.")
    warns = [s for s in g.stages if s.stage.warn_only]
    for s in warns:
        if s.left is not None and not s.left.open:
            yield Point(f"in the stage {plain.word(s.stage.name)} nothing acts on any channel; it is flown first.")
    if not warns:
        yield Point("there is no stage that only warns.")


def _weighty(g: Given, p: Promise) -> bool:
    """What an officer asks first: how long, how often, and what the switches of the roles do."""
    c = next((c for c in g.rules.claims if plain.word(c.name) == p.name), None)
    if c is None:
        return False
    signals = {r.signal for r in g.rules.roles}
    return isinstance(c.form, LengthOf | StartsAtMost) or (c.scope is not None and c.scope.signal in signals)


# ---------- what it stands on


def _assumed(g: Given) -> Iterator[Block]:
    measured = [f for f in g.listing.proved_if if f.standing.startswith("measured")]
    for f in g.listing.proved_if:
        if f not in measured:
            yield Point(f"{f.text} ({f.standing})")
    said = {f.text for f in g.listing.proved_if}
    loose = [f for f in g.rules.facts if f.basis is None or f.basis.kind == "assumed"]
    for x in loose:
        text = f"{plain.word(x.name)} is {amounts.quantity(x.low, x.unit)}"
        if not any(t.startswith(text) for t in said):
            yield Point(f"{text} ({standing(x.basis)})")
    if measured:
        yield Say(f"Measured by the pilot: {'; '.join(f'{f.text} ({f.standing})' for f in measured)}.")


# ---------- dangers


def _dangers(g: Given) -> Iterator[Block]:
    for a in g.listing.accepted:
        where = f", in rule {a.rule}" if a.rule else ""
        yield Point(f"accepted: {a.title}{where}, because: {a.reason} ({a.hazard})")
    if not g.listing.accepted:
        yield Say("The pilot accepts none of the known dangers.")
    if g.findings is None:
        yield Say("The known dangers of such rules were not looked for when this page was printed.", True)
        return
    by = _by_hazard(g.findings)
    for hazard, state in by.items():
        if state in _BAD:
            yield Point(f"{_BAD[state]}: {TITLES.get(hazard, 'a danger')} ({hazard})")
    count = Counter(by.values())
    said = [f"{count[s]} {words}" for s, words in _COUNTED.items() if count[s]]
    yield Say(f"Of {len(by)} known dangers of such rules: {', '.join(said)}.")


_BAD = {"fails": "IT CAN HAPPEN", "not decided": "NOT DECIDED whether it can happen", "not named": "NOT LOOKED FOR"}
_COUNTED = {
    "proved": "proved not to happen", "not applicable": "cannot arise here",
    "procedure": "left to a person, on the cards", "accepted": "accepted",
    "fails": "can happen", "not decided": "not decided", "not named": "not looked for",
}  # fmt: skip
_ORDER = ("fails", "not decided", "accepted", "not named", "procedure", "proved", "not applicable")


def _by_hazard(findings: tuple[Finding, ...]) -> dict[str, str]:
    """The gravest of what came of each."""
    found: dict[str, str] = {}
    for f in findings:
        state = "accepted" if f.accepted is not None and f.state in _BAD else f.state
        old = found.get(f.hazard)
        if old is None or _ORDER.index(state) < _ORDER.index(old):
            found[f.hazard] = state
    return found
