"""Where on a drawing there is room for a line of text: clear of every stroke and of the words placed before."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from patterns.affine import Points
from patterns.curve import Curve

SPACING_MM = 1.5
"""Strokes are looked at in points this far apart, so that none slips through a box as low as a figure."""

AIR_MM = 0.8
"""Left clear round a text."""

CELL_MM = 25.0
"""Points are kept by squares of this side, so that a box is held against those near it alone."""

Point = tuple[float, float]


class FreeSpace:
    """Points of what has been drawn; asked how many of them a box would cover."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Points]] = {}

    def take(self, curve: Curve) -> None:
        """Marks a stroke as drawn."""
        counts = np.maximum(2, np.ceil(_spans(curve) / SPACING_MM)).astype(np.int64)
        t = np.concatenate([k + np.arange(n) / n for k, n in enumerate(counts)])
        self._add(np.vstack([curve.point(t), curve.end[None]]))

    def take_box(self, centre: Point, width: float, height: float, angle: float) -> None:
        """Marks a box (mm, turned by ``angle`` radians about its middle) as covered with words."""
        columns, rows = (max(2, math.ceil(size / SPACING_MM) + 1) for size in (width, height))
        grid = np.meshgrid(np.linspace(-width / 2, width / 2, columns), np.linspace(-height / 2, height / 2, rows))
        local = np.stack(grid, axis=-1).reshape(-1, 2)
        cos, sin = math.cos(angle), math.sin(angle)
        self._add(np.array(centre) + local @ np.array([[cos, sin], [-sin, cos]]))

    def covered(self, centre: Point, width: float, height: float, angle: float = 0.0) -> int:
        """How many points a box and the air round it would cover."""
        half_width, half_height = width / 2 + AIR_MM, height / 2 + AIR_MM
        cos, sin = math.cos(angle), math.sin(angle)
        reach = (half_width * abs(cos) + half_height * abs(sin), half_width * abs(sin) + half_height * abs(cos))
        points = self._near(centre, reach)
        if not len(points):
            return 0
        dx, dy = (points - np.array(centre)).T
        along, across = dx * cos + dy * sin, dy * cos - dx * sin
        return int(((np.abs(along) < half_width) & (np.abs(across) < half_height)).sum())

    def first_free(
        self, places: Iterable[tuple[Point, float]], width: float, height: float
    ) -> tuple[Point, float] | None:
        """The first of the places (middle, angle) where a box covers nothing, or None."""
        return next(((at, angle) for at, angle in places if not self.covered(at, width, height, angle)), None)

    def freest(self, places: Iterable[tuple[Point, float]], width: float, height: float) -> tuple[Point, float]:
        """The place where a box covers least; the first of equals."""
        return min(places, key=lambda place: self.covered(place[0], width, height, place[1]))

    def _add(self, points: Points) -> None:
        cells = np.floor(points / CELL_MM).astype(np.int64)
        order = np.lexsort(cells.T)
        cells, points = cells[order], points[order]
        breaks = np.flatnonzero((cells[1:] != cells[:-1]).any(axis=1)) + 1
        for (x, y), group in zip(cells[np.r_[0, breaks]].tolist(), np.split(points, breaks), strict=True):
            self._cells.setdefault((x, y), []).append(group)

    def _near(self, centre: Point, reach: Point) -> Points:
        """The points of all squares that a box of half the width and height ``reach`` lies on."""
        columns, rows = (
            range(math.floor((at - far) / CELL_MM), math.floor((at + far) / CELL_MM) + 1)
            for at, far in zip(centre, reach, strict=True)
        )
        found = []
        for cell in ((x, y) for x in columns for y in rows):
            groups = self._cells.get(cell)
            if groups is None:
                continue
            if len(groups) > 1:
                groups[:] = [np.concatenate(groups)]
            found += groups
        return np.concatenate(found) if found else np.zeros((0, 2))


def _spans(curve: Curve) -> Points:
    """The length of each Bézier's control polygon (mm), which is never shorter than the Bézier."""
    steps = np.diff(curve.beziers, axis=1)
    result: Points = np.hypot(steps[..., 0], steps[..., 1]).sum(axis=1)
    return result
