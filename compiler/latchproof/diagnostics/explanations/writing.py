"""Codes about signs, numbers and words as they are written."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "control-character",
        "an invisible character",
        """
        Characters that show nothing (controls, marks that turn the reading direction, spaces of no width) may stand
        nowhere in a rule file, not even in a comment or a quoted text. They usually come along when text is pasted.

        With them a line can show one rule and hold another: you would check one guard and fly a different one. Delete
        the character, or type the line again.
        """,
        wrong="switch guard positions off, on   # \u202eno, ffo",
        mended="switch guard positions off, on   # off, on",
    ),
    Explanation(
        "stray-character",
        "a sign that the language does not have",
        """
        The sign at the caret means nothing here. Outside of quoted texts and comments the language uses letters,
        digits, brackets, commas, colons and the signs of arithmetic, and words for everything else.

        Nothing is skipped silently: a rule that lost a sign on its way may say the opposite of what you wrote.
        """,
        wrong="signal s = guard is on $\nswitch guard positions off, on",
        mended="signal s = guard is on\nswitch guard positions off, on",
    ),
    Explanation(
        "symbol-not-word",
        "a sign from another language where this one has a word",
        """
        `&&`, `||`, `!`, `==`, `//` and their kin are understood well enough to suggest the word, never to be
        accepted: a rule must read aloud, so that the friend who checks it at the field reads what the transmitter
        will do.
        """,
        wrong="switch guard positions off, on\nbutton b\nsignal s = guard is on && b is pressed",
        mended="switch guard positions off, on\nbutton b\nsignal s = guard is on and b is pressed",
    ),
    Explanation(
        "angle-comparison",
        "a comparison written with angle brackets",
        """
        Comparisons are words: below, above, at least, at most, equal to, from A to B. Forums take what stands between
        angle brackets for a tag and drop it, and one bracket is easily typed for the other: a guard that should catch
        a model below 46 m would then push up one that is above it.
        """,
        wrong="sensor height { from 0 m to 500 m }\nsignal low = height < 46 m",
        mended="sensor height { from 0 m to 500 m }\nsignal low = height is below 46 m",
    ),
    Explanation(
        "forum-markup",
        "signs that a forum or a mail puts round a text",
        """
        Rules copied from a page bring its marks along: `>` in front of each line, code fences, tags, `&quot;` in
        place of a quotation mark. They are told apart from the rules and reported once for each kind; none is skipped
        silently, since a page that adds signs may also have eaten some. Compare the rules with the page after you
        have cleaned them.
        """,
        wrong="> switch guard positions off, on\n> signal s = guard is on",
        mended="switch guard positions off, on\nsignal s = guard is on",
    ),
    Explanation(
        "unclosed-text",
        "a quoted text without its other end",
        """
        A quoted text ends on the line on which it begins and holds no quotation marks. Without the closing one the
        rest of the line would be swallowed, with whatever it said.
        """,
        wrong='rules "Height floor',
        mended='rules "Height floor"',
    ),
    Explanation(
        "decimal-comma",
        "a comma inside a number",
        """
        Numbers have a decimal point: 0.5, never 0,5. A comma parts the items of a list, so a decimal comma could turn
        one number into two, and half a second into five.
        """,
        wrong="tune wait = 0,5 s from 0.1 s to 2 s",
        mended="tune wait = 0.5 s from 0.1 s to 2 s",
    ),
    Explanation(
        "incomplete-number",
        "a number with a part missing or too many points",
        """
        Write 0.5, not .5 and not 5. with nothing behind the point: a point is easily overlooked, and a height of .50
        m read as 50 m is a guard that does nothing until the model is on the ground.
        """,
        wrong="tune wait = .5 s from 0.1 s to 2 s",
        mended="tune wait = 0.5 s from 0.1 s to 2 s",
    ),
    Explanation(
        "scientific-notation",
        "a number with a power of ten",
        """
        Numbers are written out: 1500, not 1.5e3. Everything a model does fits into a few digits, and one wrong digit
        in the power is a factor of ten in the air.
        """,
        wrong="tune floor = 4.6e1 m from 30 m to 90 m",
        mended="tune floor = 46 m from 30 m to 90 m",
    ),
    Explanation(
        "number-too-long",
        "a number with more digits than anything can have",
        """
        At most 20 digits are read. A number with more is a slip: a key that stuck, or text pasted into the wrong
        place.
        """,
        wrong="tune floor = 46.000000000000000000000 m from 30 m to 90 m",
        mended="tune floor = 46 m from 30 m to 90 m",
    ),
    Explanation(
        "unknown-unit",
        "a unit that the language does not have",
        """
        Each number keeps its unit beside it, and only units with one exact meaning are read (m, ft, s, ms, %, V, deg
        and so on; the message lists them). A unit that is guessed at is the 300 that should have been 30.0.
        """,
        wrong="tune floor = 46 meters from 30 m to 90 m",
        mended="tune floor = 46 m from 30 m to 90 m",
    ),
    Explanation(
        "date-form",
        "a date that is not year-month-day",
        """
        Dates behind `measured` are written 2025-05-03. The third of May and the fifth of March look alike otherwise,
        and how old a measurement is decides whether you can still trust it.
        """,
        wrong="fact sink = 18 m/s measured 3.5.2025",
        mended="fact sink = 18 m/s measured 2025-05-03",
    ),
    Explanation(
        "no-such-date",
        "a date that no calendar has",
        """
        A measurement was made on a day that does not exist. Most often month and day have changed places.
        """,
        wrong="fact sink = 18 m/s measured 2025-13-05",
        mended="fact sink = 18 m/s measured 2025-05-13",
    ),
    Explanation(
        "too-deep",
        "brackets within brackets, too many levels",
        """
        Fifty levels of brackets and a hundred terms of a sum are read, and no more. Long before that nobody can tell
        any more what the rule does. Give an inner part a name with `signal` or `value` and use the name: the listing
        then has an entry of its own for it, which can be tested on the bench.
        """,
        wrong="switch g positions off, on\nsignal s =\n" + ("(" * 60 + "\n") * 2 + "g is on\n" + (")" * 60 + "\n") * 2,
        mended="switch g positions off, on\nsignal s = g is on",
    ),
    Explanation(
        "too-many-words",
        "more words than a rule file can have",
        """
        A guard has some hundreds of words. A file with so many more is something else: a log, a book, or the same
        rules pasted over and over.
        """,
    ),
)
