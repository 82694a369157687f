"""What was found of a hazard, as text: findings made by hand, no prover."""

from latchproof.hazards.model import Edit, Finding, NotApplicable, NotNamed, Outcome, Procedure, Remedy, Seen
from latchproof.rules.model import Accepted
from latchproof.show.hazards import again, bad_news, code, rest, state, summary, unneeded
from latchproof.show.style import PLAIN, Style
from latchproof.show.visible import width
from latchproof.source import Span

HERE = Span("t.latch", 0, 0)
REMEDY = Remedy(
    "say something else",
    (Edit(HERE, 'announce voice "floor, and something so long that it fills the line"  every 5 s', "in rule a, add"),),
)
BAD = Seen("H36", "a", False, "a and b sound alike: a tone", HERE, (REMEDY, Remedy("be silent", ())))
FINE = Seen("H36", "b", True, "it speaks")
ACCEPT = Accepted("H36", "a", "the two come together", span=HERE)


def of(outcome: Outcome, accepted: Accepted | None = None) -> tuple[Finding, ...]:
    return (Finding(outcome, accepted=accepted),)


def test_what_fails_is_told_with_every_way_out() -> None:
    assert (
        bad_news((Finding(BAD), Finding(FINE)))
        == """\
H36  a warning is not heard or not noticed
  a and b sound alike: a tone
  fails
  to mend it: say something else
    in rule a, add:
        announce voice "floor, and something so long that it fills the line"
            every 5 s
  or: be silent"""
    )


def test_of_several_that_fail_the_first_is_told_at_length() -> None:
    other = Seen("H36", "c", False, "it is silent")
    text = bad_news((Finding(BAD), Finding(other)))
    assert text.endswith("  fails as well: c: it is silent\n  --only H36 --all tells how")
    assert "tells how" not in bad_news((Finding(BAD), Finding(other)), everything=True)


def test_with_several_failing_it_says_where_to_begin() -> None:
    assert again([of(BAD), of(FINE)]) == ""
    assert "run this again" in again([of(BAD), of(BAD)])


def test_what_is_fine_or_accepted_is_no_bad_news() -> None:
    assert bad_news(of(FINE)) == ""
    assert bad_news(of(BAD, ACCEPT)) == ""


def test_with_everything_an_accepted_one_has_its_reason_and_its_way_out() -> None:
    text = bad_news(of(BAD, ACCEPT), everything=True)
    assert '  accepted: H36 because "the two come together"\n' in text
    assert "to mend it: say something else" in text


def test_the_rest_by_what_came_of_it() -> None:
    found = [
        of(BAD, ACCEPT),
        of(NotNamed("H27", "no fact says how high the ground is", 'fact terrain = 5 m  assumed "trees"')),
        of(Procedure("H40", "read it back", "once")),
        of(Seen("H20", "x", True, "fine")),
        of(NotApplicable("H30", "nothing is launched")),
    ]
    assert (
        rest(found)
        == """\
Accepted in the file, and looked for all the same
  H36  a warning is not heard or not noticed
       a: it does happen, accepted because "the two come together"

Not looked for: the file does not say enough. Add the line and run this again
  H27  the ground is higher than the place of the take-off
       no fact says how high the ground is
         fact terrain = 5 m assumed "trees"

No rule can prevent it: a step for you
  H40  a number is copied wrongly
       once: read it back

Looked for: cannot happen
  H20  up is down on this model

Does not concern these rules
  H30  the guard interferes with a launch
       nothing is launched"""
    )
    assert summary(found) == (
        "5 hazards: 1 accepted, 1 not looked for, 1 for you to do, 1 cannot happen,\n  1 does not concern these rules"
    )


def test_only_what_is_bad_news_is_accepted() -> None:
    assert state(*of(FINE, ACCEPT)) == "proved"
    assert state(*of(BAD, ACCEPT)) == "accepted"
    assert state(*of(NotNamed("H36", "x", "y"), ACCEPT)) == "accepted"
    assert state(*of(Procedure("H36", "x", "once"), ACCEPT)) == "procedure"


def test_an_acceptance_for_nothing_is_told() -> None:
    text = unneeded((ACCEPT, Accepted("H02", None, "so", span=HERE)))
    assert text.startswith("`accept H36 in a` is not needed")
    assert "`accept H02` is not needed" in text


def test_lines_to_be_copied_are_broken_where_a_break_means_nothing() -> None:
    text = 'latch a {\n  set when (height is below 46 m and guard is on) for 2 s\n  say "two  spaces"\n}'
    lines = code(text, Style(30), "")
    assert " ".join(" ".join(lines).split()) == " ".join(text.split())
    assert any('"two  spaces"' in line for line in lines)
    assert not any(line.lstrip().startswith(("m ", "s ")) or line.strip() in ("m", "s") for line in lines)
    assert max(map(width, lines)) <= 30
    long = code('fact recovery = 8 m  assumed "height lost until the flight is level"', Style(45), " " * 12)
    assert long[-1] == '      "height lost until the flight is level"'


def test_nothing_in_a_reason_reaches_the_terminal() -> None:
    text = rest([of(BAD, Accepted("H36", "a", "\x1b[2J", span=HERE))], PLAIN)
    assert "\x1b" not in text
    assert "\\x1b[2J" in text
