"""Which rule goes first: declared priorities, and the kill switch, which outranks all on the channels it names."""

from collections.abc import Iterable
from itertools import pairwise

from latchproof.diagnostics import Label
from latchproof.rules import model
from latchproof.rules.expressions import NamedSignal, Signal
from latchproof.rules.scope import Env, look_up, unknown
from latchproof.rules.words import KIND
from latchproof.syntax import tree

Acting = model.Rule | model.Sequence


def precedences(s: tree.Priority, env: Env) -> tuple[model.Precedence, ...]:
    """`cut over battery over recover` gives two pairs, `cut` over `battery` and `battery` over `recover`."""
    names: list[str | None] = []
    for name in s.names:
        entity = look_up(tree.Ref((name,), span=name.span), env)
        if entity is None:
            if name.text not in env.scope.names:
                unknown(name, env, None, frozenset({"rule", "sequence"}))
            names.append(None)
        elif entity.kind not in ("rule", "sequence"):
            env.error(
                "wrong-kind",
                f"{name.text} is {KIND[entity.kind]}: only rules and sequences have a priority",
                Label(name.span, "not a rule"),
                Label(entity.place, f"{name.text} is {KIND[entity.kind]}"),
                hints=("name the rule that acts",),
            )
            names.append(None)
        else:
            names.append(entity.name)
    pairs: list[model.Precedence] = []
    for i, (over, under) in enumerate(pairwise(names)):
        if over is not None and under is not None:
            pairs.append(model.Precedence(over, under, span=s.names[i].span.to(s.names[i + 1].span)))
    return tuple(pairs)


def without_cycle(pairs: tuple[model.Precedence, ...], env: Env) -> bool:
    """Whether the priorities can all be kept; if not, one ring is shown, place by place."""
    beneath: dict[str, list[model.Precedence]] = {}
    for pair in pairs:
        beneath.setdefault(pair.over, []).append(pair)
    state: dict[str, int] = {}
    for root in beneath:
        if root in state:
            continue
        state[root] = 1
        path: list[model.Precedence] = []
        work = [iter(beneath[root])]
        nodes = [root]
        while work:
            following = next(work[-1], None)
            if following is None:
                work.pop()
                state[nodes.pop()] = 2
                if path:
                    path.pop()
            elif state.get(following.under) == 1:
                _report_ring([*path[nodes.index(following.under) :], following], env)
                return False
            elif following.under not in state:
                state[following.under] = 1
                path.append(following)
                nodes.append(following.under)
                work.append(iter(beneath.get(following.under, ())))
    return True


def _report_ring(ring: list[model.Precedence], env: Env) -> None:
    chain = " over ".join([ring[0].over, *(p.under for p in ring)])
    env.error(
        "priority-cycle",
        f"priorities in a ring: {chain if len(ring) <= 8 else chain[:80] + ' ...'}",
        *(Label(p.span, f"{p.over} over {p.under}") for p in reversed(ring[-8:])),
        hints=("take one of these out",),
    )


# ---------- kill


def kill_first(
    acting: Iterable[Acting],
    declared: tuple[model.Precedence, ...],
    kill: model.Role | None,
    meanings: dict[str, Signal],
    env: Env,
) -> tuple[model.Precedence, ...]:
    """The rule whose `while` is the kill signal outranks every other on the channels it drives.

    `meanings` are the named signals, to see through a name. What the file says to the contrary is an error.
    """
    if kill is None:
        return ()
    all_acting = [(r, driven(r)) for r in acting]
    known: dict[str, Signal] = {}
    meant = _seen_through(kill.signal, meanings, known)
    killers = [
        (r, channels)
        for r, channels in all_acting
        if channels and isinstance(r, model.Rule) and _seen_through(r.condition, meanings, known) == meant
    ]
    killing = {r.name for r, _ in killers}
    implied: list[model.Precedence] = []
    up, down = _steps((p.under, p.over) for p in declared), _steps((p.over, p.under) for p in declared)
    for killer, channels in killers:
        above = _reached(killer.name, up)
        beneath = _reached(killer.name, down)
        for other, others in all_acting:
            if other.name in killing or not channels & others:
                continue
            if other.name in above:
                _outranked(killer, other, channels & others, declared, kill, env)
            elif other.name not in beneath:
                implied.append(model.Precedence(killer.name, other.name, span=killer.span))
    return tuple(implied)


def driven(acting: Acting) -> set[str]:
    """The channels and controls that it drives."""
    actions = acting.actions if isinstance(acting, model.Rule) else tuple(a for p in acting.phases for a in p.actions)
    return {a.channel for a in actions if isinstance(a, model.Drive)}


def _seen_through(s: Signal, meanings: dict[str, Signal], known: dict[str, Signal]) -> Signal:
    """What stands behind a name, and the name behind that; names that only name each other stay as they are.

    `known` remembers what was found out.
    """
    seen: dict[str, None] = {}
    while isinstance(s, NamedSignal) and s.name in meanings and s.name not in seen and s.name not in known:
        seen[s.name] = None
        s = meanings[s.name]
    if isinstance(s, NamedSignal) and s.name in known:
        s = known[s.name]
    known.update(dict.fromkeys(seen, s))
    return s


def _steps(edges: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    steps: dict[str, list[str]] = {}
    for start, end in edges:
        steps.setdefault(start, []).append(end)
    return steps


def _reached(start: str, beneath: dict[str, list[str]]) -> set[str]:
    reached: set[str] = set()
    stack = list(beneath.get(start, ()))
    while stack:
        name = stack.pop()
        if name not in reached:
            reached.add(name)
            stack.extend(beneath.get(name, ()))
    return reached


def _outranked(
    killer: Acting, other: Acting, shared: set[str], declared: tuple[model.Precedence, ...], kill: model.Role, env: Env
) -> None:
    said = next((p for p in declared if p.over == other.name), declared[0])
    env.error(
        "kill-outranked",
        f"{other.name} would win over the kill switch",
        Label(said.span, f"puts {other.name} above {killer.name}"),
        Label(killer.span, f"{killer.name} drives {', '.join(sorted(shared))} as soon as the kill switch says so"),
        Label(kill.span, "the kill switch"),
        hints=("take this out: the kill switch goes first by itself",),
    )
