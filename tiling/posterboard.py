"""How many poster boards the taped patterns ask for."""

from __future__ import annotations

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

    A pattern larger than a board is spliced from pieces, edge to edge. All pieces go in rows, tallest first: a safe
    count, not the least there may be.
    """
    long, short = max(board.width_mm, board.height_mm), min(board.width_mm, board.height_mm)
    boxes = [(max(w, h) + 2 * RIM_MM, min(w, h) + 2 * RIM_MM) for w, h in patterns_mm]
    pieces = [piece for box in boxes for piece in _spliced(box, long, short)]
    return _in_rows(sorted(pieces, key=lambda box: (-box[1], -box[0])), long, short)


def needs_splicing(pattern_mm: tuple[float, float], board: PosterBoard) -> bool:
    """Whether a pattern is larger than a board."""
    long, short = max(board.width_mm, board.height_mm), min(board.width_mm, board.height_mm)
    return max(pattern_mm) + 2 * RIM_MM > long or min(pattern_mm) + 2 * RIM_MM > short


def _spliced(box: tuple[float, float], long: float, short: float) -> list[tuple[float, float]]:
    """The pieces of a box: strips as long as a board, and a rest; each turned so that its longer side comes first."""
    lengths = [long] * int(box[0] // long) + [box[0] % long]
    heights = [short] * int(box[1] // short) + [box[1] % short]
    return [(max(w, h), min(w, h)) for w in lengths for h in heights if w > 0.0 and h > 0.0]


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
