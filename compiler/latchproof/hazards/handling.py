"""H36 to H40: what the pilot hears, how switches move under a thumb, and numbers that are typed in."""

import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind, obeys, read_in, thresholds
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Procedure, Remedy, Seen
from latchproof.hazards.promise import claim, figure, lasting, on, one, own, words
from latchproof.hazards.remedies import only_while, unused_name
from latchproof.hazards.site import Site, acts, all_of, any_of, named
from latchproof.hazards.surroundings import tune_line
from latchproof.hazards.takers import NOTHING_FLIES, Actor, role_line, seconds, takers
from latchproof.rules import expressions as e
from latchproof.rules.model import Before, Never, Role, Rule, Scope, Switch, Tune, Whenever
from latchproof.rules.units import UNITS, Unit

STABLE = Fraction(3, 10)
"""Seconds that a switch must stay before it counts as thrown: common practice, no source."""


# ---------- H36


def h36(site: Site) -> Iterator[Outcome]:
    """The model does something that the pilot did not ask for, and nothing told him. Or it told him, in the wind, with
    the sound of another warning, at a volume of nothing.

    Looked for: when a rule begins to act because of a sensor, it announces something in that cycle, or another rule
    that reads the same sensor or latch does; while the guard switch has been on before, if there is one. And no two
    rules sound alike.

    Remedy: an announcement in the rule itself, with words that no other rule says.
    """
    step = (
        "Let every warning sound once at the volume you fly with, motor of another model running: you must hear each "
        "of them and know which it is"
    )
    several = [x for x in site.guards if read_in(site, x.condition)]
    speaking = [x for x in _everyone(site) if site.announces(x)]
    if not several and not speaking:
        yield NotApplicable("H36", "no rule acts because of a sensor, and none warns")
        return
    if speaking:
        yield Procedure("H36", step, "every flying day")
    telling = {y.name: (y, _behind_names(site, y)) for y in speaking}
    for x in several:
        yield _warned(site, x, telling)
    yield from _alike(site, speaking)


def _everyone(site: Site) -> tuple[Actor, ...]:
    return (*site.rules.rules, *site.rules.sequences)


def _warned(site: Site, x: Actor, telling: Mapping[str, tuple[Actor, frozenset[str]]]) -> Check:
    begins: e.Signal = e.Edge("begins", acts(x), span=x.span)
    arm = site.arm
    cause = begins
    text = f"{x.name}.acting begins"
    if arm is not None and obeys(site, x, arm):
        cause = all_of(begins, e.PreviousSignal(arm.signal, span=arm.span))
        text = f"({text}) and previous of ({on(site, arm)})"
    heard = [
        named(f"{y.name}.{means}", x.span)
        for y in _telling_of(x, _behind_names(site, x), telling)
        for means in _means(site, y)
    ]
    effect = any_of(*heard) if heard else all_of(acts(x), e.Not(acts(x), span=x.span))
    told = " or ".join(s.name for s in heard if isinstance(s, e.NamedSignal)) or "something is announced"
    made = claim(f"H36 {x.name}", f"when {x.name} begins to act, I hear it in the same cycle",
                 f"whenever {text} then {told}", Whenever(cause, effect, None, span=x.span))  # fmt: skip
    return Check("H36", x.name, made, site.rules, _says(site, x, f"let {x.name} say what it does"))


def _behind_names(site: Site, x: Actor) -> frozenset[str]:
    """The latches and sensors because of which it acts or speaks."""
    found = behind(site, x.condition)
    return frozenset(m.name for m, *_ in found.latches) | {s.name for s in read_in(site, x.condition)}


def _telling_of(x: Actor, mine: frozenset[str], telling: Mapping[str, tuple[Actor, frozenset[str]]]) -> Iterator[Actor]:
    """The rule itself, and those that speak because of a latch or sensor that makes it act."""
    yield from (y for y, theirs in telling.values() if y is x or mine & theirs)


