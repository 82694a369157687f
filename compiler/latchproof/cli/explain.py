"""`latchproof explain CODE`: what a message means, why it matters in the air, and how to mend it."""

import json
import sys
from argparse import ArgumentParser, Namespace
from difflib import get_close_matches

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, output_format
from latchproof.show.visible import visible


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument(
        "codes",
        nargs="*",
        metavar="CODE",
        help="what stands in error[...], or a hazard such as H13; without one: all of them",
    )
    output_format(parser, "text", "json")
    colour(parser)


def _execute(args: Namespace) -> int:
    from latchproof.diagnostics.catalogue import CATALOGUE
    from latchproof.rules.hazards import TITLES
    from latchproof.show import explanations as shown

    style = output.style(args, sys.stdout)
    codes = [_bare(code) for code in args.codes]
    hazards = [code.upper() for code in codes if code.upper() in TITLES]
    codes = [code for code in codes if code.upper() not in TITLES]
    unknown = [code for code in codes if code not in CATALOGUE]
    for code in unknown:
        near = get_close_matches(code, CATALOGUE, 1)
        hint = f"did you mean {near[0]}?" if near else "`latchproof explain` alone lists all codes"
        output.say(f"latchproof: there is no code {visible(code)}; {hint}")
    if unknown:
        return exits.MISUSE
    pages = []
    if hazards:
        from latchproof.hazards.catalogue import page

        pages = [(h, TITLES[h], page(h)) for h in hazards]
    if args.format == "json":
        wanted = codes if hazards else codes or list(CATALOGUE)
        rows = [shown.hazard_row(*p) for p in pages] + [shown.as_row(CATALOGUE[code]) for code in wanted]
        output.result(json.dumps({"schema": shown.SCHEMA, "explanations": rows}, indent=2))
    elif codes or hazards:
        told = [shown.hazard(*p, style) for p in pages]
        output.result("\n\n".join([*told, *(shown.render(CATALOGUE[code], style) for code in codes)]))
    else:
        output.result(shown.listed(CATALOGUE.values(), style) + "\n\n" + shown.titles(TITLES, style))
    return exits.FINE


def _bare(code: str) -> str:
    """`error[missing-unit]:` pasted as a whole is understood too."""
    return code.removeprefix("error[").removeprefix("warning[").rstrip(":]").lower()


COMMAND = Command(
    "explain",
    "explain a message by its code",
    "Explains a message by its code: what it means, why it matters in the air, an example and how it is mended.",
    _arguments,
    _execute,
)
