"""Finding room for words on the sheets: whole on one sheet, clear of lines, marks and one another."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from msgspec import Struct, field

from tiling.frame import PROOF_RADIUS
from tiling.inkpoints import InkPoints
from tiling.lattice import Lattice
from tiling.seams import BASE, Seams, mark_arm
from tiling.units import Cell, Flags, Integers, Reals, to_units

Box = tuple[float, float, float, float]
"""(x0, y0, x1, y1) in draw units."""

AIR = to_units(0.8)
"""Words stay this far from lines and from one another."""


GRID = to_units(1.0)
"""Ink is counted by squares of this side."""


class Room(Struct, frozen=True, eq=False):
    """What is taken on each sheet. ``take`` adds to it; nothing is ever given back."""

    lattice: Lattice
    ink: InkPoints
    seams: Seams | None
    """None on a shared sheet: a slot has neither seams nor base lines."""
    taken: dict[Cell, list[Box]] = field(default_factory=dict)
    counts: dict[Cell, Integers] = field(default_factory=dict)
    """For each sheet, how many points of ink lie to the left of and below each corner of a grid over its core."""

    def boxes(self, cell: Cell) -> list[Box]:
        """The boxes taken on a sheet: at first the marks, the base lines and the proof point."""
        if cell not in self.taken:
            marks = _mark_boxes(self.lattice, self.seams, cell) if self.seams else []
            self.taken[cell] = [*marks, *_base_boxes(self.lattice, cell)] if self.seams else []
        return self.taken[cell]

    def take(self, cell: Cell, box: Box) -> None:
        """Nothing else will stand there."""
        self.boxes(cell).append(box)

    def crowd(self, cell: Cell, x: float, y: float, width: float, height: float) -> float:
        """How crowded a box of this size would be at a centre (x, y): 0 is free, inf is not whole in the core.

        Other figures are the number of ink points in the box and of boxes that it meets, each counted as 1000.
        """
        half_x, half_y = width / 2 + AIR, height / 2 + AIR
        box = x - half_x, y - half_y, x + half_x, y + half_y
        x0, y0, x1, y1 = self.lattice.core(cell)
        if not (box[0] >= x0 and box[1] >= y0 and box[2] <= x1 and box[3] <= y1):
            return math.inf
        met = sum(box[0] < c and box[1] < d and box[2] > a and box[3] > b for a, b, c, d in self.boxes(cell))
        return 1000.0 * met + float(self._ink_of(cell, box).sum())

    def free_places(self, cell: Cell, centres: Iterable[Sequence[float]], width: float, height: float) -> Iterator[int]:
        """The numbers of the centres (x, y) where nothing would be counted, each found when it is asked for."""
        half_x, half_y = width / 2 + AIR, height / 2 + AIR
        x0, y0, x1, y1 = self.lattice.core(cell)
        boxes = self.boxes(cell)
        for k, (x, y) in enumerate(centres):
            low_x, low_y, high_x, high_y = x - half_x, y - half_y, x + half_x, y + half_y
            if low_x < x0 or low_y < y0 or high_x > x1 or high_y > y1:
                continue
            for a, b, c, d in boxes:
                if low_x < c and low_y < d and high_x > a and high_y > b:
                    break
            else:
                if not self._ink_of(cell, (low_x, low_y, high_x, high_y)).any():
                    yield k

    def is_free_at(self, cell: Cell, x: float, y: float, width: float, height: float) -> bool:
        """Whether nothing would be counted there."""
        return next(self.free_places(cell, [(x, y)], width, height), None) is not None

    def _ink_of(self, cell: Cell, box: Box) -> Flags:
        """Which of the points of ink that lie as far across as the box lie in it."""
        y = self.ink.between(cell, box[0], box[2])
        result: Flags = (y > box[1]) & (y < box[3])
        return result

    def is_free(self, cell: Cell, centres: Reals, width: float, height: float) -> Flags:
        """What ``is_free_at`` says of each of the centres (m, 2), in a fraction of the time where there are many.

        A coarse count settles most of them; only the rest are looked at point by point.
        """
        half = np.array([width / 2 + AIR, height / 2 + AIR])
        x0, y0, x1, y1 = self.lattice.core(cell)
        result: Flags = ((centres - half >= (x0, y0)) & (centres + half <= (x1, y1))).all(axis=1)
        low, high = centres[result] - half, centres[result] + half
        boxes = np.array(self.boxes(cell)).reshape(-1, 4)
        clear = ~((low[:, None] < boxes[:, 2:]) & (high[:, None] > boxes[:, :2])).all(axis=2).any(axis=1)
        first, last = ((at - (x0, y0)) // GRID for at in (low, high))
        clear &= self._ink_in(cell, first + 1, last - 1) == 0
        unsure = clear & (self._ink_in(cell, first, last) > 0)
        index, some = np.flatnonzero(unsure), centres[result][unsure].tolist()
        clear[unsure] = False
        clear[index[list(self.free_places(cell, some, width, height))]] = True
        result[result] = clear
        return result

    def _ink_in(self, cell: Cell, first: Reals, last: Reals) -> Integers:
        """How many points of ink lie in the grid's squares from ``first`` to ``last`` (m, 2), both included."""
        if cell not in self.counts:
            self.counts[cell] = _counted(self.ink.near(cell), self.lattice.core(cell))
        counts = self.counts[cell]
        most = np.array(counts.shape) - 1
        (a, b), (c, d) = (np.clip(at, 0, most).astype(np.int64).T for at in (first, np.maximum(last + 1, first)))
        result: Integers = counts[c, d] - counts[a, d] - counts[c, b] + counts[a, b]
        return result

    def first_free(self, cell: Cell, centres: Reals, width: float, height: float) -> int | None:
        """Which of the centres (m, 2) is the first that is free; None where none is."""
        return next(self.free_places(cell, centres.tolist(), width, height), None)

    def least_crowded(self, cell: Cell, centres: Reals, width: float, height: float) -> int:
        """Which of at least one is the first of the least crowded."""
        crowds = [self.crowd(cell, x, y, width, height) for x, y in centres.tolist()]
        return crowds.index(min(crowds))


