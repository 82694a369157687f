"""The cautions in few words, since they stand on every sheet."""

from latchproof.listing.model import WayOut


def in_short(way: WayOut) -> tuple[str, ...]:
    """Whoever has no way out is not told to be ready to take it."""
    ready = ", ready to take the way out" if way.named else ""
    return (
        "On the bench the propeller is OFF, from the first entry to the last test.",
        "Range and failsafe are checked each flying day and after every change.",
        f"First flights: an experienced helper beside you{ready}; high, far from people.",
        "Local rules and the club's safety officer come first.",
        "If the control link is lost, none of this acts: only the receiver's failsafe does.",
    )