def _means(site: Site, y: Actor) -> tuple[str, ...]:
    return tuple(dict.fromkeys(a.means for a in site.announces(y)))


def _says(site: Site, x: Actor, said: str) -> tuple[Remedy, ...]:
    if not own(x.name):
        return ()
    text = f'announce voice "{_words_of(site, x)}"  every 5 s'
    if isinstance(x, Rule):
        return (Remedy(said, (edits.clause(site, x, text, where=f"rule {x.name}"),)),)
    places = [edits.clause(site, p, text, where=f"phase {p.name.rpartition('.')[2]}") for p in x.phases]
    return (Remedy(said, tuple(places)),)


def _words_of(site: Site, x: Actor) -> str:
    """The name of the rule as words that nobody says yet."""
    taken = {a.text for y in _everyone(site) for a in site.announces(y)}
    plain = x.name.replace("_", " ")
    return next(w for w in (plain, *(f"{plain} {n}" for n in range(2, 100))) if w not in taken)


def _alike(site: Site, speaking: list[Actor]) -> Iterator[Outcome]:
    """Rules that sound exactly like one before them."""
    first: dict[frozenset[tuple[str, str | None]], Actor] = {}
    for x in speaking:
        sound = frozenset((a.means, a.text) for a in site.announces(x))
        if sound in first:
            said = f"{first[sound].name} and {x.name} sound alike: {' and '.join(sorted(map(_sound, sound)))}"
            yield Seen("H36", x.name, False, said, x.span, _says(site, x, f"let {x.name} say something else as well"))
        first.setdefault(sound, x)


def _sound(x: tuple[str, str | None]) -> str:
    means, text = x
    return f'{means} "{text}"' if text else f"a {means}" if means == "tone" else means


# ---------- H37


def h37(site: Site) -> Iterator[Outcome]:
    """The guard's switch has three positions, and the middle one means both or neither. Sweeping through it arms the
    guard, or takes it away, for the tenth of a second in which nobody looked.

    Looked for: where the switch behind the arm role has a middle, no rule acts that obeys it while the switch is there.

    Remedy: "on" is one end of the switch, written as that position, never as "not off".
    """
    arm = site.arm
    if arm is None:
        yield from _no_arm(site, "H37")
        return
    several = [(s, k) for s in _switches(site, arm) for k in range(1, len(s.positions) - 1)]
    guarded = [x for x in site.guards if obeys(site, x, arm)]
    if not several or not guarded:
        yield NotApplicable("H37", "the switch that arms has no middle position" if guarded else "nothing obeys it")
        return
    for s, k in several:
        middle: e.Signal = e.AtPosition(s.name, k, span=arm.span)
        said_middle = f"{s.name} is {s.positions[k]}"
        for x in guarded:
            text = f"never {x.name}.acting  while {said_middle}"
            made = claim(f"H37 {x.name} {s.positions[k]}", f"{x.name} never acts while {said_middle}", text,
                         Never(acts(x), span=x.span), scope=Scope("while", middle, span=arm.span))  # fmt: skip
            mend = only_while(site, x, f"{s.name} is not {s.positions[k]}")
            yield Check("H37", x.name, made, site.rules, mend)


def _switches(site: Site, role: Role) -> tuple[Switch, ...]:
    """The switches behind a role."""
    names = {c.test.switch for c in behind(site, role.signal).tests if isinstance(c.test, e.AtPosition)}
    return tuple(s for s in site.rules.switches if s.name in names)


def _no_arm(site: Site, hazard: str) -> Iterator[Outcome]:
    if takers(site):
        yield NotNamed(hazard, "no role tells which switch arms the guard",
                       role_line(site, "arm", "guard", "enable", "arm"))  # fmt: skip
    else:
        yield NotApplicable(hazard, "nothing is armed by a switch")


# ---------- H38