def _counted(points: Reals, core: tuple[int, int, int, int]) -> Integers:
    x0, y0, x1, y1 = core
    across, up = (x1 - x0) // GRID + 1, (y1 - y0) // GRID + 1
    # A point on the core's very edge may be off it by a rounding.
    column, row = np.clip((points - (x0, y0)) // GRID, 0, (across - 1, up - 1)).astype(np.int64).T
    counts = np.zeros((across + 1, up + 1), dtype=np.int64)
    counts[1:, 1:] = np.bincount(column * up + row, minlength=across * up).reshape(across, up)
    return counts.cumsum(axis=0).cumsum(axis=1)


def around(centre: Iterable[float], shifts: Reals) -> Reals:
    """The centres to try round a wished-for one, nearest first, in whole units."""
    result: Reals = np.rint(np.array(tuple(centre)) + shifts)
    return result


def ring_shifts() -> Reals:
    """The wished-for place, then eight directions at growing distances up to 24 mm (units), always in the same order."""
    eight = [(0, 1), (0, -1), (1, 0), (-1, 0), (1, 1), (-1, 1), (1, -1), (-1, -1)]
    distances = (1.5, 3.0, 4.5, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 24.0)
    rings = [(dx * d, dy * d) for d in distances for dx, dy in eight]
    return np.array([(0.0, 0.0), *rings]) * to_units(1.0)


def _mark_boxes(lattice: Lattice, seams: Seams, cell: Cell) -> list[Box]:
    """The registration marks of the sheet's four seams."""
    arm = mark_arm(lattice)
    x0, y0, x1, y1 = lattice.core(cell)
    boxes: list[Box] = []
    for side, (_, marks) in seams.of_sheet(cell).items():
        for along in marks.marks:
            x = {"left": x0, "right": x1}.get(side, x0 + along)
            y = {"bottom": y0, "top": y1}.get(side, y0 + along)
            boxes.append((x - arm, y - arm, x + arm, y + arm))
    return boxes


def _base_boxes(lattice: Lattice, cell: Cell) -> list[Box]:
    x0, y0, x1, y1 = lattice.core(cell)
    x, y, r = x0 + BASE, y0 + BASE, PROOF_RADIUS
    return [(x, y0, x, y1), (x0, y, x1, y), (x - r, y - r, x + r, y + r)]
