"""What the pilot does to make a role true or false, and what then holds."""

from latchproof.listing import plain
from latchproof.listing.desk import Desk
from latchproof.listing.release import After
from latchproof.rules import expressions as e


def role_of(desk: Desk, name: str) -> e.Signal | None:
    return next((r.signal for r in desk.rules.roles if r.role == name), None)


def behind(desk: Desk, signal: e.Signal) -> e.Signal:
    """The switch or button behind a name, as far as there is one."""
    while isinstance(signal, e.NamedSignal) and signal.name in desk.conditions:
        signal = desk.conditions[signal.name]
    return signal


def moved(desk: Desk, role: e.Signal, *, wanted: bool) -> tuple[str, After]:
    """What the pilot does to make the role's signal true or false, and what then holds."""
    signal = behind(desk, role)
    match signal:
        case e.AtPosition(switch=switch, position=position):
            count = desk.positions(switch)
            at: list[e.Signal] = [e.AtPosition(switch, i, span=signal.span) for i in range(count)]
            if wanted:
                others = frozenset(x for i, x in enumerate(at) if i != position)
                return f"{desk.switch(switch)} to {desk.position(switch, position)}", After(
                    desk, frozenset({at[position], role}), others
                )
            rest = [i for i in range(count) if i != position]
            to = " or ".join(desk.position(switch, i) for i in rest)
            yes: frozenset[e.Signal] = frozenset({at[rest[0]]}) if len(rest) == 1 else frozenset()
            return f"{desk.switch(switch)} to {to}", After(desk, yes, frozenset({at[position], role}))
        case e.Pressed(button=name):
            how = "hold down" if wanted else "let go of"
            held: frozenset[e.Signal] = frozenset({signal, role})
            after = After(desk, held, frozenset()) if wanted else After(desk, frozenset(), held)
            return f"{how} the {desk.button(name)}", after
        case _:
            said = plain.signal(signal, desk.rules)
            text = f"see to it that {said}" if wanted else f"see to it that this is no longer so: {said}"
            both = frozenset({signal, role})
            return text, After(desk, both, frozenset()) if wanted else After(desk, frozenset(), both)
