"""The published property patterns as claims: a table of patterns, scopes, formulas, claims, and rules that keep them.

Sources
- Dwyer, Avrunin, Corbett, ICSE 1999 pp. 411-420. Formulas: the mappings page for LTL (newer: psp/patterns/ltl.html;
  older: people.cs.ksu.edu/~dwyer/SPAT/ltl.html), read in part there and in full in public repositories that reproduce
  it.
- Konrad, Cheng, ICSE 2005: minimum duration, maximum duration, bounded recurrence, bounded response, bounded
  invariance. Read in a secondary text that lists the five. At a fixed cycle of 1 s a bound of 3 s is three steps of
  `o`: derived here.
- "bounded": a deadline of 3 s in place of "eventually": derived here, the original breaks on no finite run.

P, Q, R, S, T are the letters of the pages. The rules have a button for each and common names for the scopes.
"""

from dataclasses import dataclass

from tests.external.tool import SECONDS

SCOPES = ("globally", "before R", "after Q", "between Q and R", "after Q until R")

WITHIN_3 = "({0} | o({0} | o({0} | o{0})))"
IN_SCOPE_3 = "({0} | o({0} | o({0} | o({0} | oR))))"
"""A claim about a stretch of a scope speaks only of time inside it: when the first cycle after the deadline is outside,
the deadline was not missed inside."""


HEAD = f"""{SECONDS}
button a
button b
button c
button q_in
button r_in
latch closed {{ set when r }}                      # from the first R on
latch later  {{ set when q }}                      # from the first Q on
latch inside {{ set when q  reset when r }}        # from a Q until the next R, which is outside
signal r_first = closed begins
"""

FREE = {
    "p": "a is pressed",
    "q": "q_in is pressed",
    "r": "r_in is pressed",
    "s": "b is pressed",
    "t": "c is pressed",
}
"""Rules that promise nothing: every signal is what a button is."""


@dataclass(frozen=True)
class Row:
    """`keep`: what signals must be for the claims to hold, and `keep_helper` what that needs.

    `waits`: cycles between the end of a bound and the first cycle in which the claim is seen broken.
    `kind` "reach": a claim about what can happen.
    """

    pattern: str
    scope: str
    formula: str
    claims: tuple[str, ...]
    keep: dict[str, str]
    helper: str = ""
    keep_helper: str = ""
    waits: int = 0
    kind: str = "safe"

    @property
    def id(self) -> str:
        return f"{self.pattern}, {self.scope}"

    def names(self, number: int) -> list[str]:
        return [f"row{number}_{k}" for k in range(len(self.claims))]

    def told(self, number: int) -> str:
        claims = zip(self.names(number), self.claims, strict=True)
        return self.helper + "".join(f"claim {name}: {claim}\n" for name, claim in claims)


SEEN = "latch s_seen { set when s }\n"
COUNT = "counter n { counts p  at most 3 }\n"
COUNT_LATER = "signal p_later = p and later\ncounter n_later { counts p_later  at most 3 }\n"
COUNT_INSIDE = (
    "signal p_inside = p and inside\ncounter n_inside { counts p_inside  clears when not inside  at most 3 }\n"
)
AT_MOST_TWICE = "(!P W (P W (!P W (P W []!P))))"
BEFORE_TWICE = "((!P & !R) U (R | ((P & !R) U (R | ((!P & !R) U (R | ((P & !R) U (R | (!P U R)))))))))"
UNTIL_TWICE = "((!P & !R) U (R | ((P & !R) U (R | ((!P & !R) U (R | ((P & !R) U (R | (!P W R) | []P))))))))"
USED_UP = "latch used_up { set when previous of n is at least 2 and not previous of p }\n"
UP = "latch up { set when a is pressed  set when a is released }\n"
FRESH = "latch s_fresh { set when s  reset when q  set wins }\n"

