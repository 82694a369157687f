"""Diagnostics as text for people, as one line for editors, and as JSON.

    error[what-lasts]: what lasts 2 s?
      --> floor.latch:31:49
    31 |   set when guard is on and height is above 62 m for 2 s
       |                                                 ^^^^^^^ this belongs either to the last test ...
       |            ------------------------------------ ... or to all of it
    hint: write (guard is on and height is above 62 m) for 2 s
       or guard is on and (height is above 62 m for 2 s)
"""

import json
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby

from latchproof.diagnostics import Diagnostic, Label
from latchproof.show.excerpt import Mark, excerpt
from latchproof.show.style import PLAIN, Style
from latchproof.show.visible import visible
from latchproof.source import Source, Span

Sources = Mapping[str, Source]
SCHEMA = "latchproof.diagnostics/1"


def render(diagnostic: Diagnostic, sources: Sources, style: Style = PLAIN) -> str:
    """The whole message, several lines, without a line break at the end."""
    return "\n".join(_lines(diagnostic, sources, style))


def concise(diagnostic: Diagnostic, sources: Sources) -> str:
    """`file:line:column: error[code]: title`."""
    place = f"{_place(diagnostic.labels[0].span, sources)}: " if diagnostic.labels else ""
    return f"{place}{diagnostic.severity}[{diagnostic.code}]: {visible(diagnostic.title)}"


def as_json(diagnostics: Iterable[Diagnostic], sources: Sources) -> str:
    """Lines and columns count from 1, offsets in characters from 0."""
    rows = [
        {
            "code": d.code,
            "severity": d.severity,
            "title": d.title,
            "labels": [_label_row(label, sources) for label in d.labels],
            "hints": list(d.hints),
        }
        for d in diagnostics
    ]
    # Only ASCII is written, so that no terminal acts on what stands in a rule file.
    return json.dumps({"schema": SCHEMA, "diagnostics": rows}, indent=2, ensure_ascii=True)


def _lines(diagnostic: Diagnostic, sources: Sources, style: Style) -> Iterator[str]:
    severity = diagnostic.severity
    head = f"{severity}[{diagnostic.code}]:"
    first, *rest = _wrapped(f"{head} {visible(diagnostic.title)}", style.width, "    ")
    yield style.paint(head, severity) + style.paint(first.removeprefix(head), "strong")
    yield from (style.paint(line, "strong") for line in rest)
    if diagnostic.labels:
        yield style.paint(f"  --> {_place(diagnostic.labels[0].span, sources)}", "place")
        yield from _excerpts(diagnostic.labels, sources, style)
    for i, hint in enumerate(diagnostic.hints):  # each is a repair of its own: this, or that
        lead = "   or " if i else "hint: "
        first, *rest = _wrapped(lead + visible(hint), style.width, "      ")
        yield style.paint(lead, "hint") + first[len(lead) :]
        yield from rest


def _excerpts(labels: tuple[Label, ...], sources: Sources, style: Style) -> Iterator[str]:
    """The lines of source that the labels point at: the first label's file, then the others in their order."""
    names = list(dict.fromkeys(label.span.source for label in labels))
    known = [name for name in names if name in sources]
    gutter = max((len(str(sources[n].place(label.span.start)[0])) for n in known for label in labels
                  if label.span.source == n), default=1)
    for name in names:
        here = [label for label in labels if label.span.source == name]
        if name != names[0]:
            yield style.paint(f"  and {_place(here[0].span, sources)}", "place")
        if name in sources:
            yield from _of_source(sources[name], here, labels[0], gutter, style)


def _of_source(source: Source, labels: list[Label], main: Label, gutter: int, style: Style) -> Iterator[str]:
    """Lines in the order of the file; on one line the main label comes first."""

    def line_of(label: Label) -> int:
        return source.place(label.span.start)[0]

    before = 0
    ordered = sorted(labels, key=lambda label: (line_of(label), label is not main))
    for number, group in groupby(ordered, key=line_of):
        text = source.line(number)
        start = source.line_starts[number - 1]
        if before and number > before + 1:
            yield f"{'':>{gutter}} ..."
        before = number
        marks = [
            Mark(
                min(label.span.start - start, len(text)),
                min(label.span.end - start, len(text)),
                visible(label.text),
                label is main,
            )
            for label in group
        ]
        if text or any(mark.text for mark in marks):
            yield from excerpt(number, text, marks, gutter, style)


def _wrapped(text: str, width: int, indent: str) -> list[str]:
    """Spaces inside a line stay as they are: hints line up their remarks."""
    return textwrap.wrap(
        text, width, subsequent_indent=indent, replace_whitespace=False, break_long_words=False, break_on_hyphens=False
    )


def _place(span: Span, sources: Sources) -> str:
    """`file:line:column`, or the bare name of a file that could not be read."""
    if span.source not in sources:
        return visible(span.source)
    line, column = sources[span.source].place(span.start)
    return f"{visible(span.source)}:{line}:{column}"


def _label_row(label: Label, sources: Sources) -> dict[str, object]:
    span = label.span
    row: dict[str, object] = {"file": span.source, "text": label.text}
    if span.source in sources:
        for key, offset in (("start", span.start), ("end", span.end)):
            line, column = sources[span.source].place(offset)
            row[key] = {"line": line, "column": column, "offset": offset}
    return row
