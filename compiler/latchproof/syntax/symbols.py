"""Signs that are not of the language: what they are called here, and which words were probably meant."""

import re
import unicodedata
from dataclasses import dataclass

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span

Tokens = tuple[tuple[str, str], ...]

_IS: Tokens = (("IS", "is"),)
_AT_MOST: Tokens = (("AT", "at"), ("MOST", "most"))
_AT_LEAST: Tokens = (("AT", "at"), ("LEAST", "least"))
_EQUAL: Tokens = (("EQUAL", "equal"), ("TO", "to"))

_COMPARISONS: dict[str, Tokens] = {
    **dict.fromkeys(("<", "&lt;"), (("BELOW", "below"),)),
    **dict.fromkeys((">", "&gt;"), (("ABOVE", "above"),)),
    **dict.fromkeys(("<=", "=<", "&lt;=", "≤"), _AT_MOST),
    **dict.fromkeys((">=", "=>", "&gt;=", "≥"), _AT_LEAST),
}
_EQUALITIES: dict[str, Tokens] = {
    **dict.fromkeys(("==", "==="), _EQUAL),
    **dict.fromkeys(("!=", "<>", "≠", "&lt;&gt;"), (("NOT", "not"), *_EQUAL)),
}
_WORDS: dict[str, tuple[Tokens, str]] = {
    **dict.fromkeys(("&&", "&", "&amp;&amp;", "&amp;", "∧"), ((("AND", "and"),), "write `and`")),
    **dict.fromkeys(("||", "|", "∨"), ((("OR", "or"),), "write `or`")),
    **dict.fromkeys(("!", "¬", "~"), ((("NOT", "not"),), "write `not`")),
    **dict.fromkeys((":=",), ((("EQUALS", "="),), "write `=`")),
    **dict.fromkeys(("[",), ((("LPAR", "("),), "write a round bracket")),
    **dict.fromkeys(("]",), ((("RPAR", ")"),), "write a round bracket")),
    **dict.fromkeys((";",), ((), "leave it out: a statement ends where the next one begins")),
    **dict.fromkeys(("×", "·", "⋅", "∗"), ((("STAR", "*"),), "write `*`")),
    **dict.fromkeys(("÷", "∕"), ((("SLASH", "/"),), "write `/`")),
    **dict.fromkeys(("–", "—", "‐", "‑", "‒"), ((("MINUS", "-"),), "write `-`")),
    **dict.fromkeys(("->", "→"), ((("THEN", "then"),), "write `then`")),
    **dict.fromkeys(("**",), ((("STAR", "*"),), "there are no powers: write the product")),
    **dict.fromkeys(("…",), ((), "leave it out")),
}
_COMMENT_SIGNS = ("//", "/*")
_SINGLE_QUOTES = "'‘’‚`´"
_QUOTES = '"“”„«»'

_FORUM = re.compile(
    r"&quot;[^\n]*?&quot;|```+\w*|&(?!lt;|gt;|amp;)#?\w+;"
    r"|</?(?:a|b|blockquote|br|code|div|em|font|i|img|p|pre|span|strong|u)(?:\s+[\w-]+=[^<>\n]*)?\s*/?>"
    r"|\[/?(?:code|color|img|list|quote|size|url)(?:=[^\]\n]*)?\]"
    r"|^>+",
    re.MULTILINE,
)
"""What a forum or a mail puts round a text: fences, tags, entities, `>` in front of each line."""

_BEGINS_LIKE_A_SIGN = (*_COMPARISONS, *_EQUALITIES, *_COMMENT_SIGNS, "->", ":=", "**", "&amp;&amp;", "&amp;")

SYMBOL_PATTERN = re.compile(
    _FORUM.pattern
    + "|"
    + "|".join(re.escape(s) for s in sorted(_BEGINS_LIKE_A_SIGN, key=len, reverse=True))
    + r"|(?<![\w.)])\.[0-9]+",
    re.MULTILINE,
)
"""What must be looked for before tokens are: some of it begins with a sign that the language has."""

_LONG_SIGN = re.compile("|".join(re.escape(s) for s in sorted(_WORDS, key=len, reverse=True)))


@dataclass(frozen=True, slots=True)
class Replacement:
    """`tokens` (kind, text) stand for what was written up to `end`."""

    diagnostic: Diagnostic
    tokens: Tokens
    end: int


def symbol_fault(source: Source, start: int, wrong: str, before: str) -> Replacement:
    """What is wrong at `start`; `before` is the kind of the token before it."""
    text = source.text
    if _FORUM.match(text, start):
        return _forum(source, start, wrong)
    if wrong in _COMPARISONS or wrong in _EQUALITIES:
        return _comparison(source, start, wrong, before)
    if wrong in _COMMENT_SIGNS:
        return _comment(source, start, wrong)
    if wrong[0] == "." and len(wrong) > 1:
        return _replace(
            source,
            start,
            start + len(wrong),
            "incomplete-number",
            "a decimal needs its whole part",
            f"write 0{wrong if len(wrong) < 20 else '.5'}",
            (("NUMBER", "1"),),
        )
    if wrong in _QUOTES:
        return _unclosed_text(source, start)
    if wrong in _SINGLE_QUOTES:
        return _single_quotes(source, start, wrong)
    found = _LONG_SIGN.match(text, start)
    if found:
        tokens, advice = _WORDS[found.group()]
        return _replace(
            source,
            start,
            found.end(),
            "symbol-not-word",
            f"`{found.group()}` is not a sign of the language",
            advice,
            tokens,
        )
    return _stray(source, start, wrong)


