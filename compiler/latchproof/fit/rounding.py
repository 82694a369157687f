"""The rules at the numbers that can be entered: tunes first, so that what is made of them stays consistent."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import product

from latchproof.fit.directions import agreed, directions
from latchproof.fit.fields import FACTOR, Place
from latchproof.fit.model import Misfit, Reason, Rounding, Way, once
from latchproof.fit.places import entered
from latchproof.fit.required import broken, speaking_of
from latchproof.fit.saying import said
from latchproof.fit.steps import Grid
from latchproof.fit.still import Numbers, numbers_of
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet, Tune
from latchproof.rules.units import UNITS, Unit
from latchproof.transmitter.model import Transmitter

TRIED = 20_000
"""Combinations of values that are looked at when a requirement does not hold at the first choice."""

FAR = 6
"""Steps on each side that a proposal may go."""


@dataclass(frozen=True, slots=True)
class Rounded:
    rules: RuleSet
    roundings: tuple[Rounding, ...]
    misfits: tuple[Misfit, ...]


@dataclass(slots=True)
class _Use:
    """Where a tune is entered as it is."""

    grid: Grid
    place: Place
    ways: set[Way] = field(default_factory=set)


def rounded(rules: RuleSet, t: Transmitter) -> Rounded:
    numbers, ways = numbers_of(rules), directions(rules)
    uses: dict[str, _Use] = {}

    def look(place: Place, ways: frozenset[Way]) -> e.Number:
        name = numbers.tune(place.number)
        if name is not None and place.grid is not None:
            use = uses.setdefault(name, _Use(place.grid, place))
            use.ways |= ways if use.grid == place.grid else set()
        return place.number

    entered(rules, numbers, t, ways, look)
    chosen, roundings, misfits = _tunes(rules, uses)
    pinned = replace(rules, tunes=tuple(_pinned(x, chosen.get(x.name, x.value)) for x in rules.tunes))
    hand = _Hand(numbers_of(pinned), {x.name: x.value for x in rules.tunes})
    made = entered(pinned, hand.numbers, t, ways, hand.enter)
    return Rounded(made, tuple(dict.fromkeys((*roundings, *hand.roundings))), once((*misfits, *hand.misfits)))


def _pinned(x: Tune, value: Fraction) -> Tune:
    """A tune that stays at one value."""
    return replace(x, value=value, low=value, high=value, steps=(value,) if x.steps else ())


_LOST_AT_NOTHING = frozenset({"action", "ramp", "repeat", "delay", "factor"})
"""Kinds of numbers of which nothing would be left at 0."""


class _Hand:
    """Enters the numbers, the tunes being chosen."""

    def __init__(self, numbers: Numbers, before: Mapping[str, Fraction]) -> None:
        self.numbers = numbers
        self.before = replace(numbers, values={**numbers.values, **before})
        self.roundings: list[Rounding] = []
        self.misfits: list[Misfit] = []

    def enter(self, place: Place, ways: frozenset[Way]) -> e.Number:
        wanted = self.numbers.value(place.number)
        assert wanted is not None
        spanned = self.numbers.parameters(place.number) & self.numbers.spanned
        if place.grid is None:
            self.misfits.append(_unknown(place))
            return e.Constant(wanted, _unit(place, self.numbers), span=place.number.span) if spanned else place.number
        if not place.grid.reaches(wanted):
            self.misfits.append(_out_of_reach(place, wanted, place.grid))
        way, reason = agreed(set(ways))
        got = place.grid.chosen(wanted, way)
        if got.kept == 0 != wanted and place.quantity in _LOST_AT_NOTHING:
            better = [x for x in place.grid.around(wanted) if x.kept * wanted > 0]
            if better:
                got, reason = better[0], "else nothing"
                way = "up" if got.kept > wanted else "down"
        if not place.telling(got.kept, wanted):
            better = [x for x in place.grid.around(wanted) if place.telling(x.kept, wanted)]
            if better:
                got, reason = better[0], "else always the same"
                way = "up" if got.kept > wanted else "down"
        if got.kept == wanted and not spanned:
            return place.number
        if spanned:
            reason = "middle of a fact"
        if got.kept != wanted or spanned:
            called = self.numbers.parameters(place.number)
            self.roundings.append(
                Rounding(place.where, wanted, got.entered, got.kept, place.grid.shown,
                         place.grid.kept or place.grid.shown, self._written(place, place.grid),
                         *_happened(wanted, got.kept, way, reason, limit="limit of" in place.where),
                         tuple(sorted(called)), place.number.span)
            )  # fmt: skip
        unit = UNITS[""] if place.grid.shown == FACTOR else place.grid.kept or place.grid.shown
        return e.Constant(got.kept, unit, span=place.number.span)

    def _written(self, place: Place, grid: Grid) -> Unit:
        return FACTOR if grid.shown == FACTOR else self.numbers.unit(place.number, grid.shown)


def _happened(wanted: Fraction, kept: Fraction, way: Way, reason: Reason, *, limit: bool) -> tuple[Way, Reason]:
    """Which way it went in the end, and why: where nothing lies on the wanted side it went the other way."""
    if (way == "up" and kept < wanted) or (way == "down" and kept > wanted):
        return "down" if kept < wanted else "up", "the end of what can be entered"
    if limit and reason == "acts rather than not":
        return way, "never more" if way == "down" else "never less"
    return way, reason


def _unit(place: Place, numbers: Numbers) -> Unit:
    dimension = numbers.dimension(place.number)
    return next((u for u in UNITS.values() if u.dimension == dimension and u.factor == 1), UNITS[""])


def _unknown(place: Place) -> Misfit:
    match place.quantity:
        case "ramp":
            return Misfit("no ramp", place.where, span=place.number.span)
        case "repeat":
            return Misfit("no repeat", place.where, span=place.number.span)
        case word:
            return Misfit("threshold unknown", place.where, word or said(place.number), span=place.number.span)


def _out_of_reach(place: Place, wanted: Fraction, grid: Grid) -> Misfit:
    ends = (grid.steps.low * grid.shown.factor, grid.steps.high * grid.shown.factor)
    nearest = grid.chosen(wanted, "nearest")
    return Misfit(
        "out of reach",
        place.where,
        values=(("wanted", wanted, grid.shown), ("from", ends[0], grid.shown), ("to", ends[1], grid.shown)),
        proposed=(("nearest", nearest.kept, grid.shown),),
        span=place.number.span,
    )


# ---------- tunes


@dataclass(frozen=True, slots=True)
class _Choice:
    tune: Tune
    grid: Grid
    place: Place
    way: Way
    reason: Reason

    def allowed(self, value: Fraction) -> bool:
        return self.tune.low <= value <= self.tune.high and (not self.tune.steps or value in self.tune.steps)

    def near(self) -> list[Fraction]:
        """What may be entered next to the value, the preferred first."""
        found = [x.kept for x in self.grid.around(self.tune.value) if self.allowed(x.kept)]
        found = [x for x in found if self.place.telling(x, self.tune.value)] or found
        first = self.grid.chosen(self.tune.value, self.way).kept
        return sorted(found, key=lambda x: (x != first, abs(x - self.tune.value)))


def _tunes(
    rules: RuleSet, uses: Mapping[str, _Use]
) -> tuple[dict[str, Fraction], tuple[Rounding, ...], tuple[Misfit, ...]]:
    """The value of each tune that is entered as it is."""
    tunes = {x.name: x for x in rules.tunes}
    choices = [_Choice(tunes[n], u.grid, u.place, *agreed(u.ways)) for n, u in sorted(uses.items()) if n in tunes]
    misfits = [_no_value(c) for c in choices if not c.near()]
    choices = [c for c in choices if c.near()]
    for values in _combinations(choices, [c.near() for c in choices]):
        if broken(rules, values) is None:
            return (
                values,
                tuple(r for c in choices if (r := _rounding(c, values[c.tune.name])) is not None),
                (*misfits,),
            )
    values = {c.tune.name: c.near()[0] for c in choices}
    told = (_rounding(c, values[c.tune.name]) for c in choices)
    return values, tuple(r for r in told if r is not None), (*misfits, _not_required(rules, choices, values))


def _combinations(choices: list[_Choice], offered: list[list[Fraction]]) -> Iterator[dict[str, Fraction]]:
    """The preferred values first, then those that leave as few of them as possible, by as little as possible."""
    size = 1
    for several in offered:
        size *= len(several)
    while size > TRIED:
        longest = max(range(len(offered)), key=lambda k: len(offered[k]))
        size = size // len(offered[longest]) * (len(offered[longest]) - 1)
        offered[longest] = offered[longest][:-1]
    names = [c.tune.name for c in choices]
    ranked = product(*(range(len(several)) for several in offered))
    for places in sorted(ranked, key=lambda ks: (max(ks, default=0), sum(ks), ks)):
        yield {name: several[k] for name, several, k in zip(names, offered, places, strict=True)}


def _rounding(c: _Choice, value: Fraction) -> Rounding | None:
    x = c.tune
    if value == x.value:
        return None
    entered = next((y.entered for y in c.grid.around(value) if y.kept == value), value)
    way, reason = _happened(x.value, value, c.way, c.reason, limit="limit of" in c.place.where)
    if value != c.grid.chosen(x.value, c.way).kept:
        way, reason = "down" if value < x.value else "up", "required"
    return Rounding(
        x.name,
        x.value,
        entered,
        value,
        c.grid.shown,
        c.grid.kept or c.grid.shown,
        x.unit,
        way,
        reason,
        (x.name,),
        x.span,
    )


def _no_value(c: _Choice) -> Misfit:
    x, unit = c.tune, c.grid.shown
    found = tuple((x.name, v, unit) for v in c.grid.next_to(x.value, FAR) if c.allowed(v))[:1]
    values = ((x.name, x.value, x.unit), ("from", x.low, x.unit), ("to", x.high, x.unit))
    return Misfit("tune out of range", x.name, values=values, proposed=found, span=x.span)


def _not_required(rules: RuleSet, choices: list[_Choice], values: Mapping[str, Fraction]) -> Misfit:
    failed = broken(rules, values)
    assert failed is not None
    concerned = speaking_of(rules, failed)
    offered = []
    for c in choices:
        reach = FAR if c.tune.name in concerned else 1
        offered.append([v for v in c.grid.next_to(c.tune.value, reach) if c.allowed(v)] or [values[c.tune.name]])
    proposed = next((v for v in _combinations(choices, offered) if broken(rules, v) is None), None)
    units = {c.tune.name: c.grid.kept or c.grid.shown for c in choices}
    named = tuple((n, values.get(n, v), units.get(n, u)) for n, v, u in _named(rules, concerned))
    better = () if proposed is None else tuple((n, proposed[n], units[n]) for n in proposed if n in concerned)
    return Misfit("require", failed.text, values=named, proposed=better, span=failed.span)


def _named(rules: RuleSet, names: frozenset[str]) -> list[tuple[str, Fraction, Unit]]:
    return [(x.name, x.value, x.unit) for x in rules.tunes if x.name in names]
