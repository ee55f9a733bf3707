"""A small flow layout for pages of words: headings, paragraphs, tables and pictures, in columns, over page breaks.

Everything here is in millimetres, y counted up from the foot of the page; only drawing turns it into draw units.
What is laid out is a ``Block``: it knows its height, and draws itself where it is told to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from tiling.content import NARROW, Content
from tiling.units import to_units
from tiling.wrap import text_mm, wrapped

BODY_MM = 2.3
"""Height of a capital in running text: about 9 point."""
HEADING_MM = 3.4
TITLE_MM = 5.2

LEADING = 1.72
"""From one base line to the next, over the height of a capital."""
ABOVE = 1.3
"""From the top of a line to its base line, over the height of a capital: room for an accent on it."""

COLUMN_GAP_MM = 8.0
CELL_GAP_MM = 3.5

Draw = Callable[[Content, float, float], None]
"""Draws on a page with the upper left corner at (x, y), in mm from the page's lower left corner."""


class Block(Struct, frozen=True):
    """Something to lay out that is not broken: its height, and the space above it (dropped at the top of a column).

    ``keeps_next`` holds it together with the block after it. ``pieces`` are what it may be broken into where it is
    taller than a whole column; together they are as tall as it is.
    """

    height: float
    draw: Draw
    before: float = 0.0
    keeps_next: bool = False
    pieces: tuple[Block, ...] = ()


class Frame(Struct, frozen=True):
    """The part of a page that holds words, in mm from the page's lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def top(self) -> float:
        """The height of its upper edge."""
        return self.bottom + self.height

    def column_width(self, columns: int) -> float:
        """The width of one of so many columns."""
        return (self.width - COLUMN_GAP_MM * (columns - 1)) / columns


# -------------------------------------------------------------------- blocks


@lru_cache(maxsize=2048)  # a watch lays out the same words after every save
def paragraph(
    text: str, width: float, *, height: float = BODY_MM, before: float = 1.2, lead: str = "", keeps_next: bool = False
) -> Block:
    """Running text, wrapped to ``width``; ``lead`` ("1.") stands before it and the text is indented past it."""
    indent = text_mm(f"{lead} ", height) + 0.6 if lead else 0.0
    indent = min(indent, width / 2)
    lines = wrapped(text, width - indent, height)
    blocks = [_line(line, height, indent, "" if k else lead) for k, line in enumerate(lines)]
    return stacked(blocks, before=before, keeps_next=keeps_next)


def heading(text: str, width: float, *, height: float = HEADING_MM, before: float = 4.5) -> Block:
    """A heading over a thin rule; it stays with what follows."""
    words = paragraph(text, width, height=height, before=0.0)

    def draw(page: Content, x: float, y: float) -> None:
        words.draw(page, x, y)
        rule(page, x, y - words.height - 0.2, width)

    return Block(words.height + 1.2, draw, before, keeps_next=True)


def stacked(blocks: Sequence[Block], *, before: float = 0.0, keeps_next: bool = False) -> Block:
    """Several blocks as one, in a column; they are broken apart only where they are taller than a page."""
    blocks = [replace(block, before=block.before if k else 0.0) for k, block in enumerate(blocks)]
    height = sum(block.height + block.before for block in blocks)

    def draw(page: Content, x: float, y: float) -> None:
        for block in blocks:
            y -= block.before
            block.draw(page, x, y)
            y -= block.height

    return Block(height, draw, before, keeps_next, tuple(blocks))


def beside(blocks: Sequence[tuple[float, Block]], *, before: float = 0.0) -> Block:
    """Several blocks in a row, each at its offset (mm) from the left."""
    height = max((block.height for _, block in blocks), default=0.0)

    def draw(page: Content, x: float, y: float) -> None:
        for offset, block in blocks:
            block.draw(page, x + offset, y)

    return Block(height, draw, before)


def table(
    rows: Sequence[Sequence[str]], width: float, *, header: Sequence[str] = (), before: float = 1.0
) -> list[Block]:
    """A table as wide as it needs to be, ``width`` at the most: a block a row, and its header with a rule under it."""
    every = [header, *rows] if header else list(rows)
    if not every:
        return []
    widths = _column_widths(every, width)
    starts = [sum(widths[:k]) + CELL_GAP_MM * k for k in range(len(widths))]
    blocks = [_row(row, widths, starts) for row in rows]
    if header:
        blocks.insert(0, _underlined(_row(header, widths, starts), sum(widths) + CELL_GAP_MM * (len(widths) - 1)))
    return [replace(blocks[0], before=before), *blocks[1:]]


def rule(page: Content, x: float, y: float, width: float) -> None:
    """A thin level line."""
    page.width(NARROW)
    page.line(to_units(x), to_units(y), to_units(x + width), to_units(y))


def _line(text: str, height: float, indent: float, lead: str) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        base = to_units(y - ABOVE * height)
        if lead:
            page.text(to_units(x), base, lead, height)
        if text:
            page.text(to_units(x + indent), base, text, height)

    return Block(LEADING * height, draw)


def _row(row: Sequence[str], widths: Sequence[float], starts: Sequence[float]) -> Block:
    cells = [paragraph(text, width, before=0.0) for text, width in zip(row, widths, strict=True)]
    block = beside(list(zip(starts, cells, strict=True)), before=0.5)
    # A row taller than a page is broken line by line, across all its cells.
    depth = max(len(cell.pieces) for cell in cells)
    lines = [
        beside([(at, cell.pieces[k]) for at, cell in zip(starts, cells, strict=True) if k < len(cell.pieces)])
        for k in range(depth)
    ]
    return Block(block.height, block.draw, block.before, pieces=tuple(lines))


def _underlined(row: Block, width: float) -> Block:
    def draw(page: Content, x: float, y: float) -> None:
        row.draw(page, x, y)
        rule(page, x, y - row.height, width)

    return Block(row.height + 0.6, draw, row.before, keeps_next=True)


def _column_widths(rows: Sequence[Sequence[str]], width: float) -> list[float]:
    """Each column as wide as its widest text, or, where that is too much, the wide ones share what the others leave."""
    wanted = [max(text_mm(row[k], BODY_MM) for row in rows) + 0.1 for k in range(len(rows[0]))]
    room = width - CELL_GAP_MM * (len(wanted) - 1)
    given = [0.0] * len(wanted)
    for count, k in enumerate(sorted(range(len(wanted)), key=lambda k: wanted[k])):
        given[k] = min(wanted[k], (room - sum(given)) / (len(wanted) - count))
    return given


# -------------------------------------------------------------------- pages


class Pages:
    """Pages being filled from the top; a new one is begun where the next block does not fit."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.contents: list[Content] = [Content()]
        self.y = frame.top

    @property
    def room(self) -> float:
        """What is left of this page, in mm."""
        return self.y - self.frame.bottom

    def new_page(self) -> None:
        """Begins a page."""
        self.contents.append(Content())
        self.y = self.frame.top

    def place(self, blocks: Iterable[Block], columns: int = 1, *, head: Block | None = None) -> None:
        """Lays the blocks out below what is there, in so many columns of equal width, as even in height as may be.

        With a ``head``, over all columns, everything goes on a new page where it does not fit on this one.
        """
        runs = _runs(_broken(blocks, self.frame.height))
        if head:
            room = self.room - head.before - head.height - runs[0][0].before
            if not _balanced(runs, columns, room) and self.y < self.frame.top:
                self.new_page()
            self.place([head])
        while runs:
            self.y -= runs[0][0].before if self.y < self.frame.top else 0.0
            taken = _balanced(runs, columns, self.room) or _filled(runs, columns, self.room)
            if not taken and self.y < self.frame.top:
                self.new_page()
                continue
            # A run that is taller than an empty page has nowhere better to go.
            self._draw(taken or [runs[:1]], columns)
            runs = runs[sum(len(column) for column in taken) or 1 :]
            if runs:
                self.new_page()

    def place_beside(self, blocks: Sequence[Block], indent: float) -> None:
        """Lays as one run, ``indent`` mm in from the left, what must stand on this page."""
        y = self.y
        for block in blocks:
            y -= block.before
            block.draw(self.contents[-1], self.frame.left + indent, y)
            y -= block.height
        self.y = y

    def _draw(self, placed: Sequence[Sequence[list[Block]]], columns: int) -> None:
        lowest = self.y
        for k, column in enumerate(placed):
            x = self.frame.left + k * (self.frame.column_width(columns) + COLUMN_GAP_MM)
            y = self.y
            for number, block in enumerate(block for run in column for block in run):
                y -= block.before if number else 0.0
                block.draw(self.contents[-1], x, y)
                y -= block.height
            lowest = min(lowest, y)
        self.y = lowest


