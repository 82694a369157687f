"""Words that are misspelt, left out, in the place of a name or in the wrong place, mended on the spot."""

from latchproof.diagnostics import Diagnostic, Label
from latchproof.syntax.engine import Fork
from latchproof.syntax.grammar import END
from latchproof.syntax.lexing import Token
from latchproof.syntax.numerals import UNITS, unit_meant, unknown_unit
from latchproof.syntax.resync import begins_line, statement
from latchproof.syntax.spot import Repair, Spot, instead, leave_out
from latchproof.syntax.words import (
    CONNECTIVES,
    FUNCTIONS,
    OPERATORS,
    SYNONYMS,
    TIMINGS,
    is_word,
    listed,
    meant,
    quoted,
    shown,
    starters,
    texts,
)


def reserved(spot: Spot) -> Repair | None:
    """A word of the language in the place of a name."""
    token = spot.token
    if not is_word(token.kind) or "NAME" not in spot.expected or not spot.fits(["NAME"], skip=1, ahead=1):
        return None
    if token.kind in starters() and spot.begins_line:
        return None
    diagnostic = Diagnostic(
        "reserved-word",
        f"`{token.text}` is a word of the language and cannot be a name",
        (Label(spot.span(token), f"try `{token.text}_{_ending(spot)}`"),),
    )
    return instead(spot, diagnostic, "NAME")


def _ending(spot: Spot) -> str:
    """What makes a name of the word: `step_holds` for a claim, `drive_rule` for a rule."""
    begun = statement(spot.top)
    if begun is None or begun is not spot.before:
        return "1"
    return "holds" if begun.kind == "CLAIM" else begun.text


def unit(spot: Spot) -> Repair | None:
    """`46 meters`: a name behind a plain number, on the same line."""
    token, number = spot.token, spot.before
    if number is None or number.kind != "NUMBER" or not (token.kind == "NAME" or is_word(token.kind)):
        return None
    if spot.begins_line or token.kind in starters():
        return None
    if unit_meant(token.text) is None and (token.kind != "NAME" or meant(token.text, spot.expected)):
        return None
    if token.text in UNITS and spot.kinds(spot.position + 1, 2) == ["SLASH", "NAME"]:
        end = spot.tokens[spot.position + 2].end
        word = spot.source.text[token.start : end]
        return leave_out(spot, unknown_unit(spot.source, token.start, end, number.text, word), 3)
    return leave_out(spot, unknown_unit(spot.source, token.start, token.end, number.text, token.text), 1)


_ADVICE: dict[str, tuple[str, tuple[str, ...]]] = {
    "equals": ("write `is equal to`", ("IS", "EQUAL", "TO")),
    "equal": ("write `is equal to`", ("IS", "EQUAL", "TO")),
    "xor": ("write exactly_one of (a, b)", ("OR",)),
    "than": ("leave it out", ()),
    "nor": ("write not (a or b)", ("OR",)),
    "nand": ("write not (a and b)", ("AND",)),
    "over": ("a ramp is a rate, such as: ramp up 45 %/s", ("AFTER",)),
    "else": ("there is no `else`: write a rule of its own", ()),
    "do": ("leave it out", ()),
    "end": ("a block ends with `}`", ("RBRACE",)),
    "endif": ("a block ends with `}`", ("RBRACE",)),
}
"""What people write who come from another language, what to say and what to read in its place."""


def other_language(spot: Spot) -> Repair | None:
    """`a equals 3 m`, `a is less than 3 m`."""
    token, last = spot.token, spot.before
    if last is not None and token.text.lower() == "than" and last.kind == "NAME" and spot.top.below is not None:
        fork = Fork(spot.tables, spot.top.below)
        for kind in meant(last.text, fork.expected()):
            wanted = [kind, *spot.kinds(spot.position + 1, 1)]
            if fork.taken(wanted) == len(wanted):
                span = spot.span(last).to(spot.span(token))
                label = Label(span, f"write `{texts()[kind]}`")
                diagnostic = Diagnostic("unexpected-word", "this comparison has another word here", (label,))
                stand_in = Token(kind, texts()[kind], last.start, token.end)
                return Repair(diagnostic, spot.top.below, spot.position + 1, (stand_in,))
    if token.text.lower() not in _ADVICE:
        return None
    advice, kinds = _ADVICE[token.text.lower()]
    if not spot.fits(list(kinds), skip=1, ahead=1):
        return None
    diagnostic = Diagnostic("unexpected-word", f"`{token.text}` does not fit here", (Label(spot.span(token), advice),))
    return instead(spot, diagnostic, *kinds)


