"""`latchproof graph`: what depends on what."""

import sys
from argparse import ArgumentParser, Namespace

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, rule_file, stage


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    parser.add_argument("--svg", metavar="PATH", help="also write a picture; - writes only that, to standard output")
    parser.add_argument("--dot", metavar="PATH", help="also write DOT text; - writes only that, to standard output")
    colour(parser)
    stage(parser)


def _execute(args: Namespace) -> int:
    from latchproof.cli import files
    from latchproof.cli.rules_of import rules_of
    from latchproof.show import graph
    from latchproof.show.graph_svg import svg

    if args.svg == args.dot == "-":
        output.say("latchproof: only one of --svg and --dot can go to standard output")
        return exits.MISUSE
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    codes = [found.code]
    if "-" not in (args.svg, args.dot):
        output.result(graph.tree(found.rules, output.style(args, sys.stdout)))
    for path, draw in ((args.svg, svg), (args.dot, graph.dot)):
        if path == "-":
            output.result(draw(found.rules))
        elif path is not None:
            codes.append(files.write(path, draw(found.rules)))
    return exits.worst(codes)


COMMAND = Command(
    "graph",
    "show what depends on what",
    "Shows for each channel what it depends on, as a tree; writes the same as a picture or as DOT text.",
    _arguments,
    _execute,
)
