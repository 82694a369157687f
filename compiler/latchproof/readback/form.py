"""A filled-in form held against the listing that it was made of: what was read back, what is as listed, what is not.

An empty field was not read back; that is told, and the field is taken as listed until it is. Whoever reads finds each
refusal with its place and what to do about it.
"""

from dataclasses import dataclass, replace

from latchproof.listing.model import Entry, Field, Listing
from latchproof.readback.form_cells import ABSENT, AS_LISTED, formula, plain
from latchproof.readback.form_rows import FINGERPRINT, Filled, Given, filled
from latchproof.readback.form_table import Refused, text_of
from latchproof.readback.form_value import Sheet, alike, kind_typed, typed
from latchproof.readback.model import Problem, Value
from latchproof.readback.values import read, written

KIND = "kind"
Key = tuple[int, int]
"""An entry, and the place of a field in it; -1 is its kind."""
MOST_REFUSED = 20


@dataclass(frozen=True, slots=True)
class Form:
    """`changed`: what stands in fields that are not as listed, as a listing would print it; `typed`: the same as it was
    typed. `absent`: fields that are not there. `gone`: entries. `more`: fields that the listing does not have, and
    entries, each with the number of the entry that it stands behind (0: before all). `order`: the entries as they
    stand. `unread`: fields that nobody read back."""

    changed: dict[Key, str]
    typed: dict[Key, str]
    absent: frozenset[Key]
    gone: tuple[int, ...]
    more_fields: tuple[tuple[int, Field], ...]
    more_entries: tuple[tuple[Entry, int], ...]
    order: tuple[int, ...]
    unread: frozenset[Key]
    fields: int


def form(data: bytes, listing: Listing) -> Form | tuple[Refused, ...]:
    text = text_of(data)
    if isinstance(text, Refused):
        return (text,)
    found = filled(text, listing)
    if isinstance(found, tuple):
        return found
    other = _sheet(found, listing)
    if other is not None:
        return (other,)
    reader = _Reader(listing, found)
    made = reader.read()
    return tuple(reader.refused[:MOST_REFUSED]) or made


def _sheet(found: Filled, listing: Listing) -> Refused | None:
    """Whether it is the form of this listing, whole."""
    mine = " ".join(listing.fingerprint)
    if not found.fingerprint:
        return Refused(
            0, "the form does not say which listing it is of: the line with its two words is missing",
            f"put back the line `{FINGERPRINT}` of the form, or make the form again",
        )  # fmt: skip
    if plain(found.fingerprint).casefold() != mine:
        return Refused(
            0, f"this form is of another listing: its words are `{found.fingerprint}`, those of these rules `{mine}`",
            "the rules, the stage or the transmitter differ: take those that the form was made of, or copy from a new "
            "listing",
        )  # fmt: skip
    if not found.whole:
        what = "row `end of the form`" if found.table else "part that follows the entries"
        return Refused(0, f"the end of the form is missing: it has no {what}", "rows were cut: take the whole form")
    return None


