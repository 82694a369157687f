"""Two words that stand for a whole listing: who reads them off the sheet and off the screen compares both at once."""

from collections.abc import Iterable
from hashlib import sha256

from latchproof.listing.model import Entry
from latchproof.listing.word_list import WORDS


def fingerprint(entries: Iterable[Entry]) -> tuple[str, str]:
    """From all that counts of the entries: any change gives, but for one time in some ten thousands, other words."""
    lines = []
    for x in entries:
        lines.append(f"{x.number}\t{x.kind}")
        lines += [f"\t{f.label}\t{f.value}" for f in x.fields if f.kind != "note"]
    found = sha256("\n".join(lines).encode("utf-8", "surrogatepass")).digest()
    return WORDS[found[0] % len(WORDS)], WORDS[found[1] % len(WORDS)]
