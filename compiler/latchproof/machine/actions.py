"""Which actions act on a channel or control, in which order, and the stack of layers they make."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from latchproof.machine.builder import Builder
from latchproof.machine.channels import DriveLayer, LimitLayer, MoveLayer, Rates, Stack
from latchproof.machine.ordering import all_before, lined_up
from latchproof.machine.terms import Term
from latchproof.rules import expressions as e
from latchproof.rules.model import Action, Announce, Channel, Control, Drive, Limit, Modifiers, Move, RuleSet


@dataclass(frozen=True, slots=True)
class Acting:
    """An action on one channel, with the rule it stands in and the signal under which it acts."""

    rule: str
    name: str
    condition: e.Signal
    action: Drive | Move | Limit


def announcements(actions: Iterable[Action]) -> tuple[Announce, ...]:
    return tuple(a for a in actions if isinstance(a, Announce))


def acting_on(rules: RuleSet, channel: str) -> tuple[Acting, ...]:
    """In the order of the text."""
    return all_acting(rules).get(channel, ())


def all_acting(rules: RuleSet) -> dict[str, tuple[Acting, ...]]:
    """By channel or control, in the order of the text."""
    found: dict[str, list[Acting]] = {}
    sources = [(r.name, r.name, r.condition, r.actions) for r in rules.rules]
    for s in rules.sequences:
        for p in s.phases:
            place = f"{s.name}.{p.name}"
            sources.append((s.name, place, e.NamedSignal(place, span=p.span), p.actions))
    for rule, place, condition, actions in sources:
        for number, action in enumerate(actions, 1):
            if isinstance(action, Announce):
                continue
            after = action.modifiers.after
            signal = condition if after is None else e.Timed("for", condition, after, span=after.span)
            kind = type(action).__name__.lower()
            name = f"{action.channel}@{place}@{kind}{number}"
            found.setdefault(action.channel, []).append(Acting(rule, name, signal, action))
    return {channel: tuple(several) for channel, several in found.items()}


def channel_stack(
    b: Builder, x: Channel | Control, rules: RuleSet, acting: tuple[Acting, ...]
) -> tuple[Stack, tuple[Acting, ...]]:
    """The layers of a channel or control on which these act, and its drives in the order of the stack."""
    drives = in_priority(tuple(a for a in acting if isinstance(a.action, Drive)), rules)
    moves, limits, layers = [], [], []
    for a in acting:
        match a.action:
            case Move(sign=sign, amount=amount, modifiers=m):
                on, value = _told(b, x, a, amount)
                moves.append(
                    MoveLayer(a.name, a.rule, on, b.t.scale(sign, value), _rates(b, m), b.span_of(amount, sign))
                )
            case Limit(bound=bound, amount=amount, modifiers=m):
                on, value = _told(b, x, a, amount)
                limits.append(LimitLayer(a.name, a.rule, on, value, bound == "most", _rates(b, m)))
            case _:
                pass
    for a in drives:
        assert isinstance(a.action, Drive)
        on, value = _told(b, x, a, a.action.target)
        layers.append(DriveLayer(a.name, a.rule, on, value, _rates(b, a.action.modifiers)))
    base, own = _sources(b, x)
    ends = (b.t.real(x.low), b.t.real(x.high))
    return Stack(x.name, base, own, *ends, tuple(moves), tuple(limits), tuple(layers)), drives


def _told(b: Builder, x: Channel | Control, a: Acting, amount: e.Number) -> tuple[Term, Term]:
    """Whether an action acts and with which number, as its entry reads them; the channel puts its actions together."""
    with b.reading_as(a.name, a.rule):
        told = b.operand(a.condition), b.amount(amount)
    if b.reading is not None:
        b.reading.part(x.name if isinstance(x, Channel) else f"{x.name}@out", a.name)
    return told


def _sources(b: Builder, x: Channel | Control) -> tuple[Term, Term]:
    if isinstance(x, Control):
        held = b.t.var(x.name, "number")
        return held, held
    with b.reading_as(x.name):
        base = b.worked_out(x.source)
    return base, b.definitions[f"{x.name}@own"]


def _rates(b: Builder, m: Modifiers) -> Rates:
    return Rates(*(None if rate is None else b.standing(rate) for rate in (m.rising, m.falling, m.back)))


def _beneath(rules: RuleSet) -> dict[str, list[str]]:
    """For each rule and sequence those that a line of the file puts under it."""
    under: dict[str, list[str]] = {name: [] for name in _acting_names(rules)}
    for p in rules.precedences:
        under[p.over].append(p.under)
    return under


def _acting_names(rules: RuleSet) -> list[str]:
    return [*(r.name for r in rules.rules), *(s.name for s in rules.sequences)]


def in_priority(drives: tuple[Acting, ...], rules: RuleSet) -> tuple[Acting, ...]:
    """From lowest to highest. Drives without an order keep that of the text: a fight between them is an error
    anyway."""
    if len(drives) < 2:
        return drives
    place = {name: k for k, name in enumerate(_acting_names(rules))}
    rank = {n: i for i, n in enumerate(lined_up(_beneath(rules), place.__getitem__))}
    return tuple(sorted(drives, key=lambda a: rank[a.rule]))


def unordered(drives: tuple[Acting, ...], rules: RuleSet) -> tuple[tuple[int, int], ...]:
    """Pairs of drives (by place in the stack) that no priority decides between."""
    if len(drives) < 2:
        return ()
    beneath = _beneath(rules)
    under = {rule: all_before(beneath, rule) for rule in {a.rule for a in drives}}
    return tuple(
        (i, j)
        for (i, a), (j, b) in combinations(enumerate(drives), 2)
        if a.rule == b.rule or not (a.rule in under[b.rule] or b.rule in under[a.rule])
    )