class _Reader:
    def __init__(self, listing: Listing, filled_in: Filled) -> None:
        self.entries = {x.number: x for x in listing.entries}
        self.filled = filled_in
        self.sheet = Sheet(listing.entries)
        self.refused: list[Refused] = []
        self.changed: dict[Key, str] = {}
        self.typed: dict[Key, str] = {}
        self.absent: set[Key] = set()
        self.unread: set[Key] = set()
        self.seen: set[Key] = set()
        self.gone: set[int] = set()
        self.more: list[tuple[int, Field]] = []
        self.strangers: dict[int, list[Given]] = {}
        self.order: list[int] = []

    def wrong(self, given: Given, message: str, repair: str, column: str = "") -> None:
        self.refused.append(Refused(given.line, f"entry {given.entry}, {given.label}: {message}", repair, column))

    def read(self) -> Form:
        for given in self.filled.rows:
            self._row(given)
        for x in self.entries.values():
            keys = [(x.number, k) for k in range(-1, len(x.fields))]
            found = [k for k in keys if k in self.seen]
            if not found:
                self.gone.add(x.number)
            elif len(found) < len(keys) and x.number not in self.gone:
                key = next(k for k in keys if k not in self.seen)
                self.refused.append(
                    Refused(0, f"entry {x.number}, {self._label(key)}: this row is missing in the form",
                            "put it back; if the transmitter has no such field, write `missing` under `as entered`")
                )  # fmt: skip
        gone = self.gone
        strangers = self._strangers()
        fields = sum(1 + len(x.fields) for x in self.entries.values())

        def there(keys: set[Key]) -> frozenset[Key]:
            return frozenset(k for k in keys if k[0] not in gone)

        return Form(
            {k: v for k, v in self.changed.items() if k[0] not in gone}, self.typed, there(self.absent),
            tuple(sorted(gone)), tuple(self.more), strangers,
            tuple(n for n in self.order if n in self.entries and n not in gone), there(self.unread), fields,
        )  # fmt: skip

    def _label(self, key: Key) -> str:
        return KIND if key[1] < 0 else self.entries[key[0]].fields[key[1]].label

    def _row(self, given: Given) -> None:
        if self.order[-1:] != [given.entry]:
            if given.entry in self.order:
                self.wrong(given, "the rows of this entry stand in two places", "put them together again")
                return
            self.order.append(given.entry)
        entry = self.entries.get(given.entry)
        if entry is None:
            self._stranger(given)
            return
        labels = (KIND, *(f.label for f in entry.fields))
        same = [i - 1 for i, label in enumerate(labels) if label.casefold() == given.label.casefold()]
        key = next(((entry.number, i) for i in same if (entry.number, i) not in self.seen), None)
        if key is None or (self.filled.table and not given.listed):
            self._more(given, entry, known=bool(same))
            return
        self.seen.add(key)
        self._field(given, key, Field(KIND, entry.kind) if key[1] < 0 else entry.fields[key[1]])

    def _field(self, given: Given, key: Key, listed: Field) -> None:
        untouched = plain(given.listed) == plain(listed.value)
        said = given.entered
        if not said or said.casefold() in AS_LISTED:
            if untouched:
                if not said and not given.tick:
                    self.unread.add(key)
                return
            said = given.listed
        column = "as entered" if given.entered else "as listed"
        if said.casefold() in ABSENT:
            if key[1] < 0:
                self.gone.add(key[0])
            else:
                self.absent.add(key)
            return
        if self._formula(given, said, column):
            return
        meant = self._typed(said, key, listed)
        if isinstance(meant, Problem):
            self.wrong(given, meant.message, f"what may stand here: {meant.may}" if meant.may else "", column)
        elif meant is not None:
            self.changed[key], self.typed[key] = meant, said

    def _formula(self, given: Given, said: str, column: str) -> bool:
        if formula(said):
            self.wrong(given, f"a formula stands here: {said[:40]}", "write what the transmitter shows", column)
            return True
        return False

    def _typed(self, said: str, key: Key, listed: Field) -> str | Problem | None:
        """What is not as listed, as a listing prints it; None when it is as listed."""
        if key[1] < 0:
            kind = kind_typed(said, listed.value)
            return None if kind == listed.value else kind
        found = typed(said, key[0], listed, self.sheet)
        mine = read(listed.value, listed.kind, listed.choices)
        if isinstance(found, Problem):
            return found
        if not isinstance(mine, Problem) and alike(found, mine):
            return None
        return written(found)

    # ---------- what the listing does not have

    def _more(self, given: Given, entry: Entry, *, known: bool) -> None:
        """A field more than the listing has: another input, or another reason to set or reset."""
        if given.listed and self.filled.table:
            if known:
                self.wrong(given, "this row stands here twice", "delete one of the two")
            else:
                self.wrong(given, f"the entry has no field `{given.label}`", _labels(entry))
            return
        like = _like(given.label, entry)
        if like is None:
            self.wrong(given, f"the entry has no field `{given.label}`", _labels(entry))
            return
        said = given.entered or given.listed
        if not said or said.casefold() in ABSENT | AS_LISTED:
            return
        if self._formula(given, said, "as entered"):
            return
        found: Value | Problem = typed(said, entry.number, like, self.sheet)
        if isinstance(found, Problem):
            self.wrong(given, found.message, f"what may stand here: {found.may}", "as entered")
        else:
            self.more.append((entry.number, replace(like, label=given.label.casefold(), value=written(found))))

    def _stranger(self, given: Given) -> None:
        if given.listed and self.filled.table:
            self.wrong(
                given, f"the listing has no entry {given.entry}",
                f"its entries are 1 to {max(self.entries, default=0)}; for an entry that the transmitter has beside "
                "them, leave `as listed` empty",
            )  # fmt: skip
            return
        self.strangers.setdefault(given.entry, []).append(given)

    def _strangers(self) -> tuple[tuple[Entry, int], ...]:
        """Entries that the transmitter has beside those of the listing."""
        made = []
        for number, rows in self.strangers.items():
            at = self.order.index(number)
            behind = next((n for n in reversed(self.order[:at]) if n in self.entries), 0)
            entry = self._entry(number, rows)
            if entry is not None:
                made.append((entry, behind))
        return tuple(made)

    def _entry(self, number: int, rows: list[Given]) -> Entry | None:
        head, *rest = rows
        if head.label.casefold() != KIND:
            self.wrong(head, "an entry that is not in the listing begins with its kind", f"put a row `{KIND}` first")
            return None
        kind = kind_typed(head.entered or head.listed, "")
        if isinstance(kind, Problem) or not kind:
            said = kind.message if isinstance(kind, Problem) else "no kind"
            self.wrong(head, said, "a kind of entry as in the listing, such as `comparison`", "as entered")
            return None
        like = next((x for x in self.entries.values() if x.kind == kind), None)
        if like is None:
            self.wrong(head, f"the listing has no entry of the kind `{kind}` to compare it with",
                       "delete the entry in the transmitter, then read it back again")  # fmt: skip
            return None
        fields = []
        for given in rest:
            model = next((f for f in like.fields if f.label.casefold() == given.label.casefold()), None)
            model = model or _like(given.label, like)
            if model is None:
                self.wrong(given, f"an entry of this kind has no field `{given.label}`", _labels(like))
                continue
            said = given.entered or given.listed
            if self._formula(given, said, "as entered"):
                continue
            found = typed(said, number, model, self.sheet)
            if isinstance(found, Problem):
                self.wrong(given, found.message, f"what may stand here: {found.may}", "as entered")
            else:
                label = model.label if model.label.casefold() == given.label.casefold() else given.label.casefold()
                fields.append(replace(model, label=label, value=written(found), other="", words=""))
        purpose = head.purpose or "not in the listing"
        return Entry(number, like.section, purpose, kind, tuple(fields), like.start, (), ())


def _like(label: str, entry: Entry) -> Field | None:
    """A field of the entry that may stand there several times, if the label is one of those."""
    wanted = label.casefold()
    stem = "input" if wanted.startswith("input ") and wanted[6:].isdigit() else wanted.removeprefix("or ")
    for f in entry.fields:
        mine = f.label.casefold()
        if mine == wanted or (stem == "input" and mine.startswith("input")) or mine.removeprefix("or ") == stem:
            return f if stem == "input" or wanted.startswith("or ") else None
    return None


def _labels(entry: Entry) -> str:
    return f"its fields are {', '.join(dict.fromkeys((KIND, *(f.label for f in entry.fields))))}"