def h38(site: Site) -> Iterator[Outcome]:
    """A switch bounces when it is thrown, and a sleeve knocks it. One cycle of "on" is enough for a latch to be set,
    and one of "off" to clear a lockout.

    Looked for: no rule that gives power or moves a surface because of a sensor acts before the arm switch has been on
    for 0.3 s without a break. Off counts at once.

    Remedy: the switch counts as on after 0.3 s; never delay the way off.
    """
    arm = site.arm
    several = takers(site)
    if not several:
        yield NotApplicable("H38", NOTHING_FLIES)
        return
    if arm is None:
        yield from _no_arm(site, "H38")
        return
    for x in several:
        if not obeys(site, x, arm):
            continue
        stable = f"{one(on(site, arm), arm.signal)} for {figure(STABLE, 'ms')}"
        text = f"before {x.name}.acting comes ({stable})  since {on(site, arm)}"
        form = Before(acts(x), lasting(arm.signal, STABLE), span=x.span)
        said = f"{x.name} does not act before {on(site, arm)} has been so for {seconds(STABLE)}"
        made = claim(f"H38 {x.name}", said, text, form, scope=Scope("since", arm.signal, span=arm.span))
        yield Check("H38", x.name, made, site.rules, only_while(site, x, f"({stable})"))
    if not any(obeys(site, x, arm) for x in several):
        yield NotApplicable("H38", "what flies the model does not obey the arm switch")


# ---------- H39

_SWAPS: Mapping[str, tuple[str, ...]] = {
    "m": ("ft",), "ft": ("m",), "m/s": ("ft/s", "km/h"), "ft/s": ("m/s", "km/h"), "km/h": ("m/s", "ft/s"),
}  # fmt: skip
"""Units that a display may use instead, for heights and speeds."""


def h39(site: Site) -> Iterator[Outcome]:
    """30 is typed where the transmitter counts in feet: the floor is at nine metres. Or 400 in metres, for a ceiling
    of 400 ft.

    Looked for: each height or speed that a rule compares a reading with is taken in the other units that a display may
    use. That must be noticed: the number falls out of the range of its tune, or breaks a `require`. A bare number in a
    comparison has no range, so nothing would notice.

    Remedy: a tune with a range that no other unit fits into. When it is entered, read the unit on the screen.
    """
    found = [(x, t) for x in site.guards for t in thresholds(site, behind(site, x.condition).tests)]
    done: set[object] = set()
    for x, t in found:
        if not t.sensor and not isinstance(t.subject, e.NamedNumber):  # a difference, such as a jump
            continue
        for number in _typed(site, t.at):
            if number in done or number.unit.symbol not in _SWAPS:
                continue
            done.add(number)
            yield _unit(site, x, t.sensor or words(site, t.subject), number)
    if not done:
        yield NotApplicable("H39", "no rule that acts compares a height or a speed with a number that is typed in")


def _typed(site: Site, at: e.Number) -> Iterator[e.Constant | Tune]:
    """The numbers that are entered for a threshold: a bare number alone, or the tunes in it."""
    match at:
        case e.Constant():
            if not {f.name for f in site.rules.facts} & set(re.findall(r"\w+", words(site, at))):
                yield at
        case e.Parameter(name=name):
            yield from (t for t in site.rules.tunes if t.name == name)
        case e.NamedNumber(name=name):
            for v in site.rules.values:
                if v.name == name:
                    yield from _typed(site, v.value)
        case e.Plus(left=left, right=right) | e.Minus(left=left, right=right):
            for side in (left, right):
                if not isinstance(side, e.Constant):
                    yield from _typed(site, side)
        case _:
            pass


