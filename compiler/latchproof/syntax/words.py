"""How the parser speaks of tokens: the words of the language, what was probably meant, what is expected."""

from collections.abc import Iterable
from functools import cache

from latchproof.syntax.grammar import END, tables
from latchproof.syntax.spelling import closest

TIMINGS = frozenset(("FOR", "EXTENDED", "PULSED", "BEGINS", "ENDS"))
CONNECTIVES = frozenset(("AND", "OR"))
OPERATORS = frozenset(("PLUS", "MINUS", "STAR", "SLASH"))
FUNCTIONS = ("rate", "age", "previous", "truth", "pilot_value", "size", "smaller", "larger", "exactly_one")

SYNONYMS = {
    **dict.fromkeys(("less", "lower", "under", "smaller", "beneath"), "below"),
    **dict.fromkeys(("greater", "higher", "over", "more", "bigger", "larger"), "above"),
    **dict.fromkeys(("maximum", "max"), "most"),
    **dict.fromkeys(("minimum", "min"), "least"),
    **dict.fromkeys(("between",), "from"),
    **dict.fromkeys(("if", "whilst"), "while"),
    **dict.fromkeys(("output", "servo"), "channel"),
    **dict.fromkeys(("constant", "const"), "fact"),
    **dict.fromkeys(("parameter", "param"), "tune"),
    **dict.fromkeys(("lever", "axis"), "stick"),
    **dict.fromkeys(("import",), "include"),
}
"""Words that people write who have not met the language's own yet."""

_SIGNAL = frozenset(("NAME", "QUANTITY", "NUMBER", "LPAR", "NOT", "MINUS"))
_NUMBER = _SIGNAL - {"NOT"}
_BY_KIND = {
    "NAME": "a name",
    "STRING": "a text in quotation marks",
    "NUMBER": "a plain number",
    "QUANTITY": "a number",
    "DATE": "a date",
    END: "the end of the file",
}


@cache
def texts() -> dict[str, str]:
    """The fixed text of each kind of token that has one."""
    return {t.name: t.text for t in tables().terminals if t.text is not None}


@cache
def starters() -> frozenset[str]:
    """The kinds of token that begin a statement."""
    return frozenset(kind for kind in tables().actions[tables().start] if kind not in (END, "RULES"))


def is_word(kind: str) -> bool:
    """Is it a word of the language (and so no name)?"""
    return texts().get(kind, "").isidentifier()


def meant(word: str, kinds: Iterable[str]) -> list[str]:
    """Those kinds whose word looks like this one, or means the same, the most alike first."""
    known = {text: kind for kind in kinds if (text := texts().get(kind, "")).isidentifier()}
    same = SYNONYMS.get(word.lower(), "")
    return [known[text] for text in dict.fromkeys(([same] if same in known else []) + closest(word, known))]


def quoted(kind: str) -> str:
    """The kind of token, as a message names it."""
    return _BY_KIND.get(kind) or f"`{texts().get(kind, '-' if kind == 'MINUS' else kind)}`"


def listed(kinds: Iterable[str], last: str = "or") -> str:
    """`a`, `b` or `c`."""
    words = [quoted(kind) for kind in kinds]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}"


def what_may_come(expected: frozenset[str]) -> str:
    """A short account of what may come next."""
    rest = set(expected)
    said: list[str] = []
    if rest >= _SIGNAL:
        said.append("a signal")
        rest -= _SIGNAL
    elif rest >= _NUMBER:
        said.append("a number")
        rest -= _NUMBER
    if rest >= {"NAME", "IN"}:
        said.append("a direction")
        rest -= {"NAME", "IN"}
    ends = rest >= starters()
    rest -= starters() | {END} if ends else set()
    if len(rest) > 1:
        rest -= OPERATORS | {"DOT"}
    if rest >= TIMINGS and len(rest) > 7:
        rest -= TIMINGS
    names = [kind for kind in ("NAME", "QUANTITY", "NUMBER", "STRING", "DATE") if kind in rest]
    words = sorted((k for k in rest if k not in _BY_KIND), key=lambda k: (not is_word(k), texts().get(k, k)))
    said += [quoted(kind) for kind in (*names, *words)]
    if ends:
        said.append("the next statement")
    if len(said) > 8:
        return f"{', '.join(said[:7])} ..."
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} or {said[-1]}" if said else "nothing more"


def shown(text: str) -> str:
    """A token in a message, cut if it is long."""
    return text if len(text) <= 30 else text[:27] + "..."
