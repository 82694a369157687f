"""`latchproof format`: the same rules, laid out the usual way."""

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, rule_files
from latchproof.diagnostics import Diagnostic, Label
from latchproof.show.visible import visible
from latchproof.source import Source, Span, by_name


def _arguments(parser: ArgumentParser) -> None:
    rule_files(parser)
    parser.add_argument("--check", action="store_true", help="write nothing; name the files that would change, exit 1")
    colour(parser)


def _execute(args: Namespace) -> int:
    return exits.worst([_one(path, args) for path in args.files])


def _one(path: str, args: Namespace) -> int:
    from latchproof.cli import files
    from latchproof.source.read import decode, read_bytes
    from latchproof.syntax.layout import layout

    raw = read_bytes(path)
    if isinstance(raw, Diagnostic):
        return _refused((raw,), {}, args)
    source, found = decode(path, raw)
    text, more = layout(source) if source and not found else (None, ())
    if text is None:
        return _refused(found + more, by_name(source), args)
    ends = "\r\n" if b"\r\n" in raw else "\n"
    new = text.replace("\n", ends).encode()
    if args.check:
        if new != raw:
            output.result(f"{visible(path)}: would be laid out anew")
        return exits.FINE if new == raw else exits.FAULT
    if path == "-":
        sys.stdout.write(text)
    elif new != raw:
        try:
            files.replace(path, new)
        except OSError as error:
            _refused((_unwritable(path, error),), {}, args)
            return exits.MISUSE
        output.say(f"{visible(path)}: laid out anew")
    return exits.FINE


def _refused(diagnostics: tuple[Diagnostic, ...], sources: Mapping[str, Source], args: Namespace) -> int:
    """Nothing is written; standard output stays empty, since it may be on its way into a file."""
    output.report(diagnostics, sources, args, sys.stderr)
    return output.exit_code(diagnostics)


def _unwritable(path: str, error: OSError) -> Diagnostic:
    reason = (error.strerror or "unknown cause").lower()
    title = f"the new text cannot be written: {reason}"
    where = os.path.dirname(path) or "."
    hint = f"the file is as it was; a file can only be replaced where {where} may be written to"
    return Diagnostic("file-not-writable", title, (Label(Span(path, 0, 0)),), (hint,))


COMMAND = Command(
    "format",
    "lay out rule files the usual way",
    "Lays out rule files the usual way, in place; comments stay. Standard input is written to standard output.",
    _arguments,
    _execute,
)
