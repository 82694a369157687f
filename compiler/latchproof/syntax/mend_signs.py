"""Mistakes with brackets, braces and signs, mended on the spot."""

from latchproof.diagnostics import Diagnostic, Label
from latchproof.syntax.grammar import END
from latchproof.syntax.lexing import Token
from latchproof.syntax.resync import open_sign, statement
from latchproof.syntax.spot import Repair, Spot, instead, leave_out, skip_on
from latchproof.syntax.words import TIMINGS, is_word, quoted, shown, texts, what_may_come


def file_ends(spot: Spot) -> Repair | None:
    if spot.token.kind != END:
        return None
    for opening, sign, code in (("LPAR", ")", "unclosed-bracket"), ("LBRACE", "}", "unclosed-block")):
        opened = open_sign(spot.top, opening)
        if opened is not None:
            what = "bracket" if opening == "LPAR" else "block"
            labels = (
                spot.here("", f"the file ends here, a `{sign}` is missing"),
                Label(spot.span(opened), "opened here"),
            )
            return Repair(Diagnostic(code, f"this {what} is never closed", labels), spot.top, None)
    begun = statement(spot.top)
    may = what_may_come(spot.expected)
    title = f"the file ends inside this `{begun.text}`" if begun else "the file ends too early"
    labels = (
        spot.here("", f"expected behind this: {may}"),
        *((Label(spot.span(begun), "begun here"),) if begun else ()),
    )
    return Repair(Diagnostic("unfinished", title, labels), spot.top, None)


def closes_nothing(spot: Spot) -> Repair | None:
    opening = {"RPAR": "LPAR", "RBRACE": "LBRACE"}.get(spot.token.kind)
    if opening is None or open_sign(spot.top, opening) is not None:
        return None
    diagnostic = Diagnostic(
        "closes-nothing",
        f"this `{spot.token.text}` closes nothing",
        (Label(spot.span(spot.token), "nothing is open here"),),
    )
    if spot.fits([], skip=1, ahead=1):
        return Repair(diagnostic, spot.top, spot.position + 1)
    return skip_on(spot, diagnostic, spot.position + 1)


def unclosed(spot: Spot) -> Repair | None:
    for opening, closing, code in (("LPAR", "RPAR", "unclosed-bracket"), ("LBRACE", "RBRACE", "unclosed-block")):
        opened = open_sign(spot.top, opening)
        for count in range(1, 4) if opened is not None else ():
            if opened is not None and spot.fits([closing] * count):
                sign = texts()[closing]
                what = "bracket" if opening == "LPAR" else "block"
                label = spot.here(f"`{sign}` expected before this", f"`{sign}` expected behind this")
                diagnostic = Diagnostic(
                    code, f"this {what} is never closed", (label, Label(spot.span(opened), "opened here"))
                )
                return instead(spot, diagnostic, *[closing] * count, skip=0)
    return None


def equals_sign(spot: Spot) -> Repair | None:
    if spot.token.kind != "EQUALS":
        return None
    words = ["EQUAL", "TO"] if spot.before is not None and spot.before.kind in ("IS", "NOT") else ["IS", "EQUAL", "TO"]
    if not spot.fits(words, skip=1, ahead=1):
        return None
    diagnostic = Diagnostic(
        "symbol-not-word",
        "`=` gives a name its meaning, it does not compare",
        (Label(spot.span(spot.token), "for a number write `is equal to`, for a switch `is`"),),
    )
    return instead(spot, diagnostic, *words)


def needs_brackets(spot: Spot) -> Repair | None:
    """A second timing behind a test, a list behind `of`, `not not`."""
    token, last = spot.token, spot.before
    if token.kind in TIMINGS and "AND" in spot.expected and "FOR" not in spot.expected:
        title, label = "two of these need brackets", f"put what stands before `{token.text}` in brackets"
        skip = 1 if token.kind in ("BEGINS", "ENDS") else 2
    elif token.kind == "COMMA" and (of := _of_before(spot)) is not None:
        labels = (
            Label(spot.span(of), f"write {of.text} of (a, b)"),
            Label(spot.span(token), "the list goes on here"),
        )
        return skip_on(spot, Diagnostic("missing-brackets", "a list needs brackets", labels))
    elif token.kind == "NOT" and last is not None and last.kind == "NOT":
        title, label, skip = "`not not` needs brackets, or leave out both", "write not (not ...)", 1
    else:
        return None
    diagnostic = Diagnostic("missing-brackets", title, (Label(spot.span(token), label),))
    return leave_out(spot, diagnostic, skip)


def _of_before(spot: Spot) -> Token | None:
    """The function whose single argument ends here: `larger` of `larger of a, b`."""
    at = spot.position - 1
    if at >= 2 and spot.tokens[at - 1].kind == "DOT":
        at -= 2
    if at >= 2 and spot.tokens[at].kind == "NAME" and spot.tokens[at - 1].kind == "OF":
        return spot.tokens[at - 2]
    return None


def minus_name(spot: Spot) -> Repair | None:
    """`-height`."""
    last = spot.before
    if last is None or last.kind != "MINUS" or not spot.fits(["NUMBER", "STAR"]):
        return None
    diagnostic = Diagnostic(
        "minus-needs-number",
        "a minus sign in front belongs to a number",
        (
            Label(
                spot.span(last).to(spot.span(spot.token)),
                f"write -1 * {'(...)' if spot.token.kind == 'LPAR' else shown(spot.token.text)}",
            ),
        ),
    )
    return instead(spot, diagnostic, "NUMBER", "STAR", skip=0)


def second_comparison(spot: Spot) -> Repair | None:
    if spot.token.kind != "IS" or "AND" not in spot.expected:
        return None
    diagnostic = Diagnostic(
        "unexpected-word",
        "one test has one `is`",
        (Label(spot.span(spot.token), "a second `is`"),),
        ("write x is from A to B", "join two tests: (...) and (...)"),
    )
    return skip_on(spot, diagnostic)


def too_much(spot: Spot) -> Repair | None:
    """A sign, or a word said twice, that can be left out."""
    token, last = spot.token, spot.before
    twice = last is not None and last.text == token.text and token.kind != "NAME" and not spot.begins_line
    sign = not is_word(token.kind) and token.kind in texts() and token.kind not in ("LBRACE", "RBRACE", "LPAR", "RPAR")
    if not (twice or sign) or not spot.fits([], skip=1, ahead=1):
        return None
    hints = ("commas stand only in lists",) if token.kind == "COMMA" else ()
    label = Label(spot.span(token), "it stands here twice" if twice else "leave it out")
    return Repair(
        Diagnostic("unexpected-word", f"{quoted(token.kind)} does not fit here", (label,), hints),
        spot.top,
        spot.position + 1,
    )
