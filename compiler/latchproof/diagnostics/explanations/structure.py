"""Codes about statements: words that are missing or do not fit, brackets, clauses."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "empty-file",
        "there are no rules in the file",
        """
        The file is empty, or holds nothing but comments. That is an error and not "all promises kept": a guard that
        promises nothing keeps nothing.
        """,
        wrong="# to be written\n",
        mended='rules "Height floor" version "1"\n',
    ),
    Explanation(
        "unexpected-word",
        "a word that does not fit here",
        """
        Every statement begins with a word of the language and goes on until the next one begins. The word at the
        caret is none that can follow what stands before it; the message says what could.

        Nothing is skipped to make the rest fit. A rule without the word that was not understood is another rule.
        """,
        wrong="switch guard postions off, on",
        mended="switch guard positions off, on",
    ),
    Explanation(
        "missing-word",
        "a word was left out",
        """
        Between the two words at the caret something is missing; the message says what would fit. `limit motor to 60
        %` could mean at most or at least 60 %, and in the air the two are a brake and a throttle.
        """,
        wrong="switch guard positions off, on\nsignal s = guard on",
        mended="switch guard positions off, on\nsignal s = guard is on",
    ),
    Explanation(
        "unknown-device-fact",
        "a word about the device that means nothing",
        """
        A device reads this cycle, last cycle, in listed order or in unknown order, and it starts reset or with any
        values. The program knows no others. Where nobody has looked, `unknown order` and `starts any` are the safe
        words: what is proved for them is proved for every device.
        """,
        wrong="device {\n  reads next cycle\n}",
        mended="device {\n  reads last cycle\n}",
    ),
    Explanation(
        "unfinished",
        "a statement that is not finished",
        """
        The next statement begins, or the file ends, before this one is complete. Often a line was lost when the text
        was copied; look at what stood behind it.
        """,
        wrong="button b\nrule r while b is pressed\nbutton c",
        mended='button b\nrule r while b is pressed { announce tone "low" }\nbutton c',
    ),
    Explanation(
        "unclosed-block",
        "a { without its }",
        """
        The block that begins at the second mark never ends. What was meant to stand outside would belong to it: a
        second latch inside the first, a rule inside a sensor.
        """,
        wrong="button b\nlatch l {\n  set when b is pressed\n  reset when b is released\n\nbutton c",
        mended="button b\nlatch l {\n  set when b is pressed\n  reset when b is released\n}\n\nbutton c",
    ),
    Explanation(
        "unclosed-bracket",
        "a ( without its )",
        """
        A round bracket is opened and not closed. Brackets decide what `for 2 s` belongs to and which tests go
        together, so where the missing one stood changes when the guard acts.
        """,
        wrong="button b\nsignal s = (b is pressed for 2 s\nbutton c",
        mended="button b\nsignal s = (b is pressed) for 2 s\nbutton c",
    ),
    Explanation(
        "closes-nothing",
        "a closing bracket with nothing open",
        """
        There is one closing bracket more than opening ones. Either it is left over, or the opening one was lost, and
        then what stands between them belongs together.
        """,
        wrong="button b\nsignal s = b is pressed)",
        mended="button b\nsignal s = (b is pressed)",
    ),
    Explanation(
        "missing-brackets",
        "brackets are needed",
        """
        Two times behind one test, a list behind `of`, or `not not`: without brackets it is not certain what belongs
        to what, and the guard would wait for something else than you think.
        """,
        wrong="button b\nsignal s = b is pressed for 2 s extended 1 s",
        mended="button b\nsignal s = (b is pressed for 2 s) extended 1 s",
    ),
    Explanation(
        "reserved-word",
        "a word of the language in the place of a name",
        """
        Words like `limit`, `switch` or `stale` always keep their one meaning, so that every line reads only one way.
        Add something to the name: `limit_1`, `my_switch`.
        """,
        wrong="button limit",
        mended="button limit_1",
    ),
    Explanation(
        "minus-needs-number",
        "a minus sign in front of a name",
        """
        A minus sign in front belongs to a number. Write -1 * NAME for the other direction: on a surface that is the
        difference between up and down elevator, and should be seen.
        """,
        wrong="stick pitch from -100 % to 100 %\nvalue turned = -pitch",
        mended="stick pitch from -100 % to 100 %\nvalue turned = -1 * pitch",
    ),
    Explanation(
        "repeated-clause",
        "something is said twice",
        """
        A clause that may stand once stands twice, or a file is included twice. The two may differ, and nobody could
        say which of them flies.
        """,
        wrong="sensor height { from 0 m to 500 m  stale after 2 s  stale after 5 s }",
        mended="sensor height { from 0 m to 500 m  stale after 2 s }",
    ),
    Explanation(
        "missing-clause",
        "something that must be said is not said",
        """
        The thing is incomplete: a latch that nothing sets, a counter that counts nothing, a voice without words. It
        would be there and never do anything, and you would rely on it.
        """,
        wrong="button b\nlatch l { reset when b is released }",
        mended="button b\nlatch l { set when b is pressed  reset when b is released }",
    ),
    Explanation(
        "included-not-parts",
        "an included file holds something else than parts",
        """
        Files are included for their parts only. A part says what it takes and what it gives, so that including a file
        can never bring a switch, a rule or a promise into your guard that you have not seen.
        """,
    ),
    Explanation(
        "include-missing",
        "an included file is not there",
        """
        The name behind `include` counts from the folder of the rule file. Without the part the rules are incomplete,
        and nothing is said about the rest.
        """,
    ),
)
