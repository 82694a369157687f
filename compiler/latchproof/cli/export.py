"""`latchproof export`: the promises in languages that other verifiers read."""

import os
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from fractions import Fraction
from typing import TYPE_CHECKING

from latchproof.cli import exits, output
from latchproof.cli.command import Command, rule_file, stage
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.machine.model import Machine

ENDINGS = {"smtlib": ".smt2", "lustre": ".lus"}
NAMES = {"smtlib": "SMT-LIB", "lustre": "Lustre"}


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    parser.add_argument(
        "--to",
        choices=tuple(ENDINGS),
        required=True,
        help="smtlib: Horn clauses in SMT-LIB 2.6; lustre: a node of the dataflow language Lustre",
    )
    parser.add_argument("folder", metavar="DIR", help="where the files go, one a promise; a new or an empty folder")
    parser.add_argument(
        "--cycle",
        type=_seconds,
        metavar="TIME",
        help="for lustre: every cycle takes this long, such as 10ms; without it, as long as the rules allow",
    )
    stage(parser)


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of

    if args.cycle is not None and args.to != "lustre":
        output.say("latchproof: --cycle is for --to lustre")
        return exits.MISUSE
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    machine = pipeline.machine(found.rules)
    cycle = machine.rules.cycle
    if args.cycle is not None and not cycle.shortest <= args.cycle <= cycle.longest:
        shortest, longest = cycle.shortest * 1000, cycle.longest * 1000
        output.say(f"latchproof: a cycle takes {_said(shortest)} ms to {_said(longest)} ms by these rules")
        return exits.MISUSE
    if not machine.properties:
        output.say("latchproof: there are no promises to export")
        return exits.FINE
    return exits.worst([found.code, _write(args.folder, _files(machine, args.to, args.cycle), NAMES[args.to])])


def _files(machine: "Machine", language: str, cycle: Fraction | None) -> dict[str, str]:
    """Name to text, in the order of the rule file."""
    import latchproof
    from latchproof.prove.export_horn import horn_file
    from latchproof.prove.export_lustre import lustre_file
    from latchproof.prove.records import file_stems

    program = f"latchproof {latchproof.__version__}"
    stems = file_stems(machine)
    return {
        stems[p.name] + ENDINGS[language]: horn_file(machine, p, program)
        if language == "smtlib"
        else lustre_file(machine, p, program, cycle)
        for p in machine.properties
    }


def _write(folder: str, files: dict[str, str], language: str) -> int:
    """Nothing that is there is written over."""
    try:
        os.makedirs(folder, exist_ok=True)
        if os.listdir(folder):
            output.say(f"latchproof: {visible(folder)} is not empty; give a new or an empty folder")
            return exits.MISUSE
        for name, text in files.items():
            with open(os.path.join(folder, name), "x", encoding="utf-8", newline="\n") as file:
                file.write(text)
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "unknown cause").lower()
        output.say(f"latchproof: {visible(folder)} cannot be written: {why}")
        return exits.MISUSE
    output.say(f"{visible(folder)}: {len(files)} {language} file{'' if len(files) == 1 else 's'} written")
    return exits.FINE


def _seconds(text: str) -> Fraction:
    """`10ms`, `10 ms`, `0.01s`."""
    number, per = text.strip(), 1
    for unit, factor in (("ms", 1000), ("s", 1)):
        if number.endswith(unit):
            number, per = number.removesuffix(unit).strip(), factor
            break
    whole, _, part = number.partition(".")
    if len(number) > 20 or not (whole + part).isascii() or not whole.isdecimal() or (part and not part.isdecimal()):
        raise ArgumentTypeError(f"{visible(text)} is no time, such as 10ms")
    seconds = Fraction(number) / per
    if seconds <= 0:
        raise ArgumentTypeError("a cycle takes longer than that")
    return seconds


def _said(milliseconds: Fraction) -> str:
    return str(milliseconds) if milliseconds.denominator == 1 else str(float(milliseconds))


COMMAND = Command(
    "export",
    "write the promises for other verifiers",
    "Writes each promise with all that it can depend on into a file of its own, in a language that other verifiers "
    "read, for a second opinion. The files say in their first lines what they are and what the answers mean.",
    _arguments,
    _execute,
)
