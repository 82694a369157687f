"""Which transmitter is meant: one of the built-in ones by its name, or a description in a file."""

import os
import sys
from argparse import ArgumentParser, Namespace
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import TYPE_CHECKING

from latchproof.cli import exits, output
from latchproof.show.visible import visible
from latchproof.transmitter.names import NAMES

if TYPE_CHECKING:
    from latchproof.diagnostics import Diagnostic
    from latchproof.source import Source
    from latchproof.transmitter.model import Transmitter


@dataclass(frozen=True, slots=True)
class Chosen:
    """`transmitter` is None if there is nothing to go on with; `code` is the exit code so far.

    `called`: how it was asked for; `built_in`: it is none of anybody's, which has to be said.
    """

    transmitter: "Transmitter | None"
    called: str
    built_in: bool
    sources: "dict[str, Source]"
    code: int


def option(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--transmitter",
        metavar="NAME-OR-FILE",
        help=f"{', '.join(NAMES)}, or a description that `latchproof describe` wrote (name.toml)",
    )


def chosen(name_or_path: str, args: Namespace) -> Chosen:
    """What is wrong goes to standard error. A file beside you that is called like a built-in one is `./typical`."""
    from latchproof.source import by_name
    from latchproof.source.read import read as read_file
    from latchproof.transmitter.generic import generic
    from latchproof.transmitter.read import read

    if name_or_path in NAMES:
        return Chosen(generic(name_or_path), name_or_path, True, {}, exits.FINE)
    if not _is_path(name_or_path):
        near = get_close_matches(name_or_path, NAMES, 1)
        hint = f"did you mean {near[0]}?" if near else f"built in are {', '.join(NAMES)}."
        output.say(
            f"latchproof: there is no transmitter {visible(name_or_path)}; {hint} "
            f"A file is named with .toml at its end, or as ./{visible(name_or_path)}."
        )
        return Chosen(None, name_or_path, False, {}, exits.MISUSE)
    source, found = read_file(name_or_path)
    found = tuple(_of_descriptions(d) for d in found)
    sources = by_name(source)
    transmitter = None
    if source is not None and not found:
        transmitter, found = read(source)
    output.report(found, sources, args, sys.stderr)
    # A description that cannot be used is as good as none: not a fault of the rules, nor a claim that fails.
    code = exits.MISUSE if transmitter is None else output.exit_code(found)
    return Chosen(transmitter, name_or_path, False, sources, code)


def _of_descriptions(d: "Diagnostic") -> "Diagnostic":
    """The reader of files takes every file for a rule file."""
    asked = d.labels[0].span.source if d.labels else ""
    hints = tuple(
        h.replace("a rule file", "a description") for h in d.hints if "*.latch" not in h and not _far(asked, h)
    )
    return replace(d, title=d.title.replace("a rule file", "a description"), hints=hints)


def _far(asked: str, hint: str) -> bool:
    """Whether a neighbour is offered that has only the end of its name in common with what was asked for."""
    if not hint.startswith("did you mean "):
        return False
    offered = hint.removeprefix("did you mean ").removesuffix("?")
    one, other = (os.path.splitext(os.path.basename(path))[0].lower() for path in (asked, offered))
    return not get_close_matches(one, [other], 1, 0.7)


def _is_path(text: str) -> bool:
    """A name is a bare word; everything else leads to a file."""
    seps = {os.sep, os.altsep or os.sep, "/"}
    return text == "-" or text.lower().endswith(".toml") or any(sep in text for sep in seps)
