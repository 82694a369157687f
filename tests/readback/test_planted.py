"""Each planted fault in what makes listings or fits rules is noticed: it cannot be read back, it is shown to do
something else, or the proofs after that refuse it."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import pytest

from latchproof.fit.fit import fit
from latchproof.listing import build
from latchproof.listing.model import Entry
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Differ, Equal, equal
from latchproof.readback.inherit import REFUSED, inherits
from latchproof.readback.pinned import pinned
from latchproof.readback.raised import raised
from latchproof.readback.sheet import as_shown
from latchproof.rules import RuleSet
from latchproof.transmitter.generic import generic
from latchproof.transmitter.model import Transmitter
from latchproof.transmitter.variants import on
from tests.listing.cases import rules
from tests.readback.planted import HANDS, PLANTED, Planted

Caught = Literal["cannot be read", "does something else", "refused", "not caught"]


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers() as made:
        yield made


def device(name: str) -> Transmitter | None:
    if name == "no edges":
        rich = generic("rich")
        return replace(rich, room=replace(rich.room, absent=rich.room.absent | {"edge"}))
    return generic(name) if name else None


def caught(case: RuleSet, t: Transmitter | None, workers: Workers) -> Caught:
    """What notices that a listing of these rules is wrong, as the command goes about it."""
    entries: tuple[Entry, ...]
    try:
        if t is None:
            header, meant = case, pinned(case)
        else:
            fitted = fit(case, t)
            assert not fitted.misfits, fitted.misfits
            header, meant = as_shown(fitted.rules, t), fitted.rounded
        entries = build(header, device=t).entries
    except AssertionError as error:
        if "read each other" not in str(error):
            raise
        return "cannot be read"
    back = raised(entries, header, t)
    if isinstance(back, tuple):
        return "cannot be read"
    found = equal(meant, back, workers, 40)
    if isinstance(found, Differ):
        return "does something else"
    assert isinstance(found, Equal), found
    if t is not None and inherits(case, meant, on(case, t)) in REFUSED:
        return "refused"
    return "not caught"


@pytest.mark.parametrize("planted", PLANTED, ids=lambda p: p.name)
def test_it_is_caught(planted: Planted, workers: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    case, t = rules(HANDS + planted.rules), device(planted.device)
    table = getattr(planted.place, planted.what)
    if planted.item:
        monkeypatch.setitem(table, planted.item, planted.make(table[planted.item]))
    else:
        monkeypatch.setattr(planted.place, planted.what, planted.make(table))
    assert caught(case, t, workers) != "not caught"


@pytest.mark.parametrize(
    ("text", "name"),
    sorted({(p.rules, p.device) for p in PLANTED}),
    ids=lambda x: " ".join(x.split())[:40] or "listing",
)
def test_without_a_fault_nothing_is_caught(text: str, name: str, workers: Workers) -> None:
    assert caught(rules(HANDS + text), device(name), workers) == "not caught"


def test_there_are_enough() -> None:
    assert len(PLANTED) >= 30
    assert len({p.name for p in PLANTED}) == len(PLANTED)