ROWS = (
    Row("absence", "globally", "[](!P)", ("never p",), {"p": "a is pressed and b is pressed and not b_on"},
        keep_helper="signal b_on = b is pressed\n"),
    Row("absence", "before R", "<>R -> (!P U R)", ("never r_first and previous of p_early",),
        {"p": "a is pressed and closed"}, helper="latch p_early { set when p and not closed }\n"),
    Row("absence", "after Q", "[](Q -> [](!P))", ("never p since q",), {"p": "a is pressed and not later"}),
    Row("absence", "between Q and R", "[]((Q & !R & <>R) -> (!P U R))", ("never r and previous of p_was_inside",),
        {"p": "a is pressed and not inside"}, helper="latch p_was_inside { set when p and inside  reset when r }\n"),
    Row("absence", "after Q until R", "[](Q & !R -> (!P W R))", ("never p while inside",),
        {"p": "a is pressed and not inside"}),

    Row("universality", "globally", "[](P)", ("always p",), {"p": "b_on or b is released"},
        keep_helper="signal b_on = b is pressed\n"),
    Row("universality", "before R", "<>R -> (P U R)", ("never r_first and previous of p_missed",),
        {"p": "a is pressed or not closed"}, helper="latch p_missed { set when not p and not closed }\n"),
    Row("universality", "after Q", "[](Q -> [](P))", ("always p since q",), {"p": "a is pressed or later"}),
    Row("universality", "between Q and R", "[]((Q & !R & <>R) -> (P U R))", ("never r and previous of p_gap",),
        {"p": "a is pressed or inside"}, helper="latch p_gap { set when inside and not p  reset when r }\n"),
    Row("universality", "after Q until R", "[](Q & !R -> (P W R))", ("always p while inside",),
        {"p": "a is pressed or inside"}),

    Row("existence, bounded", "globally", WITHIN_3.format("P"), ("whenever up begins then p within 3 s",),
        {"p": "up for 2 s"}, helper=UP, waits=1),
    Row("existence", "before R", "!R W (P & !R)", ("before r comes (p and not r)",),
        {"r": "r_in is pressed and previous of a_seen"}, keep_helper="latch a_seen { set when a is pressed }\n"),
    Row("existence, bounded", "after Q", f"!Q W (Q & {WITHIN_3.format('P')})",
        ("whenever later begins then p within 3 s",), {"p": "later for 2 s"}, waits=1),
    Row("existence", "between Q and R", "[](Q & !R -> (!R W (P & !R)))", ("never r and previous of p_owed",),
        {"p": "a is pressed or q"}, helper="latch p_owed { set when q  reset when p  reset when r }\n"),
    Row("existence, as far as a run can show it", "after Q until R", "[](Q & !R -> (!R U (P & !R)))",
        ("never r and previous of p_due",), {"p": "a is pressed or q"},
        helper="latch p_due { set when q  reset when p  reset when r }\n"),

    Row("bounded existence", "globally", AT_MOST_TWICE, ("always n is at most 2",),
        {"p": "a is pressed and not used_up"}, helper=COUNT, keep_helper=USED_UP),
    Row("bounded existence", "before R", f"<>R -> {BEFORE_TWICE}",
        ("never r_first and previous of n_before is above 2",),
        {"p": "a is pressed and closed"},
        helper="signal p_before = p and not closed\ncounter n_before { counts p_before  at most 3 }\n"),
    Row("bounded existence", "after Q", f"<>Q -> (!Q U (Q & {AT_MOST_TWICE}))", ("always n_later is at most 2",),
        {"p": "a is pressed and not later"}, helper=COUNT_LATER),
    Row("bounded existence", "between Q and R", f"[]((Q & <>R) -> {BEFORE_TWICE})",
        ("never r and previous of n_between is above 2",), {"p": "a is pressed and not inside"},
        helper=COUNT_INSIDE.replace("inside {", "between {").replace("p_inside", "p_between")),
    Row("bounded existence", "after Q until R", f"[](Q -> {UNTIL_TWICE})", ("always n_inside is at most 2",),
        {"p": "a is pressed and not inside"}, helper=COUNT_INSIDE),

    Row("precedence", "globally", "!P W S", ("before p comes s",), {"p": "a is pressed and s_known"},
        keep_helper="latch s_known { set when s }\n"),
    Row("precedence, older page", "globally", "<>P -> (!P U (S & !P))", ("before p comes (s and not p)",),
        {"p": "a is pressed and previous of s_known"}, keep_helper="latch s_known { set when s }\n"),
    Row("precedence", "before R", "<>R -> (!P U (S | R))", ("never r_first and previous of p_first",),
        {"p": "a is pressed and s_seen"}, helper=SEEN + "latch p_first { set when p and not s_seen and not closed }\n"),
    Row("precedence, first Q", "after Q", "!Q W (Q & (!P W S))", ("before p comes s while later",),
        {"p": "a is pressed and s"}),
    Row("precedence", "between Q and R", "[]((Q & !R & <>R) -> (!P U (S | R)))", ("never r and previous of p_alone",),
        {"p": "a is pressed and s"},
        helper=FRESH + "latch p_alone { set when p and inside and not s_fresh  reset when r }\n"),
    Row("precedence", "after Q until R", "[](Q & !R -> (!P W (S | R)))", ("never p and not s_after_q while inside",),
        {"p": "a is pressed and s"}, helper=FRESH.replace("s_fresh", "s_after_q")),

    Row("response, bounded", "globally", f"[](P -> {WITHIN_3.format('S')})", ("whenever p then s within 3 s",),
        {"s": "b is pressed or previous of p"}, waits=1),
    Row("response", "before R", "<>R -> (P -> (!R U (S & !R))) U R", ("never r_first and previous of s_owed",),
        {"s": "b is pressed or p"}, helper="latch s_owed { set when p  reset when s }\n"),
    Row("response, bounded", "after Q", f"[](Q -> [](P -> {WITHIN_3.format('S')}))",
        ("whenever p then s within 3 s while later",), {"s": "b is pressed or (later and previous of p)"}, waits=1),
    Row("response", "between Q and R", "[]((Q & !R & <>R) -> (P -> (!R U (S & !R))) U R)",
        ("never r and previous of s_due",), {"s": "b is pressed or p"},
        helper="latch s_due { set when p and inside  reset when s  reset when r }\n"),
    Row("response, as far as a run can show it", "after Q until R", "[](Q & !R -> ((P -> (!R U (S & !R))) W R))",
        ("never r and previous of s_wanted",), {"s": "b is pressed or p"},
        helper="latch s_wanted { set when p and inside  reset when s  reset when r }\n"),
    Row("response, bounded", "after Q until R", f"[](Q & !R -> ((P -> {IN_SCOPE_3.format('(S | R)')}) W R))",
        ("whenever p then s within 3 s while inside",), {"s": "b is pressed or previous of p"}),

    Row("precedence chain, S and T before P", "globally", "<>P -> (!P U (S & !P & o(!P U T)))",
        ("before p comes t_done",), {"p": "a is pressed and t_done"},
        helper="latch s_first { set when s and not p }\nlatch t_done { set when t and previous of s_first }\n"),
    Row("precedence chain, P before S and T", "globally", "(<>(S & o<>T)) -> ((!S) U P)",
        ("never t and previous of s_early",), {"s": "b is pressed and p_seen"},
        helper="latch p_seen { set when p }\nlatch s_early { set when s and not p_seen }\n"),
    Row("response chain, P after S and T, bounded", "globally", f"[](S -> o[](T -> {WITHIN_3.format('P')}))",
        ("whenever t and previous of s_any then p within 3 s",), {"p": "a is pressed or t"},
        helper="latch s_any { set when s }\n", waits=1),
    Row("existence chain", "globally", "<>(S & o<>(T & o<>P))", ("can s then t then p",), {}, kind="reach"),

    Row("minimum duration", "globally", "(P -> (oP & ooP)) & [](!P & oP -> o(oP & ooP))", ("length of p at least 3 s",),
        {"p": "(a is pressed) pulsed 3 s"}),
    Row("maximum duration", "globally", "[](!(P & oP & ooP & oooP))", ("length of p at most 3 s",),
        {"p": "(a is pressed) pulsed 2 s"}, waits=1),
    Row("bounded recurrence", "globally", f"[]({WITHIN_3.format('P')})", ("whenever not p then p within 3 s",),
        {"p": "a is pressed or previous of p_low"}, keep_helper="signal p_low = not p\n", waits=1),
    Row("bounded invariance", "globally", "[](P -> (S & oS & ooS & oooS))",
        ("whenever p then s", "for 4 s after p never not s"), {"s": "b is pressed or (p extended 3 s)"}),
    Row("maximum duration", "after Q until R",
        "[](Q & !R -> ((!(P & o(P & !R & o(P & !R & o(P & !R & o!R))))) W R))",
        ("length of p at most 3 s while inside",), {"p": "(a is pressed) pulsed 2 s"}),
    Row("bounded recurrence", "after Q until R", f"[](Q & !R -> ({IN_SCOPE_3.format('(P | R)')} W R))",
        ("whenever not p then p within 3 s while inside",), {"p": "a is pressed or previous of p_low"},
        keep_helper="signal p_low = not p\n"),
    Row("bounded invariance", "after Q until R",
        "[](Q & !R -> ((P -> (S & o(R | (S & o(R | (S & o(R | S))))))) W R))",
        ("whenever p then s while inside", "for 4 s after p never not s while inside"),
        {"s": "b is pressed or (p extended 3 s)"}),
)  # fmt: skip

