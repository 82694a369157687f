"""Results to standard output, chatter to standard error."""

import os
import sys
from argparse import Namespace
from collections.abc import Iterable, Iterator
from typing import TextIO, TypeVar

from latchproof.cli import exits
from latchproof.diagnostics import Diagnostic, has_errors
from latchproof.show import diagnostics as shown
from latchproof.show.style import Style
from latchproof.source.read import PATH_CODES

T = TypeVar("T")

NARROWEST, USUAL, WIDEST = 50, 80, 100


def style(args: Namespace, stream: TextIO) -> Style:
    """As wide as the terminal within reason; 80 columns anywhere else, so that saved output does not vary."""
    terminal = stream.isatty()
    columns = _columns(stream) if terminal else USUAL
    match getattr(args, "color", "auto"):
        case "always":
            colour = True
        case "never":
            colour = False
        case _:
            colour = terminal and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return Style(max(NARROWEST, min(columns, WIDEST)), colour)


def _columns(stream: TextIO) -> int:
    try:
        return os.get_terminal_size(stream.fileno()).columns or USUAL
    except OSError:
        return USUAL


def result(text: str) -> None:
    """A part of what was asked for, in full lines, seen at once."""
    if text:
        print(text, flush=True)


def say(text: str) -> None:
    if text:
        print(text, file=sys.stderr, flush=True)


def progress(items: Iterator[T], total: int, doing: str) -> Iterator[T]:
    """The items; on a terminal a last line tells how far it is and for how long, and is taken away for each item."""
    if not sys.stderr.isatty():
        yield from items
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn(doing), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    bar = Progress(*columns, console=Console(stderr=True), transient=True, redirect_stdout=False)
    task = bar.add_task(doing, total=total)
    bar.start()
    try:
        for item in items:
            bar.stop()
            yield item
            bar.advance(task)
            bar.start()
    finally:
        bar.stop()


def report(diagnostics: Iterable[Diagnostic], sources: shown.Sources, args: Namespace, stream: TextIO) -> None:
    """Messages for people (or one line each, for editors)."""
    if getattr(args, "format", "text") == "concise":
        for d in diagnostics:
            print(shown.concise(d, sources), file=stream)
    else:
        for d in diagnostics:
            print(shown.render(d, sources, style(args, stream)), end="\n\n", file=stream)
    stream.flush()


def exit_code(diagnostics: Iterable[Diagnostic]) -> int:
    found = tuple(diagnostics)
    if any(d.code in PATH_CODES and len(d.labels) == 1 and _whole_file(d) for d in found):
        return exits.MISUSE
    return exits.FAULT if has_errors(found) else exits.FINE


def summary(diagnostics: Iterable[Diagnostic], files: int) -> str:
    """`2 errors and 1 warning in 3 files`."""
    found = tuple(diagnostics)
    errors = sum(d.severity == "error" for d in found)
    counts = [_count(errors, "error")] if errors else []
    if len(found) > errors:
        counts.append(_count(len(found) - errors, "warning"))
    return f"{' and '.join(counts) or 'no errors'} in {_count(files, 'file')}"


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _whole_file(diagnostic: Diagnostic) -> bool:
    """The path on the command line is meant, not one that a rule file names."""
    span = diagnostic.labels[0].span
    return span.start == span.end == 0
