"""Things said in the place of something else: an action outside a rule, `if` for a rule, a number behind `is`."""

from latchproof.diagnostics import Diagnostic, Label
from latchproof.syntax.grammar import END
from latchproof.syntax.resync import begins_line, statement
from latchproof.syntax.spot import Repair, Spot, instead, skip_on
from latchproof.syntax.words import shown, starters

_NUMBERS = ("QUANTITY", "NUMBER", "MINUS")


def equality(spot: Spot) -> Repair | None:
    """`throttle is 0 %`, `throttle is not 0 %`. With `below` in its place 0 % would never be true."""
    last, token = spot.before, spot.token
    if last is None or token.kind not in _NUMBERS or last.kind not in ("IS", "NOT") or "EQUAL" not in spot.expected:
        return None
    minus = token.kind == "MINUS" and spot.position + 1 < len(spot.tokens)
    number = shown(token.text + spot.tokens[spot.position + 1].text if minus else token.text)
    if last.kind == "NOT":
        advice = f"write `is above {number}`, or not (... is equal to {number})"
    else:
        advice = f"write `is equal to {number}` (or `at most`)"
    diagnostic = Diagnostic("missing-word", "`equal to` is missing", (Label(spot.span(token), advice),))
    return instead(spot, diagnostic, "EQUAL", "TO", skip=0)


def action(spot: Spot) -> Repair | None:
    """`motor 0 %`, `motor to 0 %`, `motor = 0 %` inside a rule."""
    token = spot.token
    if token.kind != "NAME" or "DRIVE" not in spot.expected or "CLAIM" in spot.expected:
        return None
    if not spot.begins_line and spot.kinds(spot.position - 2, 1) == ["ANNOUNCE"]:
        return None
    behind = spot.kinds(spot.position + 1, 3)
    signs = 3 if behind[:3] == ["IS", "EQUAL", "TO"] else 1 if behind[:1] in (["TO"], ["EQUALS"], ["IS"]) else 0
    value = spot.position + 1 + signs
    if not set(spot.kinds(value, 1)) & {*_NUMBERS, "NAME"} or (not signs and behind[:1] == ["NAME"]):
        return None
    number = shown("".join(t.text for t in spot.tokens[value : value + 1 + (spot.tokens[value].kind == "MINUS")]))
    if not spot.fits(["DRIVE", "NAME", "TO"], skip=1 + signs, ahead=1):
        return None
    label = Label(spot.span(token), f"write `drive {shown(token.text)} to {number}`")
    diagnostic = Diagnostic("unexpected-word", f"`{shown(token.text)}` does not fit here", (label,))
    return instead(spot, diagnostic, "DRIVE", "NAME", "TO", skip=1 + signs)


_INSIDE = {
    **dict.fromkeys(("DRIVE", "MOVE", "LIMIT", "ANNOUNCE"), ("a rule", "rule NAME while SIGNAL {{ {} ... }}")),
    **dict.fromkeys(("RAMP", "HAND"), ("a rule, behind an action", "drive motor to 35 %  {} ...")),
    **dict.fromkeys(("SET", "RESET", "TIMEOUT"), ("a latch", "latch NAME {{ set when ... reset when ... }}")),
    **dict.fromkeys(("COUNTS", "CLEARS"), ("a counter", "counter NAME {{ counts ... at most 5 }}")),
    **dict.fromkeys(("FOLLOWS", "RESTS", "TRIM"), ("a channel", "channel NAME {{ {} ... }}")),
    "PHASE": ("a sequence", "sequence NAME while SIGNAL {{ phase NAME ... }}"),
    "STALE": ("a sensor", "sensor NAME {{ ... stale after 2 s }}"),
}
"""Words of clauses and actions: where they stand, and how that is written."""

_RULE = "write a rule: rule NAME while SIGNAL { ... }"
_CLAIM = "write a promise: claim NAME: {} ..."
_TIME = "write a time behind a signal, such as: guard is on for 25 s; or give a latch a `timeout`"
_NAMED = "write `value NAME = ...` for a number, `signal NAME = ...` for something true or false"

