"""Every difference between a listing and what was read back from the transmitter, one by one and by name."""

from collections.abc import Iterator
from dataclasses import dataclass

from latchproof.listing.model import Entry, Field, Listing
from latchproof.readback.form import KIND, Form


@dataclass(frozen=True, slots=True)
class OtherValue:
    """`stands`: as a listing would print it; `typed`: as the pilot wrote it."""

    entry: int
    field: int
    label: str
    listed: str
    stands: str
    typed: str


@dataclass(frozen=True, slots=True)
class OtherKind:
    entry: int
    listed: str
    stands: str


@dataclass(frozen=True, slots=True)
class NoField:
    entry: int
    field: int
    label: str
    listed: str


@dataclass(frozen=True, slots=True)
class MoreField:
    """A field that the listing does not have."""

    entry: int
    added: Field


@dataclass(frozen=True, slots=True)
class NoEntry:
    entry: int
    purpose: str


@dataclass(frozen=True, slots=True)
class MoreEntry:
    """An entry that the listing does not have, behind the entry `behind` (0: before all)."""

    entry: int
    added: Entry
    behind: int


@dataclass(frozen=True, slots=True)
class Moved:
    """It stands behind the entry `behind` (0: before all), and not where the listing has it."""

    entry: int
    purpose: str
    behind: int


Difference = OtherValue | OtherKind | NoField | MoreField | NoEntry | MoreEntry | Moved


def differences(form: Form, listing: Listing) -> tuple[Difference, ...]:
    """In the order of the listing; then what it does not have, then what stands elsewhere."""
    return (*_of_entries(form, listing), *_added(form), *_moved(form, listing))


def _of_entries(form: Form, listing: Listing) -> Iterator[Difference]:
    for x in listing.entries:
        if x.number in form.gone:
            yield NoEntry(x.number, x.purpose)
            continue
        if (kind := form.changed.get((x.number, -1))) is not None:
            yield OtherKind(x.number, x.kind, kind)
        for i, f in enumerate(x.fields):
            key = (x.number, i)
            if key in form.absent:
                yield NoField(x.number, i, f.label, f.value)
            elif (stands := form.changed.get(key)) is not None:
                yield OtherValue(x.number, i, f.label, f.value, stands, form.typed.get(key, stands))
        yield from (MoreField(n, f) for n, f in form.more_fields if n == x.number)


def _added(form: Form) -> Iterator[Difference]:
    for x, behind in form.more_entries:
        yield MoreEntry(x.number, x, behind)


def _moved(form: Form, listing: Listing) -> Iterator[Difference]:
    """As few entries as explain the order."""
    staying = longest_rising(list(form.order))
    purposes = {x.number: x.purpose for x in listing.entries}
    for i, n in enumerate(form.order):
        if n not in staying:
            yield Moved(n, purposes[n], form.order[i - 1] if i else 0)


def longest_rising(numbers: list[int]) -> frozenset[int]:
    """A longest part that is in rising order."""
    tails: list[int] = []
    before: dict[int, int | None] = {}
    for n in numbers:
        low, high = 0, len(tails)
        while low < high:
            middle = (low + high) // 2
            low, high = (middle + 1, high) if tails[middle] < n else (low, middle)
        before[n] = tails[low - 1] if low else None
        tails[low : low + 1] = [n]
    found = []
    last = tails[-1] if tails else None
    while last is not None:
        found.append(last)
        last = before[last]
    return frozenset(found)


def label_of(x: Difference) -> str:
    """The field that it is about; "" for an entry as a whole."""
    match x:
        case OtherValue(label=label) | NoField(label=label):
            return label
        case OtherKind():
            return KIND
        case MoreField(added=added):
            return added.label
        case NoEntry() | MoreEntry() | Moved():
            return ""
