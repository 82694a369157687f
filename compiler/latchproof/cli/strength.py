"""`latchproof strength`: how much do the promises say? What could change in the rules without one of them failing?"""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output
from latchproof.cli.command import Command, colour, cores, output_format, rule_files, stage, time_limit
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules.model import RuleSet
    from latchproof.source import Source
    from latchproof.strength.report import Tested

CODES = {"unnoticed": exits.FAULT, "not decided": exits.UNDECIDED}


def _arguments(parser: ArgumentParser) -> None:
    rule_files(parser)
    parser.add_argument("--all", action="store_true", help="tell also what is noticed, and by which promise")
    output_format(parser, "text", "json")
    colour(parser)
    stage(parser)
    time_limit(parser)
    cache.cache(parser)


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of
    from latchproof.show.strength import as_json
    from latchproof.strength.report import on_a_prompt_device

    codes = []
    rows: list[tuple[str, RuleSet | None, Sequence[Tested], dict[str, Source]]] = []
    with pipeline.workers() as workers:
        for path in args.files:
            found = rules_of(path, args)
            codes.append(found.code)
            if found.rules is None:
                rows.append((path, None, (), found.sources))
                continue
            rules = on_a_prompt_device(found.rules)
            if rules != found.rules:
                output.say("latchproof: weighed on a device that reads at once and starts with all memory reset")
            machine = pipeline.machine(rules)
            verdicts = _verdicts(machine, workers, args, path)
            tested = _tested(machine, verdicts, workers, args, found.sources)
            rows.append((path, found.rules, tested, found.sources))
            codes += [CODES.get(t.state, exits.FINE) for t in tested]
            if args.format == "text":
                _show(rows, verdicts, args)
    if args.format == "json":
        output.result(as_json(rows))
    return exits.worst(codes)


def _verdicts(machine: "Machine", workers: "Workers", args: Namespace, path: str) -> "tuple[Verdict, ...]":

    arriving = cache.prove(machine, workers, args, path, cores())
    return tuple(output.progress(arriving, len(machine.properties), "proving"))


def _tested(
    machine: "Machine",
    verdicts: "Sequence[Verdict]",
    workers: "Workers",
    args: Namespace,
    sources: "Mapping[str, Source]",
) -> "tuple[Tested, ...]":
    from latchproof.hazards.site import Site
    from latchproof.strength.dangers import Dangers
    from latchproof.strength.honest import honest
    from latchproof.strength.report import Strength

    known = honest(machine, verdicts, workers, time_limit=args.time_limit, at_once=cores()).flights
    dangers = Dangers(Site(machine.rules, sources), workers, args.time_limit, cores())
    work = Strength(machine, verdicts, workers, args.time_limit, cores(), list(known), dangers)
    return tuple(output.progress(work.run(), work.count(), "weakening"))


def _show(
    rows: "list[tuple[str, RuleSet | None, Sequence[Tested], dict[str, Source]]]",
    verdicts: "Sequence[Verdict]",
    args: Namespace,
) -> None:
    from latchproof.show.strength import render, summary

    path, rules, tested, sources = rows[-1]
    assert rules is not None
    style = output.style(args, sys.stdout)
    if len(args.files) > 1:
        output.result(("\n" if len(rows) > 1 else "") + visible(path) + "\n")
    mute = [v.claim for v in verdicts if v.answer != "proved"]
    if mute:
        output.say(f"latchproof: not proved, so these notice nothing: {', '.join(map(visible, mute))}")
    output.result(render(tested, rules, sources, style, whole=args.all))
    output.result(("\n" if tested else "") + summary(tested, style))


COMMAND = Command(
    "strength",
    "tell what could change in the rules without anybody noticing",
    "Weakens the rules one step at a time and tells which promise notices; where none does, whether one of the dangers "
    "that `hazards` looks for is then there, or a promise that would notice.",
    _arguments,
    _execute,
)
