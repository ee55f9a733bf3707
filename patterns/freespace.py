"""Where on a drawing there is room for a line of text: clear of every stroke and of the words placed before."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np

from patterns.affine import Points
from patterns.beziers import points_at
from patterns.curve import Curve

SPACING_MM = 1.5
"""Strokes are looked at in points this far apart, so that none slips through a box as low as a figure."""

AIR_MM = 0.8
"""Left clear round a text."""

CELL_MM = 25.0
"""Points are kept by squares of this side, so that a box is held against those near it alone."""

COLUMN = 1 << 32
"""Squares are numbered: their column times this, and their row."""

MOST_RECENT = 400
"""So many points are not worth sorting into squares: they are looked at whichever the box."""

Point = tuple[float, float]


class FreeSpace:
    """Points of what has been drawn; asked how many of them a box would cover.

    What is drawn is only noted. It is cut into points when it is next asked about, all at once: mostly a dozen strokes
    lie between two questions.
    """

    def __init__(self) -> None:
        self._cells: dict[int, list[Points]] = {}
        self._recent = np.zeros((0, 2))
        self._strokes: list[Curve] = []
        self._points: list[Points] = []

    def take(self, curve: Curve) -> None:
        """Marks a stroke as drawn."""
        self._strokes.append(curve)

    def take_line(self, start: Point, end: Point) -> None:
        """Marks a straight stroke as drawn."""
        count = max(2, math.ceil(math.dist(start, end) / SPACING_MM))
        way = np.array(end) - start
        self._points.append(start + way * (np.arange(count + 1) / count)[:, None])

    def take_box(self, centre: Point, width: float, height: float, angle: float) -> None:
        """Marks a box (mm, turned by ``angle`` radians about its middle) as covered with words."""
        along, across = _spaced(width), _spaced(height)[:, None]
        cos, sin = math.cos(angle), math.sin(angle)
        points = np.empty((len(across), len(along), 2))
        points[..., 0] = centre[0] + (along * cos - across * sin)
        points[..., 1] = centre[1] + (along * sin + across * cos)
        self._points.append(points.reshape(-1, 2))

    def covered(self, centre: Point, width: float, height: float, angle: float = 0.0) -> int:
        """How many points a box and the air round it would cover."""
        half_width, half_height = width / 2 + AIR_MM, height / 2 + AIR_MM
        cos, sin = math.cos(angle), math.sin(angle)
        reach = (half_width * abs(cos) + half_height * abs(sin), half_width * abs(sin) + half_height * abs(cos))
        points = self._near(centre, reach)
        if not len(points):
            return 0
        along, across = points[:, 0] - centre[0], points[:, 1] - centre[1]
        if angle:
            along, across = along * cos + across * sin, across * cos - along * sin
        return int(np.count_nonzero((np.abs(along) < half_width) & (np.abs(across) < half_height)))

    def first_free(
        self, places: Iterable[tuple[Point, float]], width: float, height: float
    ) -> tuple[Point, float] | None:
        """The first of the places (middle, angle) where a box covers nothing, or None."""
        return next(((at, angle) for at, angle in places if not self.covered(at, width, height, angle)), None)

    def freest(self, places: Iterable[tuple[Point, float]], width: float, height: float) -> tuple[Point, float]:
        """The place where a box covers least; the first of equals."""
        return min(places, key=lambda place: self.covered(place[0], width, height, place[1]))

    def _settle(self) -> None:
        """Cuts what was drawn since the last question into points; once these are many they go into their squares."""
        points = np.concatenate([self._recent, *_points_of(self._strokes), *self._points])
        self._strokes, self._points = [], []
        if len(points) <= MOST_RECENT:
            self._recent = points
            return
        self._recent = np.zeros((0, 2))
        columns, rows = np.floor(points / CELL_MM).astype(np.int64).T
        cells = columns * COLUMN + rows
        order = np.argsort(cells, kind="stable")
        cells, points = cells[order], points[order]
        starts = [0, *(np.flatnonzero(cells[1:] != cells[:-1]) + 1).tolist()]
        for cell, start, end in zip(cells[starts].tolist(), starts, [*starts[1:], len(points)], strict=True):
            self._cells.setdefault(cell, []).append(points[start:end])

    def _near(self, centre: Point, reach: Point) -> Points:
        """The points of all squares that a box of half the width and height ``reach`` lies on, and the recent ones."""
        if self._strokes or self._points:
            self._settle()
        columns, rows = (
            range(math.floor((at - far) / CELL_MM), math.floor((at + far) / CELL_MM) + 1)
            for at, far in zip(centre, reach, strict=True)
        )
        found = [self._recent] if len(self._recent) else []
        for cell in (x * COLUMN + y for x in columns for y in rows):
            groups = self._cells.get(cell)
            if groups is None:
                continue
            if len(groups) > 1:
                groups[:] = [np.concatenate(groups)]
            found += groups
        return np.concatenate(found) if found else np.zeros((0, 2))


def _spaced(size: float) -> Points:
    """Places from one side of a box to the other, its middle at 0 (mm)."""
    count = max(2, math.ceil(size / SPACING_MM) + 1)
    result: Points = np.arange(count, dtype=np.float64) * (size / (count - 1)) - size / 2
    return result


def _points_of(strokes: Sequence[Curve]) -> list[Points]:
    """Points on the strokes, ``SPACING_MM`` apart or nearer, and their ends."""
    if not strokes:
        return []
    beziers = np.concatenate([curve.beziers for curve in strokes])
    counts = np.maximum(2, np.ceil(_spans(beziers) / SPACING_MM)).astype(np.int64)
    piece = np.repeat(np.arange(len(beziers)), counts)
    u = (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[piece]
    return [points_at(beziers[piece], u[:, None]), np.array([curve.end for curve in strokes])]


def _spans(beziers: Points) -> Points:
    """The length of each Bézier's control polygon (mm), which is never shorter than the Bézier."""
    steps = np.diff(beziers, axis=1)
    result: Points = np.hypot(steps[..., 0], steps[..., 1]).sum(axis=1)
    return result
