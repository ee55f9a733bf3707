"""How many poster boards the taped patterns ask for."""

from __future__ import annotations

import math
from collections.abc import Iterable

from msgspec import Struct

from patterns.measure import Units

RIM_MM = 10.0
"""Paper that is left around a pattern until it is pasted on (about 3/8 in)."""


class PosterBoard(Struct, frozen=True):
    """A sheet of poster board (mm), and how a shop calls it."""

    name: str
    width_mm: float
    height_mm: float


USUAL_INCH = PosterBoard("22 × 28 in", 22 * 25.4, 28 * 25.4)
USUAL_METRIC = PosterBoard("500 × 700 mm", 500.0, 700.0)


def usual_board(units: Units) -> PosterBoard:
    """The size that shops mostly carry (common practice, no source)."""
    return USUAL_INCH if units == "in" else USUAL_METRIC


def boards_needed(patterns_mm: Iterable[tuple[float, float]], board: PosterBoard) -> int:
    """How many boards carry patterns of these widths and heights (mm), each with a rim, turned as they fit best.

    A pattern larger than a board takes several, edge to edge, to itself. The others go in rows, tallest first: a safe
    count, not the least there may be.
    """
    long, short = max(board.width_mm, board.height_mm), min(board.width_mm, board.height_mm)
    boxes = [(max(w, h) + 2 * RIM_MM, min(w, h) + 2 * RIM_MM) for w, h in patterns_mm]
    large = [box for box in boxes if box[0] > long or box[1] > short]
    small = sorted((box for box in boxes if box[0] <= long and box[1] <= short), key=lambda box: (-box[1], -box[0]))
    return sum(_several(box, long, short) for box in large) + _in_rows(small, long, short)


def _several(box: tuple[float, float], long: float, short: float) -> int:
    ways = ((long, short), (short, long))
    return min(math.ceil(box[0] / across) * math.ceil(box[1] / up) for across, up in ways)


def _in_rows(boxes: Iterable[tuple[float, float]], long: float, short: float) -> int:
    """Each box goes into the first row with room for it; a row, as tall as its first box, onto the first such board."""
    rows: list[list[float]] = []
    boards: list[float] = []
    for length, height in boxes:
        row = next((row for row in rows if row[0] + length <= long and height <= row[1]), None)
        if row is not None:
            row[0] += length
            continue
        rows.append([length, height])
        place = next((k for k, used in enumerate(boards) if used + height <= short), None)
        if place is None:
            boards.append(height)
        else:
            boards[place] += height
    return len(boards)
