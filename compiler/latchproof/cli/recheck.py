"""`latchproof recheck`: do the proof records of somebody stand, for these rules, before two solvers?"""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from typing import TYPE_CHECKING

from latchproof import __version__
from latchproof.cli import exits, output, record_folder
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, stage, time_limit

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.recheck import Opinion

SECONDS = 60.0

CODES = {
    "holds": exits.FINE,
    "fails": exits.FAULT,
    "refused": exits.FAULT,
    "absent": exits.FAULT,
    "not decided": exits.UNDECIDED,
}


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    parser.add_argument("folder", metavar="DIR", help="the folder that `prove --certificates DIR` has written")
    parser.add_argument(
        "--solver",
        choices=("z3", "cvc5", "both"),
        help="who judges (default: both, or z3 alone where cvc5 is not installed)",
    )
    output_format(parser, "text", "json")
    colour(parser)
    stage(parser)
    time_limit(parser, SECONDS)


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of
    from latchproof.prove.recheck import Solvers, compare, expected_files, opinions
    from latchproof.prove.records import origin_of
    from latchproof.prove.solvers import SOLVERS, Solver, is_installed
    from latchproof.show import recheck as shown

    chosen: tuple[Solver, ...] = SOLVERS if args.solver in (None, "both") else (args.solver,)
    lacking = [s for s in chosen if not is_installed(s)]
    if lacking and args.solver is not None:
        output.say(f"latchproof: {lacking[0]} is not installed; pip install 'latchproof[recheck]' brings it")
        return exits.MISUSE
    solvers = tuple(s for s in chosen if s not in lacking)
    if lacking:
        output.say(
            f"{lacking[0]} is not installed, so {solvers[0]} judges alone; pip install 'latchproof[recheck]' brings it"
        )
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    machine = pipeline.machine(found.rules)
    folder = record_folder.read(args.folder, expected_files(machine))
    if folder is None:
        return exits.MISUSE
    origin = origin_of(machine, found.sources.values(), args.stage)
    comparison = compare(machine, origin, f"latchproof {__version__}", *folder)
    style = output.style(args, sys.stdout)
    given = []
    if args.format == "text" and (head := shown.head(comparison, args.folder, style)):
        output.result(head)
    with Solvers(solvers) as processes:
        processes.warm_up()
        arriving = opinions(comparison, solvers, processes.run, seconds=args.time_limit, at_once=cores())
        if any(c.facts and not c.refused for c in comparison.claims):
            arriving = _with_time(arriving, machine, args.time_limit)
        for opinion in output.progress(arriving, len(comparison.claims), "checking"):
            given.append(opinion)
            if args.format == "text":
                output.result(shown.line(opinion, machine, style))
    if args.format == "json":
        output.result(shown.as_json(args.file, args.folder, solvers, comparison, given, machine))
    elif not comparison.refused:
        output.result("\n" + shown.end(given, style))
    codes = [
        exits.FINE if shown.is_example(o) else exits.FAULT if shown.is_impossible(o) else CODES[o.result] for o in given
    ]
    return exits.worst([found.code, exits.FAULT if comparison.refused else exits.FINE, *codes])


def _with_time(arriving: "Iterator[Opinion]", machine: "Machine", seconds: float) -> "Iterator[Opinion]":
    """Asks of the facts too: only that needs an engine, and only where a record rests on facts."""
    from latchproof import pipeline
    from latchproof.prove.facts_again import with_time
    from latchproof.prove.going_on import TimeGoesOn

    with pipeline.workers() as workers:
        progress = TimeGoesOn(workers)
        for opinion in arriving:
            yield with_time(opinion, machine, progress, seconds)


COMMAND = Command(
    "recheck",
    "check proof records again, with two solvers",
    "Checks proof records again, yours or a stranger's: makes their texts anew from the rules, compares them "
    "character by character, and has fresh solvers judge them. Asks again whether the facts that a record takes for "
    "granted leave the world a next moment; where they do not, a record of anything would hold.",
    _arguments,
    _execute,
)
