"""`latchproof run`: the rules on a table of times and inputs, exactly."""

import re
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from fractions import Fraction

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, output_format, rule_file, stage
from latchproof.show.visible import visible

_TIME = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?)\s*(ms|s)")


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    parser.add_argument("--inputs", required=True, metavar="CSV", help="times and inputs; - is standard input")
    parser.add_argument("--every", type=_time, metavar="TIME", help="a cycle every so long (20ms), not one a row")
    parser.add_argument("--changes", action="store_true", help="only the moments in which something changes")
    output_format(parser, "text", "csv")
    colour(parser)
    stage(parser)


def _time(text: str) -> Fraction:
    found = _TIME.fullmatch(text.strip())
    seconds = Fraction(found[1]) * (Fraction(1, 1000) if found[2] == "ms" else 1) if found else Fraction(0)
    if seconds <= 0:
        raise ArgumentTypeError(f"{visible(text)} is no time above 0, such as 20ms or 0.02s")
    return seconds


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of
    from latchproof.run.inputs import read_inputs
    from latchproof.run.recording import promises_broken, record
    from latchproof.show import runs
    from latchproof.show.runs_csv import as_csv
    from latchproof.source import by_name
    from latchproof.source.read import read

    if args.file == args.inputs == "-":
        output.say("latchproof: only one of the rules and the inputs can come from standard input")
        return exits.MISUSE
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    machine = pipeline.machine(found.rules)
    if machine.chain:
        from latchproof.prove.least import Allowing

        machine = Allowing(machine).by(machine.chain)
    source, faults = read(args.inputs)
    inputs = None
    if source is not None and not faults:
        inputs, faults = read_inputs(source, machine, args.every)
    output.report(faults, by_name(source), args, sys.stderr)
    if inputs is None:
        return exits.MISUSE
    recording = record(machine, inputs)
    style = output.style(args, sys.stdout)
    if args.format == "csv":
        output.result(as_csv(machine, recording, only_changes=args.changes))
        output.say(runs.notes(machine, recording, output.style(args, sys.stderr)))
    else:
        output.result((runs.changes if args.changes else runs.cycles)(machine, recording, style))
        if notes := runs.notes(machine, recording, style):
            output.result("\n" + notes)
    return exits.FAULT if promises_broken(machine, recording) else found.code


COMMAND = Command(
    "run",
    "run the rules on a table of times and inputs",
    "Runs the rules, cycle by cycle and exactly, on a table of times and inputs, and shows what they do.",
    _arguments,
    _execute,
)
