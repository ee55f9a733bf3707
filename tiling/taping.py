"""How true a pattern is once it is taped: what the small errors of laying sheet on sheet add up to.

The taping is the cover's: the sheets of a row from left to right, each by the two marks of its seam with the one before;
then each row, by now rigid, on what is taped already, by all the marks between them; sheets of a row that do not touch are
groups of their own. Whoever lays a sheet or a row fits it to its marks as well as he can, each mark misses by a little, and
so the sheet comes to lie a little off and a little turned.

These errors are small, so what they do to a distance is a sum of each miss times a factor. The factors are found by going
through the taping backwards, which asks for no random numbers and takes a time that grows with the sheets alone.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable

from msgspec import Struct

from tiling.form import AnyForm
from tiling.seams import BASE
from tiling.spans import longest_spans
from tiling.units import Cell, to_mm

MARK_MM = 0.15
"""How far a mark is missed in each direction, one sigma: the width of its line (common practice, no source)."""

READ_MM = 0.25
"""A rule's half millimetre, or 1/64 in and a little: a reading is within half of this either way, anywhere in it."""
_READING_SIGMA_MM = READ_MM / math.sqrt(12.0)
BAR_MM = 100.0
MEASURED_MM = (150.0, 200.0)
"""The check bar that a printer is accepted by, and the sides of the rectangle that its correction is measured on."""

PLACES = (0.25, 0.75)
"""Where the two marks of a seam usually stand, as shares of it."""

Vector = tuple[float, float, float]
"""What a distance gains when a sheet moves by 1 mm in x, by 1 mm in y, and turns by 1 radian about the datum."""


class Laid(Struct, frozen=True):
    """A run of sheets of one row, and the pairs (sheet of it, taped sheet above or below) that it is laid by."""

    run: tuple[Cell, ...]
    pairs: tuple[tuple[Cell, Cell], ...]


def taping_order(cells: Collection[Cell]) -> list[Laid]:
    """The runs in the order in which they are taped, the lowest at the left first, then the first that touches.

    Where groups of sheets hang together nowhere, the rest is left out.
    """
    waiting, taped = _runs(cells), set[Cell]()
    order: list[Laid] = []
    while waiting:
        for run in waiting:
            pairs = [((c, r), (c, r + side)) for c, r in run for side in (-1, 1) if (c, r + side) in taped]
            if pairs or not order:
                break
        else:
            return order
        waiting.remove(run)
        taped.update(run)
        order.append(Laid(run, tuple(pairs)))
    return order


def _runs(cells: Collection[Cell]) -> list[tuple[Cell, ...]]:
    runs: list[list[Cell]] = []
    for column, row in sorted(cells, key=lambda cell: (cell[1], cell[0])):
        if runs and runs[-1][-1] == (column - 1, row):
            runs[-1].append((column, row))
        else:
            runs.append([(column, row)])
    return [tuple(run) for run in runs]


class Taping:
    """The taping of a pattern's sheets, ready to be asked how far off distances will be. Lengths in mm."""

    def __init__(self, cells: Collection[Cell], form: AnyForm) -> None:
        self.order = taping_order(cells)
        self.across, self.up = (to_mm(side) for side in form.step)

    def sigma_mm(self, start: Cell, end: Cell) -> float:
        """One sigma of the distance between the proof points of two sheets, from the misses of all marks."""
        (x0, y0), (x1, y1) = self._proof_point(start), self._proof_point(end)
        length = math.hypot(x1 - x0, y1 - y0)
        along = ((x1 - x0) / length, (y1 - y0) / length) if length else (0.0, 0.0)
        gains: dict[Cell, Vector] = {}
        _add(gains, end, _gain(along, x1, y1))
        _add(gains, start, _gain((-along[0], -along[1]), x0, y0))
        return MARK_MM * math.sqrt(sum(self._undone(laid, gains) for laid in reversed(self.order)))

    def worst_mm(self) -> float:
        """The greatest sigma of the longest distances between its sheets."""
        cells = [cell for laid in self.order for cell in laid.run]
        return max((self.sigma_mm(*span) for span in longest_spans(cells)), default=0.0)

    def _proof_point(self, cell: Cell) -> tuple[float, float]:
        return cell[0] * self.across + to_mm(BASE), cell[1] * self.up + to_mm(BASE)

    def _undone(self, laid: Laid, gains: dict[Cell, Vector]) -> float:
        """Takes a run off again: the sum of the squared factors of its marks. What it owes to the sheets it was laid on
        is handed on to their gains."""
        own = {cell: gains.pop(cell, (0.0, 0.0, 0.0)) for cell in laid.run}
        total = 0.0
        if laid.pairs:
            marks = [(*self._level_mark(pair, share), *pair) for pair in laid.pairs for share in PLACES]
            whole = _sum(own.values())
            factors = _factors(whole, [(x, y) for x, y, _, _ in marks])
            for (x, y, mine, taped), (fx, fy) in zip(marks, factors, strict=True):
                total += fx * fx + fy * fy
                _add(gains, taped, _gain((fx, fy), x, y))
                _add(own, mine, _gain((-fx, -fy), x, y))
        carried: Vector = (0.0, 0.0, 0.0)
        for column, row in reversed(laid.run[1:]):
            carried = _sum((carried, own[(column, row)]))
            marks_here = [(column * self.across, (row + share) * self.up) for share in PLACES]
            total += sum(fx * fx + fy * fy for fx, fy in _factors(carried, marks_here))
        return total

    def _level_mark(self, pair: tuple[Cell, Cell], share: float) -> tuple[float, float]:
        (column, row), (_, other) = pair
        return (column + share) * self.across, max(row, other) * self.up


def _factors(gain: Vector, marks: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What a distance gains for each mm that a mark is missed by, in x and in y, when a sheet or a row that gains
    ``gain`` is fitted to the marks by least squares: it moves by the mean miss and turns about the marks' middle."""
    count = len(marks)
    x0, y0 = sum(x for x, _ in marks) / count, sum(y for _, y in marks) / count
    spread = sum((x - x0) ** 2 + (y - y0) ** 2 for x, y in marks)
    gx, gy, turn = gain
    turn -= gy * x0 - gx * y0
    return [(gx / count - turn * (y - y0) / spread, gy / count + turn * (x - x0) / spread) for x, y in marks]


def _gain(along: tuple[float, float], x: float, y: float) -> Vector:
    """Of a push ``along`` at a point (x, y)."""
    return along[0], along[1], along[1] * x - along[0] * y


def _sum(vectors: Iterable[Vector]) -> Vector:
    x = y = turn = 0.0
    for a, b, c in vectors:
        x, y, turn = x + a, y + b, turn + c
    return x, y, turn


def _add(gains: dict[Cell, Vector], cell: Cell, gain: Vector) -> None:
    gains[cell] = _sum((gains.get(cell, (0.0, 0.0, 0.0)), gain))


def printer_sigma(corrected: bool) -> float:
    """One sigma of the scale that a printer's error leaves, as a share: of a printer that was accepted by its check bar,
    or of one whose correction was measured on a rectangle.

    Each reading may be anywhere within ``READ_MM`` / 2 of the truth. Of the rectangle, two sides and two diagonals are
    fitted together; along its shorter side, the least sure, its own reading then counts two thirds and more. The reading
    alone is taken, which is a little too much.
    """
    return _READING_SIGMA_MM / (min(MEASURED_MM) if corrected else BAR_MM)