_STATEMENTS = {
    **dict.fromkeys(("if", "when", "while", "on"), _RULE),
    **dict.fromkeys(("whenever", "always", "never", "before", "can"), _CLAIM),
    **dict.fromkeys(("timer", "delay", "wait", "after", "for"), _TIME),
    **dict.fromkeys(("let", "var", "define", "def"), _NAMED),
    **dict.fromkeys(("flag", "memory", "state"), "write `latch NAME { set when ... reset when ... }`"),
    **dict.fromkeys(("alarm", "warn", "say", "play"), 'write rule NAME while SIGNAL { announce voice "..." }'),
    **dict.fromkeys(("function", "macro"), "write `part NAME takes ... gives ... { ... }`"),
}
"""What people begin a statement with who have not met the language's own yet, and what to write."""


def outside(spot: Spot) -> Repair | None:
    """`announce voice "low"`, `if guard is on ...`, `timer t = 25 s` where a statement should begin."""
    token = spot.token
    if not starters() <= spot.expected or not (spot.begins_line or begins_statement(spot)):
        return None
    if token.kind in _INSIDE:
        where, form = _INSIDE[token.kind]
        title, advice = f"`{token.text}` stands inside {where}", f"write {form.format(token.text)}"
    elif token.text.lower() in _STATEMENTS:
        title, advice = f"no statement begins with `{token.text}`", _STATEMENTS[token.text.lower()]
        advice = advice.replace("{}", token.text.lower())
    else:
        return None
    diagnostic = Diagnostic("unexpected-word", title, (Label(spot.span(token), advice),))
    return Repair(diagnostic, spot.top, _next_statement(spot), skipped=True)


def _next_statement(spot: Spot) -> int:
    """Past the whole statement. The usual way on would go back into the block before, where an action may stand."""
    depth = 0
    for index in range(spot.position + 1, len(spot.tokens)):
        kind = spot.tokens[index].kind
        if kind == END or (not depth and (kind == "RBRACE" or _begins(spot, index))):
            return index
        depth += (kind == "LBRACE") - (kind == "RBRACE")
    return spot.position


def _begins(spot: Spot, index: int) -> bool:
    """A statement on a line of its own, or one more thing that stands outside of its place."""
    token = spot.tokens[index]
    known = token.kind in starters() or token.kind in _INSIDE or token.text.lower() in _STATEMENTS
    return known and begins_line(spot.source, spot.tokens, index)


def begins_statement(spot: Spot) -> bool:
    """At the top of the file, behind a closed block."""
    return spot.before is None or spot.before.kind == "RBRACE"


def bare_if(spot: Spot) -> Repair | None:
    """`signal g = if a`."""
    last, below = spot.before, spot.top.below
    if last is None or below is None or last.kind != "NAME" or last.text.lower() != "if" or spot.token.kind == END:
        return None
    label = Label(spot.span(last), "leave it out: a signal is the condition itself")
    diagnostic = Diagnostic("unexpected-word", f"there is no `{last.text}` in the language", (label,))
    return Repair(diagnostic, below, spot.position)


_FORMS = {"NEVER": "never", "ALWAYS": "always", "WHENEVER": "whenever"}


def late_form(spot: Spot) -> Repair | None:
    """`claim c: motor is never above 0 %`: what kind of promise it is comes first."""
    begun, last = statement(spot.top), spot.before
    if begun is None or begun.kind not in ("CLAIM", "ASSUME") or last is None or last.kind != "COLON":
        return None
    if spot.token.kind not in ("NAME", "LPAR", "NOT", "NUMBER", "QUANTITY"):
        return None
    end = spot.position
    while end < len(spot.tokens) and spot.tokens[end].kind not in (END, *starters()):
        if end > spot.position and begins_line(spot.source, spot.tokens, end):
            break
        end += 1
    said = next((i for i in range(spot.position, end) if spot.tokens[i].kind in _FORMS), None)
    if said is None:
        return None
    word = spot.tokens[said]
    text = spot.source.text
    first, rest = text[spot.token.start : word.start].strip(), text[word.end : spot.tokens[end - 1].end].strip()
    label = Label(spot.span(word), f"write {shown(word.text)} {first} {rest}".rstrip())
    diagnostic = Diagnostic("unexpected-word", f"`{word.text}` stands in front of what is promised", (label,))
    return skip_on(spot, diagnostic)
