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
from functools import lru_cache
from heapq import heappop, heappush

from msgspec import Struct

from tiling.form import AnyForm
from tiling.lattice import Lattice
from tiling.printer import READ_TO_MM, Printer
from tiling.seams import BASE, Seam, Seams
from tiling.spans import longest_spans
from tiling.units import Cell, to_mm

MARK_MM = 0.15
"""How far a mark is missed in each direction, one sigma: the width of its line (common practice, no source)."""

BAR_MM = 100.0
"""The check bar that a printer is accepted by."""

Point = tuple[float, float]
Vector = tuple[float, float, float]
"""What a distance gains when a sheet moves by 1 mm in x, by 1 mm in y, and turns by 1 radian about the datum."""

NOTHING: Vector = (0.0, 0.0, 0.0)


class Laid(Struct, frozen=True):
    """A run of sheets of one row, and the pairs (sheet of it, taped sheet above or below) that it is laid by."""

    run: tuple[Cell, ...]
    pairs: tuple[tuple[Cell, Cell], ...]


def taping_order(cells: Collection[Cell]) -> list[Laid]:
    """The runs in the order in which they are taped, the lowest at the left first, then the first that touches.

    Where groups of sheets hang together nowhere, the rest is left out.
    """
    runs = _runs(cells)
    run_of = {cell: k for k, run in enumerate(runs) for cell in run}
    taped, order = set[Cell](), list[Laid]()
    known, touching = {0}, [0] if runs else []
    while touching:
        run = runs[heappop(touching)]
        beside = [((c, r), (c, r + side)) for c, r in run for side in (-1, 1)]
        order.append(Laid(run, tuple(pair for pair in beside if pair[1] in taped)))
        taped.update(run)
        for k in {run_of[other] for _, other in beside if other in run_of} - known:
            known.add(k)
            heappush(touching, k)
    return order


def _runs(cells: Collection[Cell]) -> list[tuple[Cell, ...]]:
    runs: list[list[Cell]] = []
    for column, row in sorted(cells, key=lambda cell: (cell[1], cell[0])):
        if runs and runs[-1][-1] == (column - 1, row):
            runs[-1].append((column, row))
        else:
            runs.append([(column, row)])
    return [tuple(run) for run in runs]


class Fit(Struct, frozen=True):
    """Marks (mm) that a sheet or a row is fitted to by least squares: it moves by their mean miss and turns about their
    middle. ``spread`` is the sum of the squares of their distances from there (mm²)."""

    marks: tuple[Point, ...]
    middle: Point
    spread: float

    @classmethod
    def to(cls, marks: Iterable[Point]) -> Fit:
        """Of at least two marks at different places."""
        marks = tuple(marks)
        x0, y0 = (sum(values) / len(marks) for values in zip(*marks, strict=True))
        return cls(marks, (x0, y0), sum((x - x0) ** 2 + (y - y0) ** 2 for x, y in marks))

    def squares(self, gain: Vector) -> float:
        """The sum of the squares of ``factors``."""
        return (gain[0] ** 2 + gain[1] ** 2) / len(self.marks) + self._turn(gain) ** 2 / self.spread

    def factors(self, gain: Vector) -> list[Point]:
        """What a distance gains for each mm that a mark is missed by, in x and in y, when what is fitted gains ``gain``."""
        (x0, y0), count, turn = self.middle, len(self.marks), self._turn(gain) / self.spread
        return [(gain[0] / count - turn * (y - y0), gain[1] / count + turn * (x - x0)) for x, y in self.marks]

    def _turn(self, gain: Vector) -> float:
        """What the distance gains by a turn about the middle."""
        return gain[2] - gain[1] * self.middle[0] + gain[0] * self.middle[1]


class _Step(Struct, frozen=True):
    """A run with the fits that it is taped by: each sheet's to the one before, and the whole run's to what lies there."""

    laid: Laid
    upright: tuple[Fit, ...]
    level: Fit | None


