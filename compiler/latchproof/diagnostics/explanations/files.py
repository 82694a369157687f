"""Codes about files: finding, reading, including and writing them."""

from latchproof.diagnostics.explanation import Explanation

EXPLANATIONS = (
    Explanation(
        "file-not-found",
        "there is no such file",
        """
        Nothing stands at the path that was given, on the command line or in an `include`. Paths on the command line
        count from the folder you stand in, those of an `include` from the folder of the rule file.

        Nothing was checked. A guard that was not checked is a guard with its mistakes still in it.
        """,
    ),
    Explanation(
        "file-is-a-folder",
        "a folder was given in the place of a file",
        """
        Rule files are named one by one (`guards/*.latch` names all in a folder), so that none is checked or rewritten
        by accident.
        """,
    ),
    Explanation(
        "file-not-allowed",
        "there is no permission to read the file",
        """
        The system refuses to open the file for you. Look at its owner and permissions; a file on a card or a stick
        copied by another user often has the wrong ones.
        """,
    ),
    Explanation(
        "file-not-readable",
        "the file cannot be read",
        """
        It is no plain file (a device or a pipe), its links lead in a circle, its name is too long, or the disk
        reports a fault. The message says which. Text from another program can be given to standard input: `program |
        latchproof check -`.
        """,
    ),
    Explanation(
        "file-not-writable",
        "the new text cannot be written",
        """
        `latchproof format` writes a new file beside the old one and then lets it take the old name, so that a full
        disk or a pulled stick never costs you the rules. Here the new file could not be written; the old one is as it
        was.
        """,
    ),
    Explanation(
        "file-too-large",
        "the file is larger than 2 MB",
        """
        A rule file is a few kilobytes of text. One of more than 2 MB is almost always another file given by mistake:
        a flight log, a picture, a copy of a transmitter's whole memory.
        """,
    ),
    Explanation(
        "not-text",
        "the file is not UTF-8 text",
        """
        Rule files are plain text in UTF-8. A zero byte or a byte that UTF-8 does not have is never guessed at: a
        number that was read wrongly flies as a wrong number.

        Some editors save as UTF-16 (they call it "Unicode") or in an older encoding; save the file again as UTF-8. If
        the message shows nonsense, the file is no text at all.
        """,
    ),
    Explanation(
        "include-outside",
        "an included file stands outside the folder of the rules",
        """
        `include` reads only files in the folder of the rule file or below it, also when links are followed. A rule
        file from a stranger can therefore not show you, or send on, what stands elsewhere on your disk, and a folder
        that is copied to another computer is complete.

        Copy the part beside your rules and include the copy.
        """,
        wrong='include "../parts/restart.latch"',
        mended="# copied from ../parts/restart.latch\npart restart takes signal s gives t { signal t = not s }",
    ),
    Explanation(
        "too-many-includes",
        "more than 32 files are included",
        """
        Nobody can read a guard that is spread over so many files. Put several parts into one file: a file may hold as
        many parts as you like.
        """,
    ),
)
