"""`latchproof bench`: a short test, propeller off, that shows every slip a hand can make when copying the listing."""

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable
from contextlib import contextmanager
from fractions import Fraction
from typing import TYPE_CHECKING

from latchproof.cli import exits, output, transmitter_of
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, stage
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterator

    from latchproof.bench.can_do import Way
    from latchproof.bench.trial_numbers import Numbers
    from latchproof.listing.model import Listing
    from latchproof.rules import RuleSet
    from latchproof.transmitter.model import Transmitter

PATIENCE = 10
"""Seconds for the proof that a slip changes nothing."""

METRE = "m"


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    transmitter_of.option(parser)
    parser.add_argument(
        "--height",
        choices=("knob", "stairs", "thresholds", "free", "stuck"),
        default="knob",
        help="how heights are had at the bench: a knob in place of the sensor, stairs, test thresholds that the stairs "
        "reach, freely (a pressure rig), or not at all, the sensor stuck at zero (default: knob)",
    )
    parser.add_argument(
        "--stairs", type=_metres, default=Fraction(5), metavar="METRES", help="what your stairs reach (default: 5)"
    )
    parser.add_argument(
        "--see", type=_percent, default=Fraction(20), metavar="PERCENT",
        help="part of a channel's travel that you surely see (default: 20)",
    )  # fmt: skip
    parser.add_argument("--all", action="store_true", help="list also the slips that give nothing that works")
    output_format(parser, "text", "markdown", "html", "json")
    colour(parser)
    stage(parser)


def _metres(text: str) -> Fraction:
    return _number(text.removesuffix("m"), Fraction(1, 2), Fraction(200), "metres from 0.5 to 200, such as 5")


def _percent(text: str) -> Fraction:
    return _number(text.removesuffix("%"), Fraction(1), Fraction(50), "percent from 1 to 50, such as 20")


def _number(text: str, low: Fraction, high: Fraction, wanted: str) -> Fraction:
    try:
        value = Fraction(text.strip()) if len(text) < 20 and "e" not in text.lower() else None
    except (ValueError, ZeroDivisionError):
        value = None
    if value is None or not low <= value <= high:
        raise ArgumentTypeError(f"{visible(text)} is not in {wanted}")
    return value


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.bench.card import card
    from latchproof.bench.flown import flown
    from latchproof.bench.observe import Sight
    from latchproof.bench.trial import copies, trial
    from latchproof.cli.listing import broken
    from latchproof.cli.rules_of import rules_of
    from latchproof.readback.raised import raised
    from latchproof.show import bench_html, bench_json, bench_markdown, bench_text

    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    made = _listed(found.rules, args)
    if isinstance(made, int):
        return exits.worst([found.code, made])
    listing, rules, device = made
    ways = _ways(rules, args)
    with pipeline.workers() as workers, _progress() as told:
        swapped = _numbers(rules, listing, args)
        if isinstance(back := raised(listing.entries, rules, device), tuple):
            return broken(back)
        c = copies(rules, listing.entries, device, swapped)
        done = trial(
            c, listing.entries, ways, Sight(level=args.see / 100), workers,
            seconds=PATIENCE, at_once=cores(), told=told,
        )  # fmt: skip
        open_ = {n: r for n, (f, r) in enumerate(zip(done.fates, c.rules, strict=True))
                 if f.state in ("unseen", "not decided") and not isinstance(r, str)}  # fmt: skip
        heard = flown(c.right, open_, lambda shown, of: told("flying on paper", shown, len(open_)))
    x = card(listing, rules, done, ways, heard, swapped)
    match args.format:
        case "json":
            output.result(bench_json.render(x))
        case "html":
            output.result(bench_html.render(x).removesuffix("\n"))
        case "markdown":
            output.result(bench_markdown.render(x))
        case _:
            output.result(bench_text.render(x, output.style(args, sys.stdout), whole=args.all))
    code = exits.FAULT if x.by_nothing else exits.UNDECIDED if x.totals.not_decided else exits.FINE
    return exits.worst([found.code, code])


def _listed(rules: "RuleSet", args: Namespace) -> "tuple[Listing, RuleSet, Transmitter | None] | int":
    """The listing, the rules at its constants, and what it is for."""
    from latchproof.listing import build

    if args.transmitter is None:
        return build(rules, None, args.stage or ""), rules, None
    from latchproof.fit.words import misfit
    from latchproof.readback.sheet import as_shown, fitted_into

    chosen = transmitter_of.chosen(args.transmitter, args)
    if chosen.transmitter is None:
        return chosen.code or exits.MISUSE
    fitted = fitted_into(rules, chosen.transmitter)
    if fitted.misfits:
        output.say(f"latchproof: the rules do not fit into {visible(chosen.transmitter.name)}:")
        for x in fitted.misfits:
            output.say(f"  - {visible(misfit(x))}")
        output.say("There is nothing to test.")
        return exits.FAULT
    there = as_shown(fitted.rules, chosen.transmitter)
    return build(there, None, args.stage or "", chosen.transmitter, rules), there, chosen.transmitter


def _ways(rules: "RuleSet", args: Namespace) -> "dict[str, Way]":
    """Heights as asked for; a knob stands in the place of every other sensor."""
    from latchproof.bench.can_do import Way
    from latchproof.rules.units import UNITS

    height = UNITS[METRE].dimension
    return {s.name: Way(args.height, args.stairs) if s.unit.dimension == height else Way("knob") for s in rules.sensors}


def _numbers(rules: "RuleSet", listing: "Listing", args: Namespace) -> "Numbers | None":
    """Test thresholds that the stairs reach, where they are asked for."""
    from latchproof.bench.trial_numbers import Numbers, numbers
    from latchproof.listing.plain import word
    from latchproof.rules.units import UNITS

    if args.height != "thresholds":
        return None
    height = UNITS[METRE].dimension
    found = [
        numbers(
            listing.entries, word(s.name), args.stairs, s.error + (s.step or Fraction(0)) / 2, s.step or Fraction(1, 2)
        )
        for s in rules.sensors
        if s.unit.dimension == height
    ]
    return Numbers(tuple(b for n in found for b in n.bounds))


@contextmanager
def _progress() -> "Iterator[Callable[[str, int, int], None]]":
    """On a terminal a line that says what is being done."""
    if not sys.stderr.isatty():
        yield lambda what, done, of: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("reading", total=None)
        yield lambda what, done, of: bar.update(task, description=what, completed=done, total=of or None)


COMMAND = Command(
    "bench",
    "make a bench test that shows every slip of copying",
    "Makes a short test, propeller off, that shows every slip a hand can make when copying the listing.",
    _arguments,
    _execute,
)