class Taping:
    """The taping of a pattern's sheets, ready to be asked how far off distances will be. Lengths in mm.

    Without ``seams`` the marks are where they stand on seams that no line comes near to.
    """

    def __init__(self, cells: Collection[Cell], form: AnyForm, seams: Seams | None = None) -> None:
        self.across, self.up = (to_mm(side) for side in form.step)
        self._seams = _clear_of_lines(form) if seams is None else seams
        self._steps = [self._step(laid) for laid in taping_order(cells)]

    def sigma_mm(self, start: Cell, end: Cell) -> float:
        """One sigma of the distance between the proof points of two sheets, from the misses of all marks."""
        (x0, y0), (x1, y1) = self._proof_point(start), self._proof_point(end)
        length = math.hypot(x1 - x0, y1 - y0)
        along = ((x1 - x0) / length, (y1 - y0) / length) if length else (0.0, 0.0)
        gains: dict[Cell, Vector] = {}
        _add(gains, end, _gain(along, x1, y1))
        _add(gains, start, _gain((-along[0], -along[1]), x0, y0))
        return MARK_MM * math.sqrt(sum(_undone(step, gains) for step in reversed(self._steps)))

    def worst_mm(self) -> float:
        """The greatest sigma of the longest distances between its sheets."""
        cells = [cell for step in self._steps for cell in step.laid.run]
        return max((self.sigma_mm(*span) for span in longest_spans(cells)), default=0.0)

    def _proof_point(self, cell: Cell) -> Point:
        return cell[0] * self.across + to_mm(BASE), cell[1] * self.up + to_mm(BASE)

    def _step(self, laid: Laid) -> _Step:
        upright = tuple(Fit.to(self._marks((0, column, row))) for column, row in laid.run[1:])
        seams = [(1, max(row, other), column) for (column, row), (_, other) in laid.pairs]
        return _Step(laid, upright, Fit.to(m for seam in seams for m in self._marks(seam)) if seams else None)

    def _marks(self, seam: Seam) -> list[Point]:
        """Where the two registration marks of a seam stand."""
        axis, line, place = seam
        along = [to_mm(mark) for mark in self._seams.at(seam).marks]
        if axis == 0:
            return [(line * self.across, place * self.up + mark) for mark in along]
        return [(place * self.across + mark, line * self.up) for mark in along]


@lru_cache(maxsize=8)
def _clear_of_lines(form: AnyForm) -> Seams:
    """Seams that no line comes near to."""
    return Seams(Lattice(form, (0, 0)))


def _undone(step: _Step, gains: dict[Cell, Vector]) -> float:
    """Takes a run off again: the sum of the squared factors of its marks. What it owes to the sheets it was laid on is
    handed on to their gains."""
    own = {cell: gains.pop(cell) for cell in step.laid.run if cell in gains}
    if not own:
        return 0.0
    total = 0.0
    if step.level is not None:
        whole = _sum(own.values())
        total += step.level.squares(whole)
        for k, ((x, y), (fx, fy)) in enumerate(zip(step.level.marks, step.level.factors(whole), strict=True)):
            mine, taped = step.laid.pairs[k // 2]
            _add(gains, taped, _gain((fx, fy), x, y))
            _add(own, mine, _gain((-fx, -fy), x, y))
    carried = NOTHING
    for cell, fit in zip(reversed(step.laid.run), reversed(step.upright), strict=False):
        carried = _sum((carried, own.get(cell, NOTHING)))
        total += fit.squares(carried)
    return total


def _gain(along: Point, x: float, y: float) -> Vector:
    """Of a push ``along`` at a point (x, y)."""
    return along[0], along[1], along[1] * x - along[0] * y


def _sum(vectors: Iterable[Vector]) -> Vector:
    x = y = turn = 0.0
    for a, b, c in vectors:
        x, y, turn = x + a, y + b, turn + c
    return x, y, turn


def _add(gains: dict[Cell, Vector], cell: Cell, gain: Vector) -> None:
    x, y, turn = gains.get(cell, NOTHING)
    gains[cell] = (x + gain[0], y + gain[1], turn + gain[2])


def scale_sigma(printer: Printer) -> float:
    """One sigma of the scale that a printer's error leaves, as a share of the length.

    A correction says how well it was measured. A printer without one was accepted by its check bar, whose reading may be
    anywhere within ``READ_TO_MM`` / 2 of the truth.
    """
    return printer.scale_error or READ_TO_MM / math.sqrt(12.0) / BAR_MM
