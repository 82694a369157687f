"""Entries of phases to sequences; phases that do not fit together become latches that do what is printed."""

import re
from dataclasses import dataclass
from functools import partial

from latchproof.listing.memories import THEN_NEXT, THEN_NOTHING, THEN_STAYS
from latchproof.listing.model import Entry
from latchproof.readback import model as m
from latchproof.readback.desk import Back, Fields
from latchproof.readback.logic import Made
from latchproof.readback.reading import duration, signal
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, Phase, Sequence, Timeout

KIND = re.compile(r"phase (\d{1,4}) of (\d{1,4}) of a sequence")


@dataclass
class PhaseFields:
    entry: Entry
    place: int
    count: int
    begins: m.Value
    ends: m.Value
    stops: m.Value

    @property
    def last(self) -> bool:
        return self.place == self.count


def _phase(b: Back, x: Entry) -> PhaseFields:
    f, kind = Fields(b, x), KIND.fullmatch(x.kind)
    if kind is None or not 1 <= int(kind[1]) <= int(kind[2]):
        raise b.wrong(x, f"no such kind of entry: {x.kind}", "`phase 1 of 2 of a sequence`")
    found = PhaseFields(
        x, int(kind[1]), int(kind[2]), f.one("begins", "phase begins"), f.one("ends", "phase ends"),
        f.one("stops at once when", "state"),
    )  # fmt: skip
    stays = found.last and isinstance(found.ends, m.NeverOfItself)
    f.fixed("then", THEN_STAYS if stays else THEN_NOTHING if found.last else THEN_NEXT)
    f.done()
    if isinstance(found.begins, m.Follows):
        b.there(found.begins.entry, ("state",), x)
    return found


def sequences(b: Back, made: Made, entries: list[Entry]) -> None:
    found = {x.entry.number: x for x in b.each(entries, _phase)}
    after = {x.begins.entry: x for x in found.values() if isinstance(x.begins, m.Follows)}
    done: set[int] = set()
    for x in found.values():
        if x.place != 1 or not isinstance(x.begins, m.BeginsWith):
            continue
        chain = [x]
        while chain[-1].entry.number in after and len(chain) <= x.count:
            chain.append(after[chain[-1].entry.number])
        sequence = b.tried(partial(_sequence, b, chain))
        if sequence is not None:
            made.sequences.append(sequence)
            made.phases |= {y.entry.number: sequence.name for y in chain}
            done |= {y.entry.number for y in chain}
    for x in found.values():
        if x.entry.number not in done:
            b.tried(partial(_alone, b, made, found, x))


def _sequence(b: Back, chain: list[PhaseFields]) -> Sequence | None:
    first = chain[0]
    assert isinstance(first.begins, m.BeginsWith)
    runs = first.begins.state
    names = [b.name(x.entry.number).rpartition(".") for x in chain]
    fit = (
        len(chain) == first.count
        and [x.place for x in chain] == list(range(1, first.count + 1))
        and {x.count for x in chain} == {first.count}
        and len({owner for owner, _, _ in names}) == 1
        and names[0][0] != ""
        and all(_against(b, runs, x.stops, x.entry) for x in chain)
    )
    if not fit:
        return None
    phases = tuple(_made(b, x, name) for x, (_, _, name) in zip(chain, names, strict=True))
    return Sequence(names[0][0], signal(b, runs, first.entry), phases, span=b.span(first.entry))


def _against(b: Back, runs: m.Value, stops: m.Value, at: Entry) -> bool:
    """Whether one state is the opposite of the other, however each is said."""
    return _plain(b, signal(b, stops, at)) == _plain(b, e.Not(signal(b, runs, at), span=b.span(at)))


def _plain(b: Back, x: e.Signal) -> e.Signal:
    """Without `not` where that can be said otherwise."""
    match x:
        case e.Not(operand=e.Not(operand=inner)):
            return _plain(b, inner)
        case e.Not(operand=e.AtPosition(switch=name, position=place)) if b.desk.positions(name) == 2:
            return e.AtPosition(name, 1 - place, span=x.span)
        case e.Not(operand=e.AllOf(operands=())):
            return e.AnyOf((), span=x.span)
        case e.Not(operand=e.AnyOf(operands=())):
            return e.AllOf((), span=x.span)
        case _:
            return x


def _made(b: Back, x: PhaseFields, name: str) -> Phase:
    span = b.span(x.entry)
    match x.ends:
        case m.After(time=time):
            return Phase(name, duration(b, time, x.entry), None, (), span=span)
        case m.EndsWhen(state=state):
            return Phase(name, None, signal(b, state, x.entry), (), span=span)
        case _ if x.last:
            return Phase(name, None, None, (), span=span)
        case _:
            raise b.wrong(x.entry, "only the last phase may have no end of its own", "", "ends")


def _alone(b: Back, made: Made, found: dict[int, PhaseFields], x: PhaseFields) -> None:
    """As a latch: set in the pass in which it begins, reset when it stops or comes to its end."""
    span, at, name = b.span(x.entry), x.entry, b.name(x.entry.number)
    stops = signal(b, x.stops, at)
    sets: e.Signal
    match x.begins:
        case m.BeginsWith(state=state):
            sets = e.Edge("begins", signal(b, state, at), span=span)
        case m.Follows(entry=entry):
            before = e.NamedSignal(b.name(entry), span=span)
            sets = e.Edge("ends", before, span=span)
            if entry in found:
                cut = e.Not(signal(b, found[entry].stops, at), span=span)
                sets = e.AllOf((sets, cut), span=span)
        case _:
            raise b.wrong(at, "a phase begins with a state or after another phase", "", "begins")
    resets, timeout = [stops], None
    match x.ends:
        case m.After(time=time):
            timeout = Timeout(duration(b, time, at), span=span)
        case m.EndsWhen(state=state):
            was = e.PreviousSignal(e.NamedSignal(name, span=span), span=span)
            resets.append(e.AllOf((was, signal(b, state, at)), span=span))
        case _:
            pass
    made.latches.append(Latch(name, (sets,), tuple(resets), False, timeout, span=span))
