"""Did you mean ...? Similar names by difflib."""

from collections.abc import Iterable
from difflib import get_close_matches


def similar(word: str, candidates: Iterable[str]) -> str | None:
    """The candidate most like `word`, if one is near enough to be worth a line. Long lists are cut."""
    if len(word) > 80:
        return None
    if len(word) < 3:
        return next((c for c in candidates if c.casefold() == word.casefold()), None)
    near = [c for _, c in zip(range(2000), dict.fromkeys(candidates), strict=False) if abs(len(c) - len(word)) <= 8]
    folded = {c.casefold(): c for c in near}
    found = get_close_matches(word.casefold(), list(folded), n=1, cutoff=0.6)
    return folded[found[0]] if found else None


def did_you_mean(word: str, candidates: Iterable[str]) -> tuple[str, ...]:
    """A hint with the similar name, or none."""
    found = similar(word, candidates)
    return (f"did you mean `{found}`?",) if found else ()


def one_of(choices: Iterable[str]) -> str:
    """A hint with everything that could be meant."""
    items = list(choices)
    return f"write {items[0]}" if len(items) == 1 else f"write one of these: {', '.join(items)}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """`up and down`; `clean, thermal and landing`."""
    items = list(dict.fromkeys(words))
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
