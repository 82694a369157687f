"""Words that look alike."""

from collections.abc import Iterable


def closest(word: str, known: Iterable[str]) -> list[str]:
    """Those known words that a slip or two turns into `word`, the fewest slips first, whatever the capitals."""
    lower = word.lower()
    if len(lower) > 24:
        return []
    found = [(slips(lower, other.lower()), other) for other in known if abs(len(other) - len(lower)) <= 2]
    return [other for count, other in sorted(found) if count <= _allowed(lower, other)]


def _allowed(word: str, other: str) -> int:
    longer = max(len(word), len(other))
    return 0 if longer < 3 else 1 if longer < 6 else 2


def slips(a: str, b: str) -> int:
    """Letters left out, put in, replaced, or two neighbours swapped: how many such slips lie between two words."""
    before: list[int] = []
    last = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        row = [i]
        for j, y in enumerate(b, 1):
            count = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and y == a[i - 2]:
                count = min(count, before[j - 2] + 1)
            row.append(count)
        before, last = last, row
    return last[-1]
