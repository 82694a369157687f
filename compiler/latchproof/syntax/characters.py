"""Characters that may not stand in a rule file at all, not even in a comment or a text.

Control characters can drive a terminal, direction marks show a line in another order than it is read in, and invisible
characters make two names look alike. So a file that holds one is refused, and the place is shown.
"""

import re
import unicodedata

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span

SIZE_MOST = 2_000_000
SHOWN_MOST = 20


def _class_of_forbidden() -> str:
    """The inside of a character class: controls but tab and line feed, carriage return unless before a line feed."""
    return (
        "\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\xad\\u0600-\\u0605\\u061c\\u06dd\\u070f\\u0890\\u0891\\u08e2\\u180e"
        "\\u200b-\\u200f\\u2028-\\u202e\\u2060-\\u206f\\ud800-\\uf8ff\\ufeff\\ufff9-\\ufffb\\U000110bd\\U000110cd"
        "\\U00013430-\\U0001345f\\U0001bca0-\\U0001bca3\\U0001d173-\\U0001d17a\\U000e0000-\\U0010ffff"
    )


_FORBIDDEN = re.compile(f"[{_class_of_forbidden()}]|\r(?!\n)")


def forbidden(source: Source) -> tuple[Diagnostic, ...]:
    """A message for each run of forbidden characters, the first ones only; one alone if this is no text file at all."""
    text = source.text
    if len(text) > SIZE_MOST:
        return (
            Diagnostic(
                "file-too-large",
                f"the file has {len(text):,} characters, at most {SIZE_MOST:,} are read",
                (Label(Span(source.name, 0, 0)),),
                ("a rule file has some thousands of characters: is this the right file?",),
            ),
        )
    zero = text.find("\0")
    if zero >= 0:
        return (
            Diagnostic(
                "not-text",
                "this is not a text file",
                (Label(Span(source.name, zero, zero + 1), "a zero byte"),),
                ("rule files are plain text in UTF-8",),
            ),
        )
    found: list[Diagnostic] = []
    end = -1
    for match in _FORBIDDEN.finditer(text, 1 if text.startswith("\ufeff") else 0):
        if match.start() == end:
            end = match.end()
            continue
        if len(found) == SHOWN_MOST:
            break
        end = match.end()
        found.append(_message(source, match.start(), match.end()))
    return tuple(found)


def _message(source: Source, start: int, end: int) -> Diagnostic:
    character = source.text[start]
    called = unicodedata.name(character, "control character").lower()
    return Diagnostic(
        "control-character",
        f"an invisible character, U+{ord(character):04X}",
        (Label(Span(source.name, start, end), called),),
        ("delete it: what is shown must be what is read",),
    )