def cycle_statement(spot: Spot) -> Repair | None:
    """`fact n = 3 cycle from 5 ms to 20 ms`: the number has taken the word of the next statement for its unit."""
    last, below = spot.before, spot.top.below
    if spot.token.kind != "FROM" or last is None or below is None or last.kind != "QUANTITY":
        return None
    digits = last.text.removesuffix("cycle")
    if digits == last.text:
        return None
    word = Token("CYCLE", "cycle", last.end - len("cycle"), last.end)
    label = Label(spot.span(word), "begin a new line here if this is the statement `cycle`")
    diagnostic = Diagnostic("unexpected-word", f"`{shown(last.text)}` is read as a length of time", (label,))
    number = Token("NUMBER", digits.strip(), last.start, last.start + len(digits.strip()))
    return Repair(diagnostic, below, spot.position, (number, word))


def misspelt(spot: Spot) -> Repair | None:
    """This word, or the name before it, looks like a word of the language that would fit."""
    token, last = spot.token, spot.before
    if token.kind == "NAME":
        for kind in meant(token.text, spot.expected):
            if spot.fits([kind], skip=1, ahead=1):
                return instead(spot, _did_you_mean(spot, token, kind), kind)
    below = spot.top.below
    if last is None or last.kind != "NAME" or below is None:
        return None
    fork = Fork(spot.tables, below)
    for kind in meant(last.text, fork.expected()):
        wanted = [kind, *spot.kinds(spot.position, 1 if last.text.lower() in SYNONYMS else 2)]
        if fork.taken(wanted) == len(wanted):
            stand_in = Token(kind, texts()[kind], last.start, last.end)
            return Repair(_did_you_mean(spot, last, kind), below, spot.position, (stand_in,))
    return None


def _did_you_mean(spot: Spot, token: Token, kind: str) -> Diagnostic:
    word = texts()[kind]
    hints = ("the words of the language are written in small letters",) if token.text.lower() == word else ()
    label = Label(spot.span(token), f"did you mean `{word}`?")
    return Diagnostic("unexpected-word", f"`{shown(token.text)}` does not fit here", (label,), hints)


def bare_text(spot: Spot) -> Repair | None:
    """`rules Height floor`: the rest of the line was meant as a text."""
    spoken = spot.token.kind == "NAME" and spot.kinds(spot.position - 2, 1) == ["ANNOUNCE"]
    if not (spoken or spot.expected == {"STRING"}) or spot.begins_line:
        return None
    end = spot.position
    while spot.tokens[end].kind not in (END, "STRING", "VERSION", "EVERY", "LBRACE", "RBRACE"):
        end += 1
        if begins_line(spot.source, spot.tokens, end):
            break
    if end == spot.position:
        return None
    span = spot.span(spot.token).to(spot.span(spot.tokens[end - 1]))
    said = shown(spot.source.text[span.start : span.end])
    diagnostic = Diagnostic("missing-quotes", "a text stands in quotation marks", (Label(span, f'write "{said}"'),))
    return instead(spot, diagnostic, "STRING", skip=end - spot.position)


def late_sentence(spot: Spot) -> Repair | None:
    if spot.token.kind != "STRING" or spot.before is None or spot.before.kind != "COLON":
        return None
    label = Label(spot.span(spot.token), "it stands before the colon")
    diagnostic = Diagnostic("unexpected-word", "the sentence of a claim does not fit here", (label,))
    return Repair(diagnostic, spot.top, spot.position + 1)


def header(spot: Spot) -> Repair | None:
    if spot.token.kind != "RULES":
        return None
    pattern = ["RULES", "STRING", "VERSION", "STRING"]
    length = next(n for n in range(4, 0, -1) if spot.kinds(spot.position, n) == pattern[:n])
    diagnostic = Diagnostic(
        "unexpected-word",
        "`rules` stands once, at the top of the file",
        (Label(spot.span(spot.token), "not at the top"),),
    )
    return leave_out(spot, diagnostic, length)


