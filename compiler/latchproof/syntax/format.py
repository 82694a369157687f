"""The canonical layout of a rule file: the same rules, every comment kept, the same text again when laid out again."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from latchproof.source import Source
from latchproof.syntax import tree
from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.columns import WIDTH, broken, flat, joined, lined_up
from latchproof.syntax.phrases import mark
from latchproof.syntax.rows import HEADER, Block, Line, Row, header, statement

_INDENT = 2


def format_file(file: tree.File, source: Source) -> str:
    """The text of `file`, which was parsed from `source`. Parsed again it gives `split_alternatives(file)`."""
    split = split_alternatives(file)
    first = (header(file.header),) if file.header else ()
    rows = (*first, *(statement(s) for s in split.statements))
    lines = _Page(source).body(rows, file.comments, 0, statements=True)
    return "\n".join(lines) + "\n" if lines else ""


@dataclass(frozen=True, slots=True)
class _Item:
    """A row with the comment behind it, or (row None) a comment on a line of its own.

    `inner`: comments inside the braces of a block.
    """

    row: Row | None
    first_line: int
    last_line: int
    comment: str = ""
    inner: tuple[tree.Comment, ...] = ()


@dataclass(frozen=True, slots=True)
class _Page:
    source: Source

    def body(
        self, rows: Sequence[Row], comments: Sequence[tree.Comment], indent: int, statements: bool = False
    ) -> list[str]:
        """The lines of rows that stand under each other."""
        items = list(self.items(rows, comments))
        short = self.written_short(items, indent)
        lines: list[str] = []
        at = 0
        while at < len(items):
            if at and (self.gap(items, at) or (statements and self.parted(items, at, short))):
                lines.append("")
            run = self.run(items, at, short, indent)
            lines += self.table(items[at : at + run], short, indent) if run else self.alone(items[at], short, indent)
            at += max(1, run)
        return lines

    # ---------- which comment belongs to which row

    def items(self, rows: Sequence[Row], comments: Sequence[tree.Comment]) -> Iterator[_Item]:
        """Comments from within a row are moved above it."""
        left = list(comments)
        left.reverse()
        for number, row in enumerate(rows):
            while left and left[-1].span.start < row.start:
                yield self.comment_item(left.pop())
            next_start = rows[number + 1].start if number + 1 < len(rows) else len(self.source.text)
            first, last = self.line(row.start), self.line(max(row.start, row.end - 1))
            brace = self.brace(row) if isinstance(row, Block) else row.end
            inner: list[tree.Comment] = []
            behind = ""
            while left and left[-1].span.start < next_start:
                comment = left[-1]
                if comment.span.start < brace:
                    yield _Item(None, first, first, comment.text)
                elif comment.span.start < row.end:
                    inner.append(comment)
                elif self.trails(comment) and not behind:
                    behind = comment.text
                else:
                    break
                left.pop()
            yield _Item(row, first, last, behind, tuple(inner))
        while left:
            yield self.comment_item(left.pop())

    def comment_item(self, comment: tree.Comment) -> _Item:
        line = self.line(comment.span.start)
        return _Item(None, line, line, comment.text)

    def line(self, offset: int) -> int:
        return self.source.place(offset)[0]

    def trails(self, comment: tree.Comment) -> bool:
        """Does something else stand before it on its line?"""
        line, column = self.source.place(comment.span.start)
        return bool(self.source.line(line)[: column - 1].strip("\ufeff \t\u00a0"))

    def brace(self, block: Block) -> int:
        """Where the block's opening brace stands: the first one behind its head that is not in a comment."""
        text, at = self.source.text, block.opened
        while text[at] != "{":
            at = text.index("\n", at) if text[at] == "#" else at + 1
        return at

    # ---------- what stands on one line

    def written_short(self, items: Sequence[_Item], indent: int) -> frozenset[int]:
        """The blocks (by their start) that are written on one line."""
        blocks = [(i, i.row) for i in items if isinstance(i.row, Block)]
        fits = {
            block.start
            for item, block in blocks
            if block.short is not None and not item.inner and indent + _length(block.short) <= block.room
        }
        if any(block.alike and block.start not in fits for _, block in blocks):
            fits -= {block.start for _, block in blocks if block.alike and block.rows}
        return frozenset(fits)

    def as_line(self, item: _Item, short: frozenset[int]) -> Line | None:
        """The row as one that can line up with others."""
        if isinstance(item.row, Block):
            return item.row.short if item.row.start in short else None
        return item.row

    # ---------- empty lines

    def gap(self, items: Sequence[_Item], at: int) -> bool:
        """Did an empty line stand here in the source?"""
        return items[at].first_line - items[at - 1].last_line > 1

    def parted(self, items: Sequence[_Item], at: int, short: frozenset[int]) -> bool:
        """A block of several lines has an empty line before it (before the comment that belongs to it) and behind."""

        def tall(item: _Item) -> bool:
            return isinstance(item.row, Block) and item.row.start not in short

        before = items[at - 1].row
        if tall(items[at - 1]) or (isinstance(before, Line) and before.family == HEADER):
            return True
        if items[at - 1].row is None:
            return False
        while at < len(items) - 1 and items[at].row is None and not self.gap(items, at + 1):
            at += 1
        return tall(items[at])

    # ---------- lines

    def run(self, items: Sequence[_Item], at: int, short: frozenset[int], indent: int) -> int:
        """How many items from here on line up with each other; 0 if this one stands alone."""
        first = self.as_line(items[at], short)
        if first is None or not first.family or not _fits_in_a_table(first, indent):
            return 0
        end = at + 1
        while end < len(items):
            line = self.as_line(items[end], short)
            if (
                line is None
                or line.family != first.family
                or self.gap(items, end)
                or not _fits_in_a_table(line, indent)
            ):
                break
            end += 1
        return end - at

    def table(self, items: Sequence[_Item], short: frozenset[int], indent: int) -> list[str]:
        rows = [line for item in items if (line := self.as_line(item, short)) is not None]
        texts = lined_up([[flat(c) for c in row.cells] for row in rows], rows[0].gaps, indent)
        longest = max((len(t) for t, item in zip(texts, items, strict=True) if item.comment), default=0)
        return [
            " " * indent + (f"{t.ljust(longest)}  {item.comment}" if item.comment else t)
            for t, item in zip(texts, items, strict=True)
        ]

    def alone(self, item: _Item, short: frozenset[int], indent: int) -> list[str]:
        if item.row is None:
            return [" " * indent + item.comment]
        line = self.as_line(item, short)
        lines = self.block(item, indent) if line is None else _lines(line, indent)
        if item.comment:
            lines[-1] += f"  {item.comment}"
        return lines

    def block(self, item: _Item, indent: int) -> list[str]:
        block = item.row
        assert isinstance(block, Block)
        lines = broken(block.head + " {", indent)
        inner = item.inner
        if inner and self.trails(inner[0]) and not (block.rows and block.rows[0].start < inner[0].span.start):
            lines[-1] += f"  {inner[0].text}"
            inner = inner[1:]
        return [*lines, *self.body(block.rows, inner, indent + _INDENT, _holds_statements(block)), " " * indent + "}"]


def _holds_statements(block: Block) -> bool:
    return block.head.startswith("part ")


def _length(line: Line) -> int:
    return len(flat(joined(line.cells, line.gaps)))


def _fits_in_a_table(line: Line, indent: int) -> bool:
    return not line.hangs and indent + _length(line) <= WIDTH


def _lines(line: Line, indent: int) -> list[str]:
    """A row that stands alone."""
    if not line.hangs and indent + _length(line) <= WIDTH:
        return [" " * indent + flat(joined(line.cells, line.gaps))]
    if line.hangs is None:
        together = len(line.gaps) + 1
        return broken(mark(0).join((joined(line.cells[:together], line.gaps), *line.cells[together:])), indent)
    first, *rest = line.cells
    below = joined(rest, ())
    if indent + _INDENT + len(flat(below)) <= WIDTH:
        return [" " * indent + flat(first), " " * (indent + _INDENT) + flat(below)]
    return [" " * indent + flat(first), *(text for cell in rest for text in broken(cell, indent + _INDENT))]
