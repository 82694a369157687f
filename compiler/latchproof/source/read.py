"""Paths to texts: bounded in size, UTF-8 only, every failure a diagnostic and never a traceback.

An included file stays inside the folder of the file that is being checked, links followed, so that a rule file from a
stranger cannot show what stands elsewhere on the disk.
"""

import errno
import os
import stat
import sys
from difflib import get_close_matches
from pathlib import Path

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source.text import Source, Span

MOST_BYTES = 2_000_000
"""No rule file comes near it: the largest example is under 10 kB."""

MOST_INCLUDES = 32

PATH_CODES = frozenset({"file-not-found", "file-is-a-folder", "file-not-allowed", "file-not-readable"})
"""Codes that say that a path is wrong, not what stands in the file."""

_MARKS = {b"\xff\xfe": "utf-16-le", b"\xfe\xff": "utf-16-be"}

Read = tuple[Source | None, tuple[Diagnostic, ...]]
"""The source, None when nothing could be read, and what is wrong. With an error the text is only good for showing."""


def read(path: str) -> Read:
    """The text of a file, or of standard input for `-`. Line breaks of every kind become "\\n"."""
    data = read_bytes(path)
    if isinstance(data, Diagnostic):
        return None, (data,)
    return decode(path, data)


def read_bytes(path: str) -> bytes | Diagnostic:
    """What stands in the file, at most `MOST_BYTES`."""
    try:
        if path == "-":
            data = sys.stdin.buffer.read(MOST_BYTES + 1)
        else:
            # A pipe or device may never end or answer: of those only what is asked for by `-` is read.
            mode = os.stat(path).st_mode
            if stat.S_ISDIR(mode):
                return _folder(path)
            if not stat.S_ISREG(mode):
                return _unreadable(path, "this is not a plain file", "write - for its name to read standard input")
            with open(path, "rb") as file:
                data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return _missing(path)
    except PermissionError:
        return _failed(path, "file-not-allowed", "there is no permission to read this file")
    except (OSError, ValueError) as error:
        # ValueError: a NUL in the name.
        return _unreadable(path, f"this file cannot be read: {_reason(error)}")
    if len(data) > MOST_BYTES:
        return _failed(
            path,
            "file-too-large",
            f"this file is larger than {MOST_BYTES // 1_000_000} MB",
            "a rule file is a few kilobytes of text; was the right file given?",
        )
    return data


def decode(name: str, data: bytes) -> Read:
    """Bytes as text. A byte that is not text is kept as a lone surrogate, so that its place can be shown."""
    for mark, encoding in _MARKS.items():
        if data.startswith(mark):
            text = data[2:].decode(encoding, "replace").replace("\r\n", "\n")
            hints = ("save it again as UTF-8 in your editor",)
            return _refused(name, text, 0, 0, "this text is saved as UTF-16", hints)
    data = data.removeprefix(b"\xef\xbb\xbf")
    text = data.decode("utf-8", "surrogateescape").replace("\r\n", "\n").replace("\r", "\n")
    nul = text.find("\0")
    bad = next((i for i, c in enumerate(text) if "\udc80" <= c <= "\udcff"), -1)
    if nul >= 0:
        hints = ("a rule file is plain text; was the right file given?",)
        if _looks_like_utf16(data):
            hints = ("it looks like UTF-16: save it again as UTF-8 in your editor",)
        return _refused(name, text, nul, nul + 1, "this is not text: it has a zero byte", hints)
    if bad >= 0:
        byte = ord(text[bad]) - 0xDC00
        return _refused(name, text, bad, bad + 1, f"this is not UTF-8 text: byte {byte:#04x}", _repairs(byte, text))
    return Source(name, text), ()


def read_included(root: Path, path: str, at: Span, already: int) -> Read:
    """The text of a file named by `include`, from the folder `root`; `at` is the place of its name.

    `already` counts the files included so far.
    """
    if already >= MOST_INCLUDES:
        title = f"more than {MOST_INCLUDES} included files"
        return None, (Diagnostic("too-many-includes", title, (Label(at),), ("put several parts into one file",)),)
    base = root.resolve()
    try:
        target = (base / path).resolve()
    except (OSError, RuntimeError, ValueError) as error:
        return None, (Diagnostic("file-not-readable", f"this name leads nowhere: {_reason(error)}", (Label(at),)),)
    if os.path.isabs(path) or not target.is_relative_to(base):
        return None, (
            Diagnostic(
                "include-outside",
                "an included file must stand in the folder of the rule file, or below it",
                (Label(at, "this leads out of the folder"),),
                ("copy the part beside your rules and include the copy",),
            ),
        )
    shown = os.path.join(os.path.relpath(root), path) if os.path.relpath(root) != "." else path
    data = read_bytes(str(target))
    if isinstance(data, Diagnostic):
        hints = tuple(hint.replace(f"{base}{os.sep}", "") for hint in data.hints)
        return None, (Diagnostic(data.code, data.title, (Label(at, "included here"),), hints),)
    return decode(shown, data)


def _refused(name: str, text: str, start: int, end: int, title: str, hints: tuple[str, ...]) -> Read:
    return Source(name, text), (Diagnostic("not-text", title, (Label(Span(name, start, end)),), hints),)


def _repairs(byte: int, text: str) -> tuple[str, ...]:
    """What one stray byte among text most often is: a letter of an older encoding."""
    strange = sum("\udc80" <= c <= "\udcff" or (c < " " and c not in "\t\n\f") for c in text)
    letter = bytes([byte]).decode("cp1252", "ignore")
    if strange * 5 > len(text) or not letter.isprintable() or not letter:
        return ("a rule file is plain text; was the right file given?",)
    return (f"if it should be {letter}, the file is in an older encoding: save it again as UTF-8 in your editor",)


def _looks_like_utf16(data: bytes) -> bool:
    """Every other byte of an unmarked UTF-16 text in a Latin alphabet is zero."""
    head = data[:400]
    return len(head) >= 4 and max(head[::2].count(0), head[1::2].count(0)) * 3 > len(head)


def _missing(path: str) -> Diagnostic:
    folder, name = os.path.split(path)
    try:
        near = get_close_matches(name, sorted(os.listdir(folder or ".")), 1)
    except (OSError, ValueError):
        return _failed(path, "file-not-found", "there is no such file", f"there is no folder {folder} either")
    hints = [f"did you mean {os.path.join(folder, n)}?" for n in near]
    return _failed(path, "file-not-found", "there is no such file", *hints)


def _folder(path: str) -> Diagnostic:
    hint = f"name the files in it: {os.path.join(path, '*.latch')}"
    return _failed(path, "file-is-a-folder", "this is a folder, not a rule file", hint)


def _unreadable(path: str, title: str, *hints: str) -> Diagnostic:
    return _failed(path, "file-not-readable", title, *hints)


def _failed(path: str, code: str, title: str, *hints: str) -> Diagnostic:
    return Diagnostic(code, title, (Label(Span(path, 0, 0)),), hints)


def _reason(error: Exception) -> str:
    match error:
        case OSError(errno=errno.ELOOP) | RuntimeError():
            return "its links lead in a circle"
        case OSError(errno=errno.ENAMETOOLONG):
            return "its name is too long"
        case OSError(strerror=str(text)):
            return text.lower()
        case ValueError():
            return "its name has a zero byte"
        case _:
            return "unknown cause"
