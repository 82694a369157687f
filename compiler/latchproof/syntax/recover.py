"""What to say about a token that does not fit, and how to go on so that the next mistake is found too.

First the mistakes that can be mended on the spot (a misspelt word, a word left out, a bracket never closed): the parser
goes on with what was meant. A mend counts only if the next tokens fit behind it. Else the rest of the clause is left
unread.
"""

from collections.abc import Callable

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source
from latchproof.syntax import mend_places, mend_signs, mend_words
from latchproof.syntax.engine import Cell, Fork
from latchproof.syntax.grammar import END, Tables
from latchproof.syntax.lexing import Token
from latchproof.syntax.resync import statement
from latchproof.syntax.spot import Repair, Spot, skip_on
from latchproof.syntax.words import shown, starters, what_may_come

_MENDS: tuple[Callable[[Spot], Repair | None], ...] = (
    mend_signs.file_ends,
    mend_signs.closes_nothing,
    mend_places.late_form,
    mend_places.equality,
    mend_words.reserved,
    mend_signs.unclosed,
    mend_words.other_language,
    mend_words.unit,
    mend_words.cycle_statement,
    mend_places.action,
    mend_words.misspelt,
    mend_places.outside,
    mend_places.bare_if,
    mend_signs.equals_sign,
    mend_signs.needs_brackets,
    mend_signs.minus_name,
    mend_signs.second_comparison,
    mend_words.bare_text,
    mend_words.late_sentence,
    mend_words.header,
    mend_words.wrong_word,
    mend_signs.too_much,
    mend_words.missing,
)
"""In the order in which they are tried."""


def recover(source: Source, tables: Tables, taken: Cell, tokens: list[Token], position: int) -> Repair:
    """`taken` is the stack after the last token that was taken; token number `position` does not fit behind it."""
    spot = Spot(source, tables, taken, tokens, position, Fork(tables, taken).expected())
    if spot.token.mended or (spot.before is not None and spot.before.mended):
        return skip_on(spot, None)
    for mend in _MENDS:
        repair = mend(spot)
        if repair is not None:
            return repair
    return skip_on(spot, _unexpected(spot))


def _unexpected(spot: Spot) -> Diagnostic:
    token = spot.token
    begun = statement(spot.top)
    may = what_may_come(spot.expected)
    if token.kind in starters() and begun is not None and END not in spot.expected:
        labels = (
            spot.here(f"expected before this: {may}", f"expected behind this: {may}"),
            Label(spot.span(begun), "begun here"),
        )
        return Diagnostic("unfinished", f"this `{begun.text}` is not finished", labels)
    label = Label(spot.span(token), f"expected: {may}")
    return Diagnostic("unexpected-word", f"`{shown(token.text)}` does not fit here", (label,))
