"""Proof distances: what a rule must read from sheet to sheet once a pattern is taped.

On every sheet two base lines cross at the same place; where they cross is its proof point. From one sheet's to
another's is a whole number of steps, and a step is a whole number of the file's own divisions.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from patterns.affine import Affine
from patterns.display import Display
from patterns.measure import MM_PER_INCH
from tiling.coverfacts import PatternOnCover
from tiling.lattice import cell_name
from tiling.units import Cell

PLACING_ERROR_MM = 0.25
"""How far one sheet is off when it is laid on the next with care (common practice, no source)."""


class Proof(Struct, frozen=True):
    """A distance to measure between the proof points of two sheets of one pattern, in mm and in words.

    ``seams`` is how many sheets were laid one on the other from the first to the second.
    """

    pattern: str
    from_sheet: str
    to_sheet: str
    distance_mm: float
    text: str
    tolerance_mm: float
    tolerance_text: str
    seams: int


def proof_distances(on_cover: PatternOnCover, display: Display) -> tuple[Proof, ...]:
    """The distances along the longest row, the longest column and the longest diagonal of the taped sheets.

    Each spans as many seams as it can; a pattern on one sheet has none.
    """
    cells = [sheet.cell for sheet in on_cover.taped]
    pairs = [_longest_line(cells, across=True), _longest_line(cells, across=False), _longest_diagonal(cells)]
    return tuple(_proof(on_cover, start, end, display) for start, end in filter(None, pairs))


def division_mm(display: Display) -> float:
    """The least difference that figures are shown to, in mm."""
    return MM_PER_INCH / display.inch_fraction if display.units == "in" else display.metric_step_mm


def tolerance_mm(seams: int, display: Display) -> float:
    """How far a distance over so many seams may be off, in mm.

    Errors of single placings add up by the root of their number (common practice, no source): 0.25 mm times the root of
    the seams, rounded up to a whole division of the display, since nothing finer can be read.
    """
    division = division_mm(display)
    return max(1, math.ceil(PLACING_ERROR_MM * math.sqrt(seams) / division - 1e-9)) * division


def _proof(on_cover: PatternOnCover, start: Cell, end: Cell, display: Display) -> Proof:
    columns, rows = end[0] - start[0], end[1] - start[1]
    across, up = on_cover.lattice.form.step
    distance = _true_length(on_cover.to_drawing, columns * across, rows * up)
    seams = abs(columns) + abs(rows)
    tolerance = tolerance_mm(seams, display)
    return Proof(
        pattern=on_cover.pattern.name,
        from_sheet=cell_name(start),
        to_sheet=cell_name(end),
        distance_mm=distance,
        text=display.both(distance),
        tolerance_mm=tolerance,
        tolerance_text=display.length(tolerance),
        seams=seams,
    )


def _true_length(to_drawing: Affine, across: int, up: int) -> float:
    """What a step of the drawing (units) measures on the part, in mm: a printer's correction taken off again."""
    back = to_drawing.inverse()
    return math.hypot(back.a * across + back.c * up, back.b * across + back.d * up)


def _longest_line(cells: Iterable[Cell], across: bool) -> tuple[Cell, Cell] | None:
    """The ends of the longest row (or column); of several as long, the lowest (or the leftmost)."""
    lines: dict[int, list[int]] = {}
    for column, row in cells:
        line, along = (row, column) if across else (column, row)
        lines.setdefault(line, []).append(along)
    best = max(lines, key=lambda line: (max(lines[line]) - min(lines[line]), -line), default=None)
    if best is None or max(lines[best]) == min(lines[best]):
        return None
    low, high = min(lines[best]), max(lines[best])
    return ((low, best), (high, best)) if across else ((best, low), (best, high))


def _longest_diagonal(cells: Iterable[Cell]) -> tuple[Cell, Cell] | None:
    """Two sheets apart both ways, over as many seams as can be; of several, those evenest both ways, then the lowest.

    The farthest are always at the ends of rows.
    """
    rows: dict[int, list[int]] = {}
    for column, row in cells:
        rows.setdefault(row, []).append(column)
    ends = sorted({(pick(rows[row]), row) for row in rows for pick in (min, max)}, key=lambda cell: (cell[1], cell[0]))
    best: tuple[tuple[int, int], tuple[Cell, Cell]] | None = None
    for k, low in enumerate(ends):
        for high in ends[k + 1 :]:
            columns, up = abs(high[0] - low[0]), high[1] - low[1]
            score = (columns + up, min(columns, up))
            if min(columns, up) > 0 and (best is None or score > best[0]):
                best = score, (low, high)
    return best[1] if best else None
