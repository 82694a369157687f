"""Numbers as they are entered: a value in two units, a thing of the model, or a calculation with its own entry."""

from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from latchproof.listing import amounts, plain
from latchproof.listing.desk import Desk
from latchproof.listing.draft import Draft, DraftField, Link, Text, joined
from latchproof.listing.fixed import fixed, parameters, unit_of
from latchproof.listing.model import FieldKind
from latchproof.rules import expressions as e
from latchproof.rules.units import UNITS, Unit


@dataclass(frozen=True, slots=True)
class Shown:
    value: Text
    other: str = ""
    words: Text = ()
    tunes: frozenset[str] = frozenset()
    fixed: Fraction | None = None

    def field(self, label: str, kind: FieldKind, before: str = "", also: Text = ()) -> DraftField:
        value = (before, *self.value) if before else self.value
        return DraftField(label, value, self.other, _then(self.words, also), self.tunes, kind)


def shown(desk: Desk, x: e.Number, use: str, unit: Unit | None = None, low: Fraction | None = None) -> Shown:
    """`unit`: the one that the device shows. `low`: the lower end of a channel, for pulse widths."""
    value = fixed(x, desk.n)
    if value is None:
        return Shown(atom(desk, x, use), "", (), parameters(x, desk.n))
    own = unit_of(x, desk.n)
    wanted = unit if unit is not None and unit.dimension == own.dimension else own
    unit = amounts.plainest(value, wanted, own)
    percent = low is not None and unit.symbol == "%"
    other = desk.pulse(value, low) if percent and low is not None else amounts.other_unit(value, unit)
    made = () if isinstance(x, e.Constant | e.Parameter) else (plain.number(x),)
    return Shown((amounts.quantity(value, unit),), other, _then(made, about(desk, x)), parameters(x, desk.n), value)


def about(desk: Desk, x: object) -> Text:
    """Which tunes and facts stand in it, and what they may be."""
    said = [_tuned(desk, name) for name in sorted(parameters(x, desk.n))]
    return joined([(s,) for s in said], "; ")


def _tuned(desk: Desk, name: str) -> str:
    called = plain.word(name)
    if name in desk.n.tunes:
        t = desk.n.tunes[name]
        chosen = amounts.quantity(t.value, amounts.plainest(t.value, t.unit))
        return f"{called} is {chosen}, {allowed(t.low, t.high, t.unit, t.steps)}"
    f = desk.n.facts[name]
    if f.low == f.high:
        return f"{called} is {amounts.quantity(f.low, f.unit)}, a fact"
    middle = amounts.quantity((f.low + f.high) / 2, f.unit)
    span = f"{amounts.quantity(f.low, f.unit)} to {amounts.quantity(f.high, f.unit)}"
    return f"{called} is not known closer than {span}; here it is taken as {middle}, the middle"


def allowed(low: Fraction, high: Fraction, unit: Unit, steps: tuple[Fraction, ...]) -> str:
    if low == high:
        return "fixed in this list"
    if steps:
        return f"may be {', '.join(amounts.quantity(s, unit) for s in steps)}"
    return f"may be {amounts.quantity(low, unit)} to {amounts.quantity(high, unit)}"


def _then(a: Text, b: Text) -> Text:
    return (*a, "; ", *b) if a and b else a or b


# ---------- durations


def duration(desk: Desk, d: e.Duration, use: str) -> Shown:
    value = fixed(d.amount, desk.n)
    if value is None:
        inner = shown(desk, d.amount, use)
        return Shown(inner.value, "", inner.words, inner.tunes)
    names = parameters(d.amount, desk.n)
    made = (plain.number(d.amount),) if names and not isinstance(d.amount, e.Parameter) else ()
    more = _then(made, about(desk, d.amount))
    if d.in_cycles:
        text, words = amounts.passes(value)
        return Shown((text,), "", _then((words,), more), names, value)
    text, other, words = amounts.seconds(value)
    return Shown((text,), other, _then((words,) if words else (), more), names, value)


# ---------- things and calculations


def atom(desk: Desk, x: e.Number, use: str, passes: int = 0) -> Text:
    """A thing of the model by name, or the entry that works the number out."""
    match x:
        case e.Reading(sensor=name) | e.Truth(sensor=name):
            return (
                f"sensor {desk.sensor(name)} (settings in ",
                Link(f"@sensor {name}", "number", "settings"),
                ")" + _ago(passes),
            )
        case e.Held(control=name):
            return (desk.control(name) + _ago(passes),)
        case e.Controlled(control=name):
            if name in desk.acted_on:
                return (_linked(desk.want(f"@control {name}"), passes),)
            return (desk.control(name) + _ago(passes),)
        case e.Age(sensor=name):
            settings = Link(f"@sensor {name}", "number", "settings")
            return (
                f"seconds since sensor {desk.sensor(name)} was last heard (settings in ",
                settings,
                ")" + _ago(passes),
            )
        case e.Output(channel=name) if name in desk.n.channels:
            return (_linked(f"@channel {name}", passes),)
        case e.Output(channel=name):
            return (_linked(desk.want(f"@control {name}"), passes),)
        case e.Own(channel=name) if name in desk.n.controls:
            return (desk.control(name) + _ago(passes),)
        case e.Own(channel=name):
            source = Link(f"@channel {name}", "number", "mention")
            return (f"what the pilot alone gives channel {desk.channel(name)} (", source, ")" + _ago(passes))
        case e.NamedNumber(name=name):
            return (_linked(desk.want(name), passes),)
        case e.PreviousNumber(operand=operand):
            return atom(desk, operand, use, passes + 1)
        case e.Constant() | e.Parameter() if not passes:
            return shown(desk, x, use).value
        case e.Constant() | e.Parameter():
            # Before the first pass it was 0, like every number.
            return (_linked(desk.once(x, lambda key: calculation(desk, key, x, use)), passes),)
        case e.Plus() | e.Minus() | e.Product() | e.Quotient() | e.Size() | e.Smallest() | e.Largest() | e.FromTable():
            return (_linked(desk.once(x, lambda key: calculation(desk, key, x, use)), passes),)
        case _:
            assert_never(x)