def _unit(site: Site, x: Actor, subject: str, number: e.Constant | Tune) -> Seen:
    unit = number.unit
    others = [UNITS[symbol] for symbol in _SWAPS[unit.symbol]]
    if isinstance(number, e.Constant):
        shown = figure(number.value, unit.symbol)
        said = f"{x.name} compares {subject} with {shown}: in {_or(others)} nobody would notice"
        return Seen("H39", x.name, False, said, number.span, _as_tune(site, x, subject, number))
    unnoticed = [other for other in others if _fits(site, number, number.value * other.factor / unit.factor)]
    if not unnoticed:
        said = f"{number.name} typed in {_or(others)} falls out of its range"
        return Seen("H39", number.name, True, said, number.span)
    wrong = figure(number.value * unnoticed[0].factor / unit.factor, unit.symbol)
    typed = f"{figure(number.value, unit.symbol)} for {number.name}, typed as {unnoticed[0].symbol}"
    said = f"{typed}, is {wrong}: in its range"
    return Seen("H39", number.name, False, said, number.span, _narrowed(site, number))


def _or(units: list[Unit]) -> str:
    return " or ".join(u.symbol for u in units)


def _fits(site: Site, tune: Tune, value: Fraction) -> bool:
    """The value would be taken: it lies in the range, is one of the steps, and breaks no `require` by itself."""
    if not tune.low <= value <= tune.high or (tune.steps and value not in tune.steps):
        return False
    given = {t.name: t.value for t in site.rules.tunes} | {f.name: f.low for f in site.rules.facts if f.low == f.high}
    given[tune.name] = value
    return all(_kept(r.condition, given) for r in site.rules.requires)


def _kept(condition: e.Signal, given: Mapping[str, Fraction]) -> bool:
    """Whether a `require` may be kept with these numbers; what cannot be told by them counts as kept."""
    match condition:
        case e.AllOf(operands=several):
            return all(_kept(c, given) for c in several)
        case e.Comparison(left=left, order=order, right=right):
            a, b = _worth(left, given), _worth(right, given)
            if a is None or b is None:
                return True
            return {"<": a < b, "<=": a <= b, ">": a > b, ">=": a >= b, "==": a == b}[order]
        case _:
            return True


def _worth(x: e.Number, given: Mapping[str, Fraction]) -> Fraction | None:
    match x:
        case e.Constant(value=value):
            return value
        case e.Parameter(name=name):
            return given.get(name)
        case e.Plus(left=left, right=right) | e.Minus(left=left, right=right):
            a, b = _worth(left, given), _worth(right, given)
            return None if a is None or b is None else a + b if isinstance(x, e.Plus) else a - b
        case _:
            return None


def _narrowed(site: Site, tune: Tune) -> tuple[Remedy, ...]:
    """A range from half the value to twice: every other unit is further away than that."""
    low, high = max(tune.low, tune.value / 2), min(tune.high, tune.value * 2)
    edit = tune_line(site, tune, tune.value, low, high)
    return (Remedy(f"let {tune.name} be tuned only as far as is sensible", (edit,)),)


def _as_tune(site: Site, x: Actor, subject: str, number: e.Constant) -> tuple[Remedy, ...]:
    if number.value <= 0:
        return ()
    value, low, high = (
        figure(number.value * part, number.unit.symbol) for part in (1, Fraction(9, 10), Fraction(11, 10))
    )
    name = unused_name(site, re.sub(r"\W+", "_", f"{subject}_{value}").strip("_"))
    changes = (
        edits.instead(site, number, name, where=f"what makes {x.name} act"),
        edits.statement(site, f"tune {name} = {value}  from {low} to {high}"),
    )
    return (Remedy("make it a tune, with a range that no other unit fits into", changes),)


# ---------- H40


def h40(site: Site) -> Iterator[Outcome]:
    """The rules are right, and one of them was entered wrongly: below for above, set for reset, another channel, a
    sign, a digit. What was proved is not what flies.

    No rule can prevent it. The listing is made to be read back, and each promise can be tried on the bench.
    """
    step = (
        "Copy error: somebody else reads every entry back from the transmitter, number, unit and sign, while you "
        "follow in the listing. Then, propeller off and model held, try each switch and each threshold once; again "
        "after every change"
    )
    yield Procedure("H40", step, "before the first flight")


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H36": h36, "H37": h37, "H38": h38, "H39": h39, "H40": h40,
}  # fmt: skip