def _forum(source: Source, start: int, wrong: str) -> Replacement:
    quoted = wrong.startswith("&quot;")
    tokens: Tokens = (("STRING", '""'),) if quoted else ()
    called = "a code fence" if wrong.startswith("`") else f"`{wrong[:20]}`"
    title = "quotation marks as a forum writes them" if quoted else f"{called} comes from a forum or a mail"
    label = "put plain quotation marks there" if quoted else "leave it out, here and on other lines"
    return _replace(source, start, start + len(wrong), "forum-markup", title, label, tokens)


def _comparison(source: Source, start: int, wrong: str, before: str) -> Replacement:
    words = _COMPARISONS.get(wrong) or _EQUALITIES[wrong]
    said = " ".join(w for _, w in words)
    tokens = words if before in ("IS", "NOT") else (*_IS, *words)
    if wrong in _EQUALITIES:
        if words is _EQUAL:
            advice = "for a number write `is equal to`, for a switch `is`"
        else:
            advice = "for a switch write `is not`, for a number put `not` and brackets round `is equal to`"
        return _replace(
            source,
            start,
            start + len(wrong),
            "symbol-not-word",
            f"`{wrong}` is not a sign of the language",
            advice,
            tokens,
        )
    return _replace(
        source,
        start,
        start + len(wrong),
        "angle-comparison",
        f"`{wrong}`: comparisons are words here",
        f"write `is {said}`",
        tokens,
        ("say below, above, at least, at most, equal to, from A to B: a forum eats what stands in angle brackets",),
    )


def _comment(source: Source, start: int, wrong: str) -> Replacement:
    text = source.text
    end = text.find("*/", start) + 2 if wrong == "/*" and text.find("*/", start) > 0 else _line_end(text, start)
    return _replace(
        source, start, end, "symbol-not-word", "a comment begins with `#`", "write `#` at the start of it", ()
    )


def _unclosed_text(source: Source, start: int) -> Replacement:
    text = source.text
    end = _line_end(text, start)
    inner = next((i for i in range(start + 1, end) if text[i] in _QUOTES), None)
    hint = "a text cannot hold quotation marks" if inner is not None else "a text ends on the line on which it begins"
    return _replace(
        source, start, end, "unclosed-text", "this text is never closed", "it begins here", (("STRING", '""'),), (hint,)
    )


def _single_quotes(source: Source, start: int, wrong: str) -> Replacement:
    text = source.text
    line_end = _line_end(text, start)
    close = next((i for i in range(start + 1, line_end) if text[i] in _SINGLE_QUOTES), None)
    end = start + 1 if close is None else close + 1
    tokens: Tokens = () if close is None else (("STRING", '""'),)
    return _replace(
        source, start, end, "symbol-not-word", "texts stand in double quotation marks", 'write "..."', tokens
    )


def _stray(source: Source, start: int, wrong: str) -> Replacement:
    hints: tuple[str, ...] = ()
    category = unicodedata.category(wrong)
    if category.startswith("M"):
        hints = ("the letter before it was pasted in two pieces: type it again",)
    elif category in ("Nd", "No", "Nl"):
        hints = ("write the digits 0 to 9",)
    elif wrong == "°":
        hints = ("degrees are written `deg`, degrees Celsius `degC`",)
    elif wrong == "²" or wrong == "³":
        hints = ("there are no powers",)
    name = unicodedata.name(wrong, "").lower()
    called = f"`{wrong}`" if category[0] != "M" and wrong.isprintable() else f"U+{ord(wrong):04X}"
    label = name if name and not wrong.isascii() else "this sign has no meaning here"
    end = start + 1
    while end < len(source.text) and end - start < 200 and source.text[end] == wrong:
        end += 1
    tokens: Tokens = (("NUMBER", "1"),) if category[0] == "N" else ()
    return _replace(
        source, start, end, "stray-character", f"{called} is not part of the language", label, tokens, hints
    )


def _replace(
    source: Source, start: int, end: int, code: str, title: str, label: str, tokens: Tokens, hints: tuple[str, ...] = ()
) -> Replacement:
    return Replacement(Diagnostic(code, title, (Label(Span(source.name, start, end), label),), hints), tokens, end)


def _line_end(text: str, start: int) -> int:
    end = text.find("\n", start)
    end = len(text) if end < 0 else end
    return end - 1 if end > start and text[end - 1] == "\r" else end
