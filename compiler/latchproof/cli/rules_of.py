"""The way of the commands that need rules without an error: read, told about, at a stage."""

import sys
from argparse import Namespace
from dataclasses import dataclass
from difflib import get_close_matches

from latchproof import pipeline
from latchproof.cli import exits, output
from latchproof.rules import RuleSet
from latchproof.show.visible import visible
from latchproof.source import Source


@dataclass(frozen=True, slots=True)
class Found:
    """`rules` is None if there is nothing to go on with; `code` is the exit code so far. `whole`: the rules of the
    file, where `rules` are those of a stage."""

    rules: RuleSet | None
    sources: dict[str, Source]
    code: int
    whole: RuleSet | None = None


def rules_of(path: str, args: Namespace) -> Found:
    """What is wrong goes to standard error: standard output is for what the command makes of the rules."""
    checked = pipeline.check(path)
    output.report(checked.diagnostics, checked.sources, args, sys.stderr)
    code = output.exit_code(checked.diagnostics)
    if checked.rules is None or args.stage is None:
        return Found(checked.rules, checked.sources, code)
    from latchproof.machine.stage import at_stage

    known = [s.name for s in checked.rules.stages]
    if args.stage not in known:
        near = get_close_matches(args.stage, known, 1)
        hint = f"did you mean {near[0]}?" if near else f"it has {', '.join(known) or 'none'}"
        output.say(f"latchproof: {visible(path)} has no stage {visible(args.stage)}; {hint}")
        return Found(None, checked.sources, exits.MISUSE)
    return Found(at_stage(checked.rules, args.stage), checked.sources, code, checked.rules)
