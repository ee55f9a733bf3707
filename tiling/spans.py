"""The longest distances between taped sheets: along a row, along a column, and across both."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import accumulate

from tiling.units import Cell

Span = tuple[Cell, Cell]


def longest_spans(cells: Collection[Cell]) -> list[Span]:
    """The pairs of sheets at the ends of the longest row, the longest column and the longest diagonal.

    Each spans as many seams as it can; a pattern on one sheet has none.
    """
    found = [_longest_line(cells, across=True), _longest_line(cells, across=False), _longest_diagonal(cells)]
    return [span for span in found if span is not None]


def _longest_line(cells: Iterable[Cell], across: bool) -> Span | None:
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


def _longest_diagonal(cells: Collection[Cell]) -> Span | None:
    """Two sheets apart both ways, over as many seams as can be; of several, those evenest both ways, then the lowest.

    The farthest are always at the ends of rows.
    """
    rows: dict[int, list[int]] = {}
    for column, row in cells:
        rows.setdefault(row, []).append(column)
    ends = sorted({(pick(rows[row]), row) for row in rows for pick in (min, max)}, key=lambda cell: (cell[1], cell[0]))
    if len({column for column, _ in cells}) < 2:
        return None
    rising = list(accumulate((column + row for column, row in reversed(ends)), max))[::-1]
    falling = list(accumulate((row - column for column, row in reversed(ends)), max))[::-1]
    best: tuple[tuple[int, int], Span] | None = None
    for k, low in enumerate(ends):
        most = max(rising[k] - low[0] - low[1], falling[k] - low[1] + low[0])
        if best is not None and most < best[0][0]:
            continue  # nothing above is farther than what was found
        for high in ends[k + 1 :]:
            columns, up = abs(high[0] - low[0]), high[1] - low[1]
            score = (columns + up, min(columns, up))
            if min(columns, up) > 0 and (best is None or score > best[0]):
                best = score, (low, high)
    return best[1] if best else None
