"""The files that a rule file includes, read and parsed."""

from dataclasses import dataclass, field
from pathlib import Path

from latchproof.diagnostics import Diagnostic
from latchproof.rules.includes import includes_of
from latchproof.source import Source, by_name
from latchproof.source.read import read_included
from latchproof.syntax import File, parse


@dataclass(frozen=True, slots=True)
class Included:
    """`files` by the path as written, None for one that could not be read; `sources` by the name messages use."""

    files: dict[str, File | None] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    diagnostics: tuple[Diagnostic, ...] = ()


def gathered(tree: File, folder: Path) -> Included:
    """Each included file once; none of them may lie outside `folder`."""
    files: dict[str, File | None] = {}
    sources: dict[str, Source] = {}
    found: tuple[Diagnostic, ...] = ()
    for include in includes_of(tree):
        name = include.path.value
        if name in files:
            continue
        source, faults = read_included(folder, name, include.path.span, len(files))
        part, more = parse(source) if source and not faults else (None, ())
        files[name] = part
        sources |= by_name(source)
        found += faults + more
    return Included(files, sources, found)
