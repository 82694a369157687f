"""`latchproof prove --every-device`: which promises depend on what kind of device the transmitter is."""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output
from latchproof.cli.codes import code
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.machine.cone import System
    from latchproof.machine.model import Machine
    from latchproof.machine.variants import Variant
    from latchproof.prove.devices import Proved
    from latchproof.prove.memory import Keepsake
    from latchproof.prove.verdicts import Verdict


def option(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--every-device",
        action="store_true",
        help="prove the promises for every kind of transmitter: four orders in which it may read its entries, memory "
        "reset or holding anything at power-up; says which promises that makes a difference to",
    )


def execute(args: Namespace, at_once: int) -> int:
    from latchproof.prove.workers import loading

    codes = []
    files: list[tuple[str, tuple[Proved, ...]]] = []
    with loading() as workers:
        from latchproof.cli.rules_of import rules_of
        from latchproof.machine.flat import flatten
        from latchproof.prove.devices import on_every_device
        from latchproof.prove.tasks import Recheck
        from latchproof.show import devices as shown

        def check(system: "System", invariant: str) -> bool:
            return workers.run(Recheck(flatten(system), invariant), args.time_limit) is True

        for path in args.files:
            found = rules_of(path, args)
            codes.append(found.code)
            if found.rules is None:
                files.append((path, ()))
                continue

            def prove(
                machine: "Machine", variant: "Variant", hints: "Mapping[str, Keepsake]", path: str = path
            ) -> "Iterator[Verdict]":
                kind = Namespace(**{**vars(args), "stage": f"{args.stage or ''} on {variant.reads} {variant.starts}"})
                return cache.prove(machine, workers, kind, path, at_once, hints)

            every = on_every_device(found.rules, prove, check)
            proved = tuple(output.progress(every, 8, "kinds of device"))
            files.append((path, proved))
            codes += [code(v) for p in proved for v in p.verdicts]
            if args.format == "text":
                head = visible(path) + "\n" if len(args.files) > 1 else ""
                output.result(head + shown.report(proved, output.style(args, sys.stdout)))
            elif args.format == "concise":
                for line in shown.concise(proved, found.sources):
                    output.result(line)
    if args.format == "json":
        output.result(shown.as_json(files))
    return exits.worst(codes)
