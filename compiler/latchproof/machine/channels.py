"""A channel's value: what it follows, then moves, then limits, then drives from the lowest priority to the highest.

Each layer takes the value beneath it. Ramps are rates: a layer travels toward its target; handed back, it travels
toward the value beneath until the two meet or cross, and is gone. Every layer stays inside the channel's end points.
"""

from dataclasses import dataclass

from latchproof.machine.elements import slew
from latchproof.machine.model import DT, Element, Holds, State
from latchproof.machine.terms import If, Real, Term, Terms


@dataclass(frozen=True, slots=True)
class Rates:
    """Per second; None: at once."""

    rising: Term | None = None
    falling: Term | None = None
    back: Term | None = None

    @property
    def has_memory(self) -> bool:
        return not (self.rising is None and self.falling is None and self.back is None)


@dataclass(frozen=True, slots=True)
class MoveLayer:
    name: str
    rule: str
    active: Term
    offset: Term
    rates: Rates
    holds: Holds = (None, None)


@dataclass(frozen=True, slots=True)
class LimitLayer:
    name: str
    rule: str
    active: Term
    bound: Term
    most: bool
    rates: Rates


@dataclass(frozen=True, slots=True)
class DriveLayer:
    """`rule` names whose action it is, `equals` the drives of the same channel that have no order with it."""

    name: str
    rule: str
    active: Term
    target: Term
    rates: Rates


@dataclass(frozen=True, slots=True)
class Stack:
    """Everything that acts on one channel or control; drives from lowest to highest priority."""

    name: str
    base: Term
    own: Term
    low: Term
    high: Term
    moves: tuple[MoveLayer, ...]
    limits: tuple[LimitLayer, ...]
    drives: tuple[DriveLayer, ...]

    @property
    def ends(self) -> Holds:
        """Its end points as numbers."""
        low, high = self.low, self.high
        return low.value if isinstance(low, Real) else None, high.value if isinstance(high, Real) else None


@dataclass(frozen=True, slots=True)
class Stacked:
    """The channel's value and who acts on it.

    `acting` has, for each drive, whether it acts and with which value; `layers` whether each move, limit and drive,
    in this order, has a say, on its way back to the pilot's value as well.
    """

    value: Term
    driven: Term
    moved: Term
    limited: Term
    free: Term
    states: tuple[State, ...]
    acting: tuple[tuple[Term, Term], ...]
    layers: tuple[Term, ...]


def stack(t: Terms, s: Stack) -> Stacked:
    states: list[State] = []
    layers: list[Term] = []
    value, moved, limited, driven = t.clamp(s.low, s.base, s.high), t.false, t.false, t.false
    own = t.clamp(s.low, s.own, s.high)
    for move in s.moves:
        offset = _keep(states, _offset(t, move))
        value = t.add(value, offset)
        layers.append(t.not_(t.equal(offset, t.zero)))
        moved = t.any(moved, layers[-1])
    if s.moves:
        value = t.clamp(s.low, value, s.high)
    for limit in s.limits:
        layer = _limit(t, limit, value, s.ends)
        states.extend(layer.states)
        value, limited = layer.value, t.any(limited, layer.acts)
        layers.append(layer.acts)
    acting: list[tuple[Term, Term]] = []
    for drive in s.drives:
        layer = _drive(t, drive, t.clamp(s.low, drive.target, s.high), value, s.ends)
        states.extend(layer.states)
        value, driven = layer.value, t.any(driven, layer.acts)
        acting.append((layer.acts, layer.value))
        layers.append(layer.acts)
    free = t.equal(value, own)
    return Stacked(value, driven, moved, limited, free, tuple(states), tuple(acting), tuple(layers))


@dataclass(frozen=True, slots=True)
class Layer:
    value: Term
    acts: Term
    states: tuple[State, ...] = ()


def _keep(states: list[State], element: Element) -> Term:
    states.extend(element.states)
    return element.output


