"""Points along the drawing's lines, to see where there is room for marks and words."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

import numpy as np
from msgspec import Struct, field

from tiling.segments import Lines, Segments
from tiling.units import Cell, Flags, Integers, Reals, to_units

SPACING = to_units(0.5)
"""Points are at most this far apart along a line (units)."""

_NONE = np.zeros((0, 2))


def points_along(beziers: Reals | Integers, straight: Flags, spacing: float = SPACING) -> tuple[Reals, Integers]:
    """Points (m, 2) on the Béziers (n, 4, 2), ends included, and the index of the Bézier each is on."""
    polygon = np.abs(np.diff(beziers, axis=1))
    reach = np.hypot(polygon[..., 0], polygon[..., 1]).sum(axis=1)
    count = np.ceil(reach / spacing).astype(np.int64) + 1
    index = np.repeat(np.arange(len(count)), count)
    nth = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    t = (nth / np.maximum(count[index] - 1, 1))[:, None]
    points: Reals = (1.0 - t) * beziers[index, 0] + t * beziers[index, 3]
    bent = ~straight[index]
    b, t = beziers[index[bent]].astype(np.float64), t[bent]
    v = 1.0 - t
    vv, tt = v * v, t * t  # powers would take several times as long
    points[bent] = vv * v * b[:, 0] + 3 * vv * t * b[:, 1] + 3 * v * tt * b[:, 2] + tt * t * b[:, 3]
    return points, index


class InkPoints(Struct, frozen=True, eq=False):
    """Points along all lines of a drawing, in units, by the sheet whose core they lie in, and there by x."""

    points: Reals
    by_cell: dict[Cell, Reals]
    places: dict[Cell, list[float]] = field(default_factory=dict)
    """The x of the points of those sheets that were asked for."""

    @classmethod
    def of(cls, segments: Segments, phase: tuple[int, int], step: tuple[int, int]) -> InkPoints:
        """The points of the integer drawing on a lattice."""
        points, _ = points_along(segments.points, segments.straight)
        cells = np.floor((points - np.array(phase)) / np.array(step)).astype(np.int64)
        order = np.lexsort((points[:, 0], cells[:, 1], cells[:, 0]))
        points, cells = points[order], cells[order]
        breaks = np.flatnonzero((cells[1:] != cells[:-1]).any(axis=1)) + 1
        groups = np.split(points, breaks)
        firsts = cells[np.r_[0, breaks]] if len(cells) else cells
        names = [(int(c), int(r)) for c, r in firsts]
        return cls(points, dict(zip(names, groups, strict=False)))

    def near(self, cell: Cell) -> Reals:
        """The points in a sheet's core, shape (m, 2)."""
        return self.by_cell.get(cell, _NONE)

    def between(self, cell: Cell, low: float, high: float) -> Reals:
        """The y of those of them that lie between x = ``low`` and x = ``high``."""
        if cell not in self.places:
            self.places[cell] = self.near(cell)[:, 0].tolist()
        places = self.places[cell]
        return self.near(cell)[bisect_right(places, low) : bisect_left(places, high), 1]


def sampled(lines: Lines, most: int = 800) -> tuple[Reals, Integers, float]:
    """About ``most`` points along unrounded lines, the index of the line each is on, and their distance (units): for
    choosing a layout."""
    polygon = np.abs(np.diff(lines.beziers, axis=1))
    total = float(np.hypot(polygon[..., 0], polygon[..., 1]).sum())
    spacing = max(to_units(1.0), total / most)
    return *points_along(lines.beziers, lines.straight, spacing), spacing