def _linked(key: str, passes: int) -> Link:
    return Link(key, "value", "earlier" if passes else "now", passes)


def _ago(passes: int) -> str:
    return "" if not passes else ", " + earlier(passes)


def earlier(passes: int) -> str:
    return f"{amounts.passes(Fraction(passes))[0]} earlier".replace("1 pass", "one pass")


def calculation(desk: Desk, key: str, x: e.Number, use: str, name: str | None = None) -> None:
    """An entry that works out a number. `use` is what it is for when it has no name."""
    said = plain.number(x)
    draft = desk.put(Draft(key, "calculation", "calculation", (said if name is not None else f"{said}; {use}",)))
    if name is not None:
        draft.names.append(name)
    unit = unit_of(x, desk.n)
    shows = f"shows {unit.symbol}" if unit.symbol else "shows a plain number"
    draft.fields = [
        DraftField(
            "value", formula(desk, x, use), "", _then((shows,), about(desk, x)), parameters(x, desk.n), "calculation"
        )
    ]
    draft.start = "worked out from the first pass on"


def formula(desk: Desk, x: e.Number, use: str) -> Text:
    """How the number is worked out; what stands still is put in as a number."""
    value = fixed(x, desk.n)
    if value is not None:
        return (amounts.quantity(value, amounts.plainest(value, unit_of(x, desk.n))),)
    match x:
        case e.Plus(left=left, right=right):
            return (*_beside(desk, left, use), " + ", *_inside(desk, right, use, sums_only=True))
        case e.Minus(left=e.Constant(value=Fraction(numerator=0)), right=right):
            return ("0 - ", *_inside(desk, right, use))
        case e.Minus(left=left, right=right):
            return (*_beside(desk, left, use), " - ", *_inside(desk, right, use, sums_only=True))
        case e.Product(left=left, right=right):
            return (*_inside(desk, left, use), " times ", *_inside(desk, right, use))
        case e.Quotient(left=left, right=right):
            return (*_inside(desk, left, use), " divided by ", *_inside(desk, right, use))
        case e.Size(operand=operand):
            return (*_inside(desk, operand, use), " without its sign")
        case e.Smallest(operands=operands) | e.Largest(operands=operands):
            which = "smaller" if isinstance(x, e.Smallest) else "larger"
            return (f"the {which} of: ", *joined([_beside(desk, o, use) for o in operands], " and "))
        case e.FromTable(switch=switch, values=values):
            rows: list[Text] = [
                (f"at {desk.position(switch, i)} ", *_in_row(desk, v, use)) for i, v in enumerate(values)
            ]
            return (f"by the {desk.switch(switch)}: ", *joined(rows, ", "))
        case _:
            return atom(desk, x, use)


def _beside(desk: Desk, x: e.Number, use: str) -> Text:
    """What goes on to the end of the line is put in brackets, beside a sign or as one of several."""
    inner = formula(desk, x, use)
    endless = isinstance(x, e.Smallest | e.Largest | e.FromTable) and fixed(x, desk.n) is None
    return ("(", *inner, ")") if endless else inner


def _in_row(desk: Desk, x: e.Number, use: str) -> Text:
    inner = formula(desk, x, use)
    return inner if fixed(x, desk.n) is not None else ("(", *inner, ")")


def _inside(desk: Desk, x: e.Number, use: str, *, sums_only: bool = False) -> Text:
    """With brackets where they are needed; beside a plus or minus a product needs none."""
    inner = formula(desk, x, use)
    product = isinstance(x, e.Product | e.Quotient)
    simple = isinstance(x, e.Plus | e.Minus | e.FromTable | e.Smallest | e.Largest) or (product and not sums_only)
    return inner if fixed(x, desk.n) is not None or not simple else ("(", *inner, ")")


PERCENT = UNITS["%"]


def low_end(desk: Desk, name: str) -> Fraction | None:
    """The lower end of a channel in percent; None for anything else: a stick before mixing has no pulse width."""
    thing = desk.n.channels.get(name)
    return thing.low if thing is not None and thing.unit.symbol == PERCENT.symbol else None
