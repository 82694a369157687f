"""The promises on every kind of device: a table, and for each that makes a difference which and how it fails there."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence

from latchproof.machine.allowance import longest_time
from latchproof.machine.variants import READS, STARTS, Variant
from latchproof.prove.devices import Proved, differing
from latchproof.prove.least import is_least
from latchproof.prove.verdicts import Verdict
from latchproof.show import verdicts as shown
from latchproof.show.device import milliseconds
from latchproof.show.style import PLAIN, Role, Style
from latchproof.show.table import beside, paragraph, wrapped
from latchproof.show.verdicts_json import claim_row
from latchproof.show.visible import visible
from latchproof.source import Source

SCHEMA = "latchproof.devices/1"
CELL, START = 11, 5
NOWHERE = "not here"
"""The engine of a verdict on what a kind of device does not have."""
ROLES: dict[str, Role] = {"proved": "good", "refuted": "error", "unknown": "warning"}


def called(v: Variant) -> str:
    """`reads last cycle, starts any`."""
    return f"reads {v.reads}, starts {v.starts}"


def report(proved: Sequence[Proved], style: Style = PLAIN) -> str:
    """Without a line break at the end."""
    lines = list(_table(proved, style))
    for name in differing(proved):
        lines += ["", *_difference(name, proved, style)]
    open_ = sorted({v.claim for p in proved for v in p.verdicts if v.answer == "unknown"})
    if open_:
        said = f"not decided on some kinds of device: {', '.join(map(visible, open_))}"
        lines += ["", *paragraph(f"{said}. --time-limit gives them more time", style.width, rest="  ")]
    everywhere = sum(all(_of(p, name).answer == "proved" for p in proved) for name in _names(proved))
    count = len(_names(proved))
    promises = f"{count} promise{'' if count == 1 else 's'}"
    return "\n".join([*lines, "", f"{promises} on {len(proved)} kinds of device: {everywhere} proved on all of them"])


def _names(proved: Sequence[Proved]) -> tuple[str, ...]:
    """Every property of any of the devices, in the order of the file."""
    return tuple(dict.fromkeys(v.claim for p in proved for v in p.verdicts))


def _of(p: Proved, name: str) -> Verdict:
    """A property that a kind of device does not have is kept there."""
    missing = Verdict(name, "proved", NOWHERE, 0)
    return next((v for v in p.verdicts if v.claim == name), missing)


def _table(proved: Sequence[Proved], style: Style) -> Iterator[str]:
    first = style.width - START - len(READS) * (CELL + 2) - 2
    widths = (first, START, *[CELL] * len(READS))
    heads = [["", "promise"], ["", "start"], *([r.split(" ")[0], r.split(" ")[1]] for r in READS)]
    for line in beside(heads, widths):
        yield style.paint(line, "strong")
    yield "  ".join("-" * w for w in widths)
    by = {(p.variant.reads, p.variant.starts): p for p in proved}
    declared = next(p.variant for p in proved if p.variant.declared)
    for name in _names(proved):
        title = wrapped(visible(name), first)
        for n, starts in enumerate(STARTS):
            cells = [by[reads, starts] for reads in READS]
            told = title[n : n + 1] if n + 1 < len(STARTS) else title[n:]
            columns: list[list[str]] = [told, [starts], *([_cell(p, name)] for p in cells)]
            yield from _row(columns, widths, cells, name, style)
    yield f"* the kind of device that the file describes: {called(declared)}"
    if any(v.allowance and v.answer == "proved" and not is_least(v) for p in proved for v in p.verdicts):
        yield "? with less allowance it was not decided in time"


def _row(
    columns: list[list[str]], widths: Sequence[int], cells: Sequence[Proved], name: str, style: Style
) -> Iterator[str]:
    """Painted after it was set, so that colours take no room."""
    for number, line in enumerate(beside(columns, widths)):
        if number or not style.colour:
            yield line
            continue
        at = sum(widths[:2]) + 4
        painted = line[:at]
        for p in cells:
            painted += style.paint(line[at : at + CELL], ROLES[_of(p, name).answer]) + line[at + CELL : at + CELL + 2]
            at += CELL + 2
        yield painted


def _cell(p: Proved, name: str) -> str:
    """`proved`, `+50 ms` for an allowance, `fails`, `open`, `-` where there is no such thing to prove."""
    v = _of(p, name)
    if v.engine == NOWHERE:
        return "-"
    mark = "*" if p.variant.declared else ""
    if v.answer == "proved" and v.allowance:
        sure = "" if is_least(v) else "?"
        return f"+{milliseconds(longest_time(v.allowance, p.machine.rules))}{sure}{mark}"
    return ("open" if v.answer == "unknown" else shown.word(v)) + mark


def _difference(name: str, proved: Sequence[Proved], style: Style) -> Iterator[str]:
    holds = [p for p in proved if _of(p, name).answer == "proved"]
    fails = [p for p in proved if _of(p, name).answer == "refuted"]
    claim = shown.sentence(_of(fails[0], name), fails[0].machine)
    yield from (style.paint(line, "strong") for line in paragraph(visible(f"{name}: {claim}"), style.width, rest="  "))
    yield from paragraph(f"holds where the device {_kinds(holds)}", style.width, first="  ", rest="    ")
    yield from paragraph(f"fails where the device {_kinds(fails)}", style.width, first="  ", rest="    ")
    told = next((p for p in fails if p.variant.declared), fails[0])
    yield f"  where it {called(told.variant)} it"
    yield from shown.told(_of(told, name), told.machine, style)


def _kinds(several: Sequence[Proved]) -> str:
    """Ways of starting that are alike for a way of reading are put together."""
    by: dict[str, list[str]] = {}
    for p in several:
        by.setdefault(p.variant.reads, []).append(p.variant.starts)
    whole = [f"reads {r}" + ("" if len(s) == len(STARTS) else f" and starts {s[0]}") for r, s in by.items()]
    return ", or ".join(whole)


def concise(proved: Sequence[Proved], sources: Mapping[str, Source]) -> Iterator[str]:
    """One line for each verdict on each kind of device."""
    for p in proved:
        for v in p.verdicts:
            yield f"{shown.concise(v, p.machine, sources)} [{called(p.variant)}]"


def as_json(files: Iterable[tuple[str, Sequence[Proved]]]) -> str:
    """Of each file, each kind of device with all verdicts; schema `latchproof.devices/1`."""
    rows = [{"file": name, "devices": [_device_row(p) for p in proved]} for name, proved in files]
    return json.dumps({"schema": SCHEMA, "files": rows}, indent=2, ensure_ascii=True)


def _device_row(p: Proved) -> dict[str, object]:
    return {
        "reads": p.variant.reads,
        "starts": p.variant.starts,
        "declared": p.variant.declared,
        "claims": [claim_row(v, p.machine) for v in p.verdicts],
    }
