"""`latchproof prove`: is what the rules promise true, always? If not: how not."""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from latchproof.cli import cache, every_device, exits, output, record_folder
from latchproof.cli.codes import code
from latchproof.cli.command import Command, colour, cores, output_format, rule_files, stage, time_limit
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.source import Source


def _arguments(parser: ArgumentParser) -> None:
    rule_files(parser)
    output_format(parser, "text", "concise", "json")
    colour(parser)
    stage(parser)
    time_limit(parser)
    cache.cache(parser)
    parser.add_argument(
        "--why", action="store_true", help="tell also which rules and assumptions each proof cannot do without"
    )
    every_device.option(parser)
    parser.add_argument(
        "--certificates",
        metavar="DIR",
        help="write a proof record of each proved promise into this folder: texts that anybody can check with any "
        "solver, and `latchproof recheck FILE DIR` with two",
    )


def _execute(args: Namespace) -> int:
    from latchproof.prove.workers import loading

    if args.every_device:
        if args.certificates is not None:
            output.say(
                "latchproof: proof records are of one kind of device: leave out --certificates or --every-device"
            )
            return exits.MISUSE
        return every_device.execute(args, cores())
    if args.certificates is not None:
        if len(args.files) > 1:
            output.say("latchproof: a folder holds the proof records of one rule file: --certificates takes one FILE")
            return exits.MISUSE
        if not record_folder.usable(args.certificates):
            return exits.MISUSE
    codes = []
    proved: list[tuple[str, Machine | None, Sequence[Verdict]]] = []
    with loading() as workers:
        from latchproof import pipeline
        from latchproof.cli.rules_of import rules_of

        for path in args.files:
            found = rules_of(path, args)
            codes.append(found.code)
            if found.rules is None:
                proved.append((path, None, ()))
                continue
            if len(args.files) > 1 and args.format == "text":
                output.result(("\n" if proved else "") + visible(path) + "\n")
            machine = pipeline.machine(found.rules)
            arriving = cache.prove(machine, workers, args, path, cores())
            verdicts = tuple(_shown(arriving, machine, found.sources, args))
            verdicts, doubt = _honest(machine, verdicts, workers, found.sources, args, path)
            codes.append(doubt)
            proved.append((path, machine, verdicts))
            codes += [code(v) for v in verdicts]
            if args.certificates is not None:
                codes.append(_recorded(machine, verdicts, found.sources, args))
    if args.format == "json":
        from latchproof.show.verdicts_json import as_json

        output.result(as_json(proved))
    return exits.worst(codes)


def _shown(
    verdicts: "Iterator[Verdict]", machine: "Machine", sources: "Mapping[str, Source]", args: Namespace
) -> "Iterator[Verdict]":
    """Passes the verdicts on in the order of the rule file; what is to be seen of each is written as soon as all
    before it have arrived."""
    from latchproof.prove.fights import fault
    from latchproof.show import verdicts as shown

    for verdict in lined_up(output.progress(verdicts, len(machine.properties), "proving"), machine):
        broken = fault(verdict, machine)
        if broken is not None and args.format != "json":
            output.report((broken,), sources, args, sys.stdout)
        if args.format == "text":
            output.result(shown.render(verdict, machine, output.style(args, sys.stdout)) + "\n")
        elif args.format == "concise" and broken is None:
            output.result(shown.concise(verdict, machine, sources))
        yield verdict


def _honest(
    machine: "Machine", verdicts: "tuple[Verdict, ...]", workers: "Workers", sources: "Mapping[str, Source]",
    args: Namespace, path: str,
) -> "tuple[tuple[Verdict, ...], int]":  # fmt: skip
    """Tells what could be taken for more than it is, and the summary; the verdicts and the exit code after that."""
    from latchproof.show import verdicts as shown
    from latchproof.strength.honest import honest as looked_at
    from latchproof.strength.honest import reasons

    shelf = cache.shelf_of(machine, args, path)
    kept = () if shelf is None else shelf.flights()
    honest = looked_at(machine, verdicts, workers, time_limit=args.time_limit, at_once=cores(), kept=kept)
    if shelf is not None and honest.flights != kept:
        shelf.keep_flights(honest.flights)
    verdicts = honest.verdicts
    if args.why:
        verdicts = reasons(machine, verdicts, workers, time_limit=args.time_limit, at_once=cores())
    if args.format != "json":
        output.report(honest.found, sources, args, sys.stdout)
    if args.format == "text":
        style = output.style(args, sys.stdout)
        output.result(shown.unsettled(honest.open, style))
        output.result(shown.sticking(verdicts, machine, style))
        output.result(shown.standing(verdicts, style))
        output.result(shown.report_end(verdicts, style))
    return verdicts, output.exit_code(honest.found)


def _recorded(
    machine: "Machine", verdicts: "Sequence[Verdict]", sources: "Mapping[str, Source]", args: Namespace
) -> int:
    from latchproof import __version__
    from latchproof.prove.records import origin_of, proofs_of, records

    origin = origin_of(machine, sources.values(), args.stage)
    files = records(machine, proofs_of(machine, verdicts), origin, f"latchproof {__version__}")
    return record_folder.write(args.certificates, files)


def lined_up(verdicts: "Iterator[Verdict]", machine: "Machine") -> "Iterator[Verdict]":
    """In the order of the rule file, each as soon as that can be."""
    early: dict[str, Verdict] = {}
    names = iter([p.name for p in machine.properties])
    wanted = next(names, None)
    for verdict in verdicts:
        early[verdict.claim] = verdict
        while wanted in early:
            yield early.pop(wanted)
            wanted = next(names, None)


def in_order(verdicts: "Sequence[Verdict]", machine: "Machine") -> "tuple[Verdict, ...]":
    """In the order of the rule file, not that in which they were found."""
    place = {p.name: i for i, p in enumerate(machine.properties)}
    return tuple(sorted(verdicts, key=lambda v: place[v.claim]))


COMMAND = Command(
    "prove",
    "prove what the rules promise, or show how it fails",
    "Proves what the rules promise, for every flight that their facts allow, or shows how it fails.",
    _arguments,
    _execute,
)
