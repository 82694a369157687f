"""From rules to the whole listing."""

import re
from fractions import Fraction

from latchproof.listing import advice, amounts
from latchproof.listing.acting import act, announce, channel, channel_name, control
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft
from latchproof.listing.fill_in import fill_in
from latchproof.listing.fingerprint import fingerprint
from latchproof.listing.fixed import fixed, parameters
from latchproof.listing.memories import named
from latchproof.listing.model import Accepted, Listing, Sound, Tunable, Untouched
from latchproof.listing.numbers import allowed
from latchproof.listing.order import fields_of, numbered
from latchproof.listing.plain import word
from latchproof.listing.settings import failsafe, sensor
from latchproof.listing.signals import told_by
from latchproof.listing.standing import facts, promises, state
from latchproof.listing.way_out import followed, way_out
from latchproof.machine.allowance import longest_time
from latchproof.prove.verdicts import Verdict
from latchproof.rules.hazards import TITLES
from latchproof.rules.model import Announce, RuleSet, Sensor
from latchproof.rules.units import UNITS
from latchproof.transmitter.hands import serving
from latchproof.transmitter.model import Transmitter


def build(
    rules: RuleSet,
    verdicts: tuple[Verdict, ...] | None = None,
    stage: str = "",
    device: Transmitter | None = None,
    meant: RuleSet | None = None,
) -> Listing:
    """`rules` are those of the stage already, if there is one, and `stage` its name. No verdicts: not proved yet.

    `device`: the transmitter that they were fitted to; numbers are then shown as it takes them. `meant`: the rules as
    they were before; from them it is plainer what stops what.
    """
    desk = drafted(rules, device)
    entries, numbers = numbered(desk)
    found = promises(rules, verdicts)
    way = way_out(desk if meant is None else drafted(meant))
    if device is not None:
        way = followed(
            way,
            found,
            max((longest_time(v.allowance, rules) for v in verdicts or () if v.allowance), default=Fraction(0)),
        )
    return Listing(
        rules.title,
        rules.version or "",
        stage,
        way,
        state(rules, verdicts),
        found,
        facts(rules, verdicts),
        tuple(
            Accepted(a.hazard, TITLES.get(a.hazard, "a danger"), word(a.rule or ""), a.reason) for a in rules.accepted
        ),
        advice.cautions(way_out=way.named),
        fill_in(rules, desk, () if device is None else serving(device, rules)),
        advice.reading(entries),
        _tunables(rules, desk, numbers),
        entries,
        _sounds(desk, numbers),
        _left_out(rules, desk),
        tuple(Untouched("".join(map(str, d.purpose)), fields_of(d, desk, numbers)) for d in desk.untouched.values()),
        advice.EMPTY_ROWS,
        advice.FLIGHT_PHASES,
        advice.VOIDS,
        tuple(_discover(s) for s in rules.sensors if f"@sensor {s.name}" in desk.drafts),
        fingerprint(entries),
    )


def drafted(rules: RuleSet, device: Transmitter | None = None) -> Desk:
    """All entries: from what the rules do back to everything that it hangs on."""
    desk = Desk(rules, device)
    for owner in _owners(rules):
        for key, condition, spoken in told_by(desk, owner):
            announce(desk, key, condition, spoken, owner)
    for name in (*desk.n.controls, *desk.n.channels):
        act(desk, name)
    for x in rules.channels:
        channel(desk, x)
    for name in desk.n.controls:
        if name in desk.acted_on:
            desk.want(f"@control {name}")
    while desk.wanted:
        name = desk.wanted.pop(0)
        if name.startswith("@control "):
            control(desk, desk.n.controls[name.removeprefix("@control ")])
        else:
            named(desk, name)
    linked = {link.key for d in desk.drafts.values() for link in d.links()}
    for s in rules.sensors:
        if f"@sensor {s.name}" in linked:
            sensor(desk, s)
    _leave(desk)
    failsafe(desk)
    return desk


def _leave(desk: Desk) -> None:
    """Takes out the channels that need not be typed: nothing acts on them, nothing reads them, they read nothing."""
    linked = {link.key for d in desk.drafts.values() for link in d.links()}
    for x in desk.rules.channels:
        key = f"@channel {x.name}"
        draft = desk.drafts[key]
        idle = x.name not in desk.acted_on and key not in linked and next(draft.links(), None) is None
        if idle and not draft.tunes & set(desk.n.tunes):
            del desk.drafts[key]
            draft.purpose = (channel_name(x, word(x.name)),)
            draft.fields = [f for f in draft.fields if f.label not in ("channel", "acted on by")]
            desk.untouched[x.name] = draft


def _owners(rules: RuleSet) -> list[str]:
    return [r.name for r in rules.rules] + [s.name for s in rules.sequences]


def _tunables(rules: RuleSet, desk: Desk, numbers: dict[str, int]) -> tuple[Tunable, ...]:
    out = []
    for t in rules.tunes:
        places = tuple(sorted(numbers[d.key] for d in desk.drafts.values() if t.name in d.tunes))
        needs = tuple(r.text.replace("_", " ") for r in rules.requires if t.name in parameters(r.condition, desk.n))
        unit = amounts.plainest(t.value, t.unit)
        out.append(
            Tunable(word(t.name), amounts.quantity(t.value, unit), amounts.other_unit(t.value, unit),
                    allowed(t.low, t.high, t.unit, t.steps), places, needs)
        )  # fmt: skip
    return tuple(out)


def _sounds(desk: Desk, numbers: dict[str, int]) -> tuple[Sound, ...]:
    found = []
    for owner in _owners(desk.rules):
        for key, _, x in told_by(desk, owner):
            instead = "a tone that nothing else has, if it cannot speak" if x.means == "voice" else ""
            found.append(Sound(numbers[key], x.means, x.text or "", _repeat(desk.drafts[key], x), _length(x), instead))
    return tuple(sorted(found, key=lambda s: s.entry))


def _discover(s: Sensor) -> str:
    shown = f"shows {s.unit.symbol}" if s.unit.symbol else "shows a plain number"
    return f"{word(s.name)}: {shown}, from {amounts.quantity(s.low, s.unit)} to {amounts.quantity(s.high, s.unit)}"


SYLLABLES_A_SECOND = 4
"""About as fast as announcements are spoken: common practice, no source."""


def _length(x: Announce) -> str:
    """About how long a text takes to say, so that it is recorded no longer than it is repeated."""
    if x.means != "voice" or not x.text:
        return ""
    count = len(_SYLLABLE.findall(x.text.lower())) or 1
    return f"about {amounts.quantity(max(Fraction(count, SYLLABLES_A_SECOND), Fraction(1, 2)), UNITS['s'])} long"


_SYLLABLE = re.compile(r"[aeiouyäöü]+|\d")


def _repeat(draft: Draft, x: Announce) -> str:
    if x.every is None:
        return "once"
    return "".join(p for p in draft.fields[-1].value if isinstance(p, str))


def _left_out(rules: RuleSet, desk: Desk) -> tuple[str, ...]:
    """Named things that nothing the model does hangs on, so that they need not be typed."""
    names = [x.name for x in rules.signals] + [x.name for x in rules.latches] + [x.name for x in rules.counters]
    names += [x.name for x in rules.samples] + [x.name for x in rules.values if fixed(x.value, desk.n) is None]
    return tuple(word(name) for name in names if not desk.was_asked(name))
