"""Who has a channel, said by what makes the actions on it act: no entry of a transmitter asks for that."""

from typing import Any

from latchproof.fit.shop import Shop, either
from latchproof.fit.still import numbers_of
from latchproof.machine.actions import Acting, all_acting
from latchproof.rules import expressions as e
from latchproof.rules.model import Drive, Limit, Move


def states(shop: Shop) -> None:
    """An action that is handed back has the channel for longer than anything says: that cannot be asked for."""
    acting = all_acting(shop.rules)
    channels = {c.name for c in shop.rules.channels}

    def change(x: Any) -> Any:
        if not isinstance(x, e.ChannelState):
            return x
        if x.state == "free":
            shop.changed("channel state", x.span)
            now: e.Number = (
                e.Output(x.channel, span=x.span) if x.channel in channels else e.Controlled(x.channel, span=x.span)
            )
            return e.Comparison(now, "==", e.Own(x.channel, span=x.span), span=x.span)
        kind = {"driven": Drive, "moved": Move, "limited": Limit}[x.state]
        concerned = [a for a in acting.get(x.channel, ()) if isinstance(a.action, kind)]
        if not all(_at_once(shop, a) for a in concerned):
            helps = ("ask for what makes the rule act instead",)
            shop.missing("no channel state", x.span, f"{x.channel} is {x.state}", helps=helps)
            return x
        shop.changed("channel state", x.span)
        conditions = tuple(shop.short(a.condition) for a in concerned)
        return either(*conditions, span=x.span) if conditions else e.AnyOf((), span=x.span)

    shop.rewrite(change)


def _at_once(shop: Shop, a: Acting) -> bool:
    """Whether it has the channel exactly as long as its rule acts."""
    m = a.action.modifiers
    if isinstance(a.action, Move):
        amount = numbers_of(shop.rules).value(a.action.amount)
        return amount is not None and amount != 0 and not (m.rising or m.falling or m.back)
    return m.back is None