def wrong_word(spot: Spot) -> Repair | None:
    """`rule r when x`: only one other word fits here."""
    token = spot.token
    if END in spot.expected or token.kind in (END, "STRING") or spot.begins_line:
        return None
    wanted = spot.expected - {"NOT", "DOT"} - OPERATORS - CONNECTIVES - TIMINGS
    fitting = [k for k in wanted if (is_word(k) or k in _MISSING_SIGNS) and spot.fits([k], skip=1)]
    if len(fitting) != 1 or not (is_word(token.kind) or token.kind in ("COLON", "EQUALS", "COMMA")):
        return None
    label = Label(spot.span(token), f"write {quoted(fitting[0])}")
    diagnostic = Diagnostic("unexpected-word", f"`{token.text}` does not fit here", (label,))
    return instead(spot, diagnostic, fitting[0])


_MISSING_SIGNS = ("EQUALS", "COLON", "COMMA", "LBRACE")


def _never_missing() -> frozenset[str]:
    return starters() | OPERATORS | {"NOT", "DATE"}


def missing(spot: Spot) -> Repair | None:
    """One or two words left out before this one."""
    done = END in spot.expected or "RBRACE" in spot.expected  # then words that may follow are not missing
    wanted = spot.expected & (CONNECTIVES | {"IS", "OF", "COMMA"}) if done else spot.expected - _never_missing()
    if "NAME" in wanted:
        wanted -= {"IN"}  # where a name may stand as well, `in` is one direction of several
    words = sorted(k for k in wanted if (is_word(k) or k in _MISSING_SIGNS) and spot.fits([k]))
    last = spot.before
    if last is not None and last.text in FUNCTIONS and "OF" in words:
        words = ["OF"]
    if set(words) > CONNECTIVES:
        words = [k for k in ("IS", "AND", "OR") if k in words]
        if words[:1] == ["IS"] and spot.token.kind == "NAME" and last is not None and last.kind == "NAME":
            words = ["IS"]  # `guard on`
    if not words:
        words = ["NAME"] if "NAME" in wanted and "QUANTITY" not in wanted and spot.fits(["NAME"]) else []
    if not words and "STRING" in wanted and spot.fits(["STRING"]):
        words = ["STRING"]
    if words:
        names = listed(words)
        if words == ["NAME"] and "IN" in spot.expected:
            names = "a direction (up, down ...)"
        elif words == ["NAME"] and last is not None and last.kind == "ANNOUNCE":
            names = "`voice`, `tone` or `vibration`"
        label = spot.here(f"expected before this: {names}", f"expected behind this: {names}")
        return instead(spot, Diagnostic("missing-word", f"{names} is missing", (label,)), words[0], skip=0)
    return _missing_pair(spot) or _missing_operand(spot)


def _missing_pair(spot: Spot) -> Repair | None:
    """`limit motor to 60 %`: two words left out."""
    pairs = [("AT", "MOST"), ("AT", "LEAST"), ("IS", "BELOW"), ("EQUAL", "TO"), ("IS", "AT")]
    found = [p for p in pairs if p[0] in spot.expected and spot.fits(list(p))]
    if not found:
        return None
    names = " or ".join(f"`{texts()[a]} {texts()[b]}`" for a, b in found)
    label = spot.here(f"expected before this: {names}", f"expected behind this: {names}")
    return instead(spot, Diagnostic("missing-word", f"{names} is missing", (label,)), *found[0], skip=0)


def _missing_operand(spot: Spot) -> Repair | None:
    """`a and`, `is above` and then nothing that could be compared."""
    if "QUANTITY" not in spot.expected or not spot.fits(["QUANTITY"], ahead=1):
        return None
    what = "a signal" if "NOT" in spot.expected else "a number"
    label = spot.here(f"expected before this: {what}", f"expected behind this: {what}")
    return instead(spot, Diagnostic("missing-word", f"{what} is missing", (label,)), "QUANTITY", skip=0)