def _way(t: Terms, rate: Term | None) -> Term | None:
    """How far a rate reaches in this cycle. Rates are constants (or cases of constants), so this stays linear."""
    return None if rate is None else _per_second(t, rate)


def _per_second(t: Terms, rate: Term) -> Term:
    match rate:
        case Real(value):
            return t.scale(value, t.var(DT, "number"))
        case If(condition, then, otherwise):
            return t.if_(condition, _per_second(t, then), _per_second(t, otherwise))
        case _:
            raise TypeError(f"a rate must stand still: {rate}")


def _offset(t: Terms, move: MoveLayer) -> Element:
    target = t.if_(move.active, move.offset, t.zero)
    if not move.rates.has_memory:
        return Element(target)
    before = t.var(move.name, "number")
    there = slew(t, before, target, _way(t, move.rates.rising), _way(t, move.rates.falling))
    back = _way(t, move.rates.back)
    out = t.if_(move.active, there, t.zero if back is None else slew(t, before, target, back, back))
    return Element(out, (State(before.name, "number", t.zero, out, flows=True, holds=move.holds),))


def _limit(t: Terms, limit: LimitLayer, beneath: Term, ends: Holds) -> Layer:
    join, apart = (t.smaller, t.larger) if limit.most else (t.larger, t.smaller)
    if not limit.rates.has_memory:
        return Layer(t.if_(limit.active, join(beneath, limit.bound), beneath), limit.active)
    on, kept = t.var(f"{limit.name}@on", "bool"), t.var(limit.name, "number")
    start = t.if_(on, kept, apart(beneath, limit.bound))
    closing = slew(t, start, limit.bound, _way(t, limit.rates.rising), _way(t, limit.rates.falling))
    back = _way(t, limit.rates.back)
    opening = kept if back is None else (t.add(kept, back) if limit.most else t.sub(kept, back))
    still = t.false if back is None else (t.less(opening, beneath) if limit.most else t.less(beneath, opening))
    acts = t.any(limit.active, t.all(on, still))
    bound = t.if_(limit.active, closing, opening)
    return Layer(
        t.if_(acts, join(beneath, bound), beneath),
        acts,
        (
            State(on.name, "bool", t.false, acts),
            State(kept.name, "number", t.zero, t.if_(acts, bound, t.zero), flows=True, holds=ends),
        ),
    )


def _drive(t: Terms, drive: DriveLayer, target: Term, beneath: Term, ends: Holds) -> Layer:
    if not drive.rates.has_memory:
        return Layer(t.if_(drive.active, target, beneath), drive.active)
    on, level = t.var(f"{drive.name}@on", "bool"), t.var(drive.name, "number")
    there = slew(t, t.if_(on, level, beneath), target, _way(t, drive.rates.rising), _way(t, drive.rates.falling))
    back = _way(t, drive.rates.back)
    if back is None:
        return _layer(t, drive, drive.active, there, beneath, ends)
    up, down = t.var(f"{drive.name}@up", "bool"), t.var(f"{drive.name}@down", "bool")
    nearer = t.if_(up, t.add(level, back), t.sub(level, back))
    travels_up = t.all(up, t.less(nearer, beneath))
    travels_down = t.all(down, t.less(beneath, nearer))
    acts = t.any(drive.active, travels_up, travels_down)
    layer = _layer(t, drive, acts, t.if_(drive.active, there, nearer), beneath, ends)
    ways = (
        State(up.name, "bool", t.false, t.if_(drive.active, t.less(there, beneath), travels_up)),
        State(down.name, "bool", t.false, t.if_(drive.active, t.less(beneath, there), travels_down)),
    )
    return Layer(layer.value, layer.acts, (*layer.states, *ways))


def _layer(t: Terms, drive: DriveLayer, acts: Term, value: Term, beneath: Term, ends: Holds) -> Layer:
    return Layer(
        t.if_(acts, value, beneath),
        acts,
        (
            State(f"{drive.name}@on", "bool", t.false, acts),
            State(drive.name, "number", t.zero, t.if_(acts, value, t.zero), flows=True, holds=ends),
        ),
    )