NOT_EXPRESSIBLE = {
    "existence, globally": "<>(P)",
    "existence, after Q": "[](!Q) | <>(Q & <>P)",
    "response, globally": "[](P -> <>S)",
    "response, after Q": "[](Q -> [](P -> <>S))",
    "precedence, after Q": "[]!Q | <>(Q & (!P W S))",
    "response chain, P after S and T, globally": "[](S & o<>T -> o(<>(T & <>P)))",
    "response chain, S and T after P, globally": "[](P -> <>(S & o<>T))",
}
"""Formulas that no finite run breaks, so that no story could ever be told: a claim needs a deadline instead.

Precedence after Q: a later Q could always start anew; the row "first Q" says what is meant. Chains inside other scopes
are left out: their published formulas look beyond the end of the scope.
"""


def rules(keep: dict[str, str], rows: dict[int, Row], keep_helper: str = "") -> str:
    signals = "".join(f"signal {name} = {text}\n" for name, text in {**FREE, **keep}.items())
    return HEAD + signals + keep_helper + "".join(row.told(number) for number, row in rows.items())


def promising_nothing() -> str:
    """All claims on rules in which every signal is free; a helper that several rows share stands once."""
    text, known = rules({}, {}), set()
    for number, row in enumerate(ROWS):
        for line in row.told(number).splitlines():
            if line not in known:
                known.add(line)
                text += line + "\n"
    return text
