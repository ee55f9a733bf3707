"""Lines, circular arcs and graphs of splines by their own formulas, for holding drawn curves against. Millimetres."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

Reals = NDArray[np.float64]


@dataclass(frozen=True)
class ExactLine:
    """The straight line between two points."""

    start: tuple[float, float]
    end: tuple[float, float]

    def points(self, spacing: float) -> Reals:
        """Points on it, at most ``spacing`` apart, both ends included."""
        a, b = np.array(self.start), np.array(self.end)
        return a + np.linspace(0, 1, math.ceil(math.dist(a, b) / spacing) + 1)[:, None] * (b - a)

    def distance(self, points: Reals) -> Reals:
        """The distance of each point (m, 2) from it."""
        a, along = np.array(self.start), np.subtract(self.end, self.start)
        t = np.clip((points - a) @ along / (along @ along), 0, 1)
        return np.hypot(*(points - a - t[:, None] * along).T)


@dataclass(frozen=True)
class ExactArc:
    """A circular arc from ``start_angle`` to a greater ``end_angle`` (radians)."""

    centre: tuple[float, float]
    radius: float
    start_angle: float
    end_angle: float

    @classmethod
    def over_chord(cls, start: tuple[float, float], end: tuple[float, float], rise: float) -> ExactArc:
        """The arc above a level chord: radius (c²/4 + h²) / 2h of chord c and rise h, as handbooks give it."""
        half = (end[0] - start[0]) / 2
        radius = (half * half + rise * rise) / (2 * rise)
        centre = ((start[0] + end[0]) / 2, start[1] + rise - radius)
        lean = math.asin(half / radius) if rise <= half else math.pi - math.asin(half / radius)
        return cls(centre, radius, math.pi / 2 - lean, math.pi / 2 + lean)

    def points(self, spacing: float) -> Reals:
        """Points on it, at most ``spacing`` apart, both ends included."""
        turn = self.end_angle - self.start_angle
        angles = self.start_angle + np.linspace(0, turn, math.ceil(turn * self.radius / spacing) + 1)
        return np.array(self.centre) + self.radius * np.stack([np.cos(angles), np.sin(angles)], axis=1)

    def distance(self, points: Reals) -> Reals:
        """The distance of each point (m, 2) from it."""
        away = points - np.array(self.centre)
        middle = (self.start_angle + self.end_angle) / 2
        off = np.abs((np.arctan2(away[:, 1], away[:, 0]) - middle + math.pi) % (2 * math.pi) - math.pi)
        to_circle = np.abs(np.hypot(*away.T) - self.radius)
        ends = self.points(math.inf if self.end_angle == self.start_angle else 1e9)[[0, -1]]
        to_ends = np.hypot(*np.moveaxis(points[:, None] - ends[None], -1, 0)).min(axis=1)
        return np.where(off <= (self.end_angle - self.start_angle) / 2 + 1e-12, to_circle, to_ends)


@dataclass(frozen=True)
class ExactGraph:
    """y = f(x) between two x, with f's first derivative; nearest points by Newton from a fine table."""

    f: Callable[[Reals], Reals]
    slope: Callable[[Reals], Reals]
    x0: float
    x1: float

    def points(self, spacing: float) -> Reals:
        """Points on it, ``spacing`` apart or less where it is no steeper than 3 in 1, both ends included."""
        x = np.linspace(self.x0, self.x1, math.ceil((self.x1 - self.x0) * 3.2 / spacing) + 1)
        return np.stack([x, self.f(x)], axis=1)

    def distance(self, points: Reals) -> Reals:
        """The distance of each point (m, 2) from it."""
        from scipy.spatial import cKDTree

        table = self.points(0.5)
        x = table[cKDTree(table).query(points)[1], 0]
        for _ in range(4):
            gap, slope = self.f(x) - points[:, 1], self.slope(x)
            x = np.clip(x - (x - points[:, 0] + gap * slope) / (1 + slope**2), self.x0, self.x1)
        return np.hypot(x - points[:, 0], self.f(x) - points[:, 1])


@dataclass(frozen=True)
class ExactDrawn:
    """A curve of the product itself, as fine chords: for shapes that have no formula of their own here."""

    chords: Reals

    def points(self, spacing: float) -> Reals:
        """Points on it, at most ``spacing`` apart, both ends included."""
        steps = np.hypot(*np.diff(self.chords, axis=0).T)
        at = np.r_[0.0, np.cumsum(steps)]
        even = np.linspace(0.0, at[-1], math.ceil(at[-1] / spacing) + 1)
        return np.stack([np.interp(even, at, self.chords[:, axis]) for axis in (0, 1)], axis=1)

    def distance(self, points: Reals) -> Reals:
        """The distance of each point (m, 2) from it."""
        return shapely.distance(shapely.LineString(self.chords), shapely.points(points))


Exact = ExactLine | ExactArc | ExactGraph | ExactDrawn


def distance(shapes: tuple[Exact, ...], points: Reals) -> Reals:
    """The distance of each point (m, 2) from the nearest of several shapes."""
    return np.min([shape.distance(points) for shape in shapes], axis=0)


def all_points(shapes: tuple[Exact, ...], spacing: float) -> Reals:
    """Points on all of them."""
    return np.concatenate([shape.points(spacing) for shape in shapes])