def _broken(blocks: Iterable[Block], page: float) -> list[Block]:
    """The blocks, with those that are taller than a page replaced by their pieces."""
    result: list[Block] = []
    for block in blocks:
        if block.height > page and block.pieces:
            result += _broken(block.pieces, page)
        else:
            result.append(block)
    return result


def _runs(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks that stay together."""
    runs: list[list[Block]] = []
    for before, block in pairwise([None, *blocks]):
        if block is None:
            continue
        if before is not None and before.keeps_next:
            runs[-1].append(block)
        else:
            runs.append([block])
    return runs


def _height(run: Sequence[Block]) -> float:
    return sum(block.height + block.before for block in run)


def _filled(runs: Sequence[list[Block]], columns: int, height: float) -> list[list[list[Block]]]:
    """As many runs as go into the columns one after the other, none higher than ``height``; empty if not one does.

    The space above a column's first block falls away.
    """
    placed: list[list[list[Block]]] = []
    rest = list(runs)
    for _ in range(columns):
        column: list[list[Block]] = []
        used = -rest[0][0].before if rest else 0.0
        while rest and used + _height(rest[0]) <= height + 1e-9:
            used += _height(rest[0])
            column.append(rest.pop(0))
        if column:
            placed.append(column)
    return placed


def _balanced(runs: Sequence[list[Block]], columns: int, room: float) -> list[list[list[Block]]]:
    """All the runs in the lowest columns that hold them; empty if they do not fit in the room that is left."""
    height = sum(_height(run) for run in runs) / columns
    while height <= room:
        placed = _filled(runs, columns, height)
        if sum(len(column) for column in placed) == len(runs):
            return placed
        height += 1.0
    placed = _filled(runs, columns, room)
    return placed if sum(len(column) for column in placed) == len(runs) else []
