"""How often a closed curve runs round a point, from exact roots."""

from __future__ import annotations

import math
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.answers import kept
from patterns.bernstein import FEW, derivative, roots, value_and_slope
from patterns.curve import Curve
from patterns.fewroots import STEP, value_and_slope_at

HALVINGS = 60
FEW_PAIRS = 100
"""Pairs of a point and a stretch up to which points are looked at one by one."""
AT_ONCE = 400_000
"""Pairs of a point and a stretch looked at together; keeps the memory of a large question small."""


class Winding(Struct, frozen=True, eq=False, dict=True):
    """A closed curve cut into stretches that only rise or only fall, ready to be asked about points."""

    beziers: Points
    """The Bézier that each stretch is part of, shape (m, 4, 2)."""
    low_u: Points
    """Where on its Bézier each stretch has its lower end, and its upper."""
    high_u: Points
    low_y: Points
    high_y: Points
    box: Points
    """Least and greatest x of each stretch, with its Bézier's inner handles reckoned in: shape (m, 2)."""
    direction: NDArray[np.int_]
    """1 where it rises, -1 where it falls."""

    @staticmethod
    @kept
    def of(curve: Curve) -> Winding:
        """Cuts ``curve`` (closed, or taken as closed by its chord) at its level places."""
        beziers = curve.beziers
        if not np.array_equal(curve.start, curve.end):
            beziers = np.concatenate([beziers, np.linspace(curve.end, curve.start, 4)[None]])
        row, u = roots(derivative(beziers[:, :, 1]))
        row = np.concatenate([np.repeat(np.arange(len(beziers)), 2), row])
        u = np.concatenate([np.tile([0.0, 1.0], len(beziers)), u])
        order = np.lexsort((u, row))
        row, u = row[order], u[order]
        y = value_and_slope(beziers[row, :, 1], u)[0]
        y = np.where(u == 0.0, beziers[row, 0, 1], np.where(u == 1.0, beziers[row, 3, 1], y))
        k = np.flatnonzero((row[1:] == row[:-1]) & (y[1:] != y[:-1]))
        rises = y[k + 1] > y[k]
        low, high = np.where(rises, k, k + 1), np.where(rises, k + 1, k)
        x = beziers[row[k], :, 0]
        box = np.stack([x.min(axis=1), x.max(axis=1)], axis=1)
        return Winding(beziers[row[k]], u[low], u[high], y[low], y[high], box, np.where(rises, 1, -1))

    def around(self, points: Points) -> NDArray[np.int_]:
        """The winding number about each of the points (..., 2): 1 inside a curve that runs counter-clockwise, else 0.

        The count of stretches to the right of the point that rise, less those that fall; a stretch owns its lower end,
        so that joints count once.
        """
        points = np.asarray(points, dtype=np.float64)
        flat = points.reshape(-1, 2)
        if len(flat) * len(self.low_y) <= FEW_PAIRS:
            return np.array(self._around_few(flat), dtype=np.int_).reshape(points.shape[:-1])
        batch = max(1, AT_ONCE // max(1, len(self.low_y)))
        parts = [self._around(flat[k : k + batch]) for k in range(0, len(flat), batch)]
        result = np.concatenate(parts) if parts else np.zeros(0, dtype=np.int_)
        return result.reshape(points.shape[:-1])

    def _around(self, points: Points) -> NDArray[np.int_]:
        x, y = points[:, :1], points[:, 1:]
        level = (self.low_y <= y) & (y < self.high_y) & (x <= self.box[:, 1])
        right = level & (x < self.box[:, 0])
        row, k = np.nonzero(level & ~right)
        right[row, k] = self._x_at(k, y[row, 0]) > x[row, 0]
        return right.astype(np.int_) @ self.direction

    @cached_property
    def _stretches(self) -> list[tuple[float, float, float, float, int]]:
        """Of each stretch its lower and upper end, its box's sides, and its direction."""
        columns = (self.low_y, self.high_y, self.box[:, 0], self.box[:, 1], self.direction)
        return list(zip(*(column.tolist() for column in columns), strict=True))

    def _around_few(self, points: Points) -> list[int]:
        """The same for few points, one by one: without what it costs to set up arrays."""
        found, near = [], []
        for number, (x, y) in enumerate(points.tolist()):
            count = 0
            for k, (low, high, left, right, direction) in enumerate(self._stretches):
                if low <= y < high and x <= right:
                    if x < left:
                        count += direction
                    else:
                        near.append((number, k, x, y, direction))
            found.append(count)
        if near:
            at = self._x_at(np.array([one[1] for one in near]), np.array([one[3] for one in near]))
            for (number, _, x, _, direction), where in zip(near, at.tolist(), strict=True):
                found[number] += direction if where > x else 0
        return found

    def _x_at(self, k: NDArray[np.intp], y: Points) -> Points:
        """The x at which each stretch reaches the height y: halving and Newton's steps between its ends."""
        low, high = self.low_u[k], self.high_u[k]
        rows = self.beziers[k]
        if 0 < len(k) <= FEW:
            few = _few_at(rows[..., 1].tolist(), low.tolist(), high.tolist(), y.tolist())
            return value_and_slope(rows[..., 0], np.array(few))[0]
        u = 0.5 * (low + high)
        for _ in range(HALVINGS if len(k) else 0):
            value, slope = value_and_slope(rows[..., 1], u)
            low, high = np.where(value <= y, u, low), np.where(value <= y, high, u)
            with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
                newton = u - (value - y) / slope
            between = (newton - low) * (newton - high) < 0.0
            following = np.where(between, newton, 0.5 * (low + high))
            following = np.where((value == y) | (np.abs(newton - u) <= STEP), u, following)
            step, u = np.abs(following - u), following
            if (step <= STEP).all():
                break
        return value_and_slope(rows[..., 0], u)[0]


def _few_at(rows: list[list[float]], low: list[float], high: list[float], y: list[float]) -> list[float]:
    """Where few stretches reach their heights, to the last bit as many do: all take their steps together."""
    u = [0.5 * (a + b) for a, b in zip(low, high, strict=True)]
    for _ in range(HALVINGS):
        is_done = True
        for k, row in enumerate(rows):
            at = u[k]
            value, slope = value_and_slope_at(row, at)
            if value <= y[k]:
                low[k] = at
            else:
                high[k] = at
            newton = at - (value - y[k]) / slope if slope else math.inf
            if value != y[k] and not abs(newton - at) <= STEP:
                is_between = (newton - low[k]) * (newton - high[k]) < 0.0
                u[k] = newton if is_between else 0.5 * (low[k] + high[k])
            is_done = is_done and abs(u[k] - at) <= STEP
        if is_done:
            break
    return u
