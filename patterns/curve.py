"""A curve is a chain of cubic Béziers, exact from the fit to the page.

This file holds the value and the operations that need nothing but its control points. What is asked *about*
a curve (curvature, crossings, parallels) lives in files of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
from msgspec import Struct
from msgspec.structs import force_setattr

from patterns.affine import Affine, Points
from patterns.beziers import bounds, lengths, points_at, straight_bezier, subdivided

JOIN_MM = 1e-9
"""Ends nearer than this are the same point: float noise of a metre-long drawing, far under any tolerance."""

CLOSED_MM = 1e-6
"""Ends this near are joined where curves are chained or closed: far under what any tool can follow."""

ARC_STEP = math.pi / 8
"""An arc is drawn in pieces of at most this angle (22.5 degrees). The published radial error of a cubic,
2/27 sin(θ/4)^6 / cos(θ/4)^2 of the radius (Goldapp 1991), is then 6.7e-8: 0.0007 mm at ten metres."""


class Curve(Struct, frozen=True, eq=False, dict=True):
    """A chain of cubic Béziers; ``beziers`` has the shape (n, 4, 2), in millimetres, and is read-only.

    Piece k runs over the parameter t in [k, k + 1]; each piece starts where the one before it ends.
    """

    beziers: Points

    def __post_init__(self) -> None:
        array = np.array(self.beziers, dtype=np.float64)
        if array.ndim != 3 or array.shape[1:] != (4, 2) or len(array) == 0:
            raise ValueError(f"a curve needs control points of shape (n, 4, 2), not {array.shape}")
        if not np.isfinite(array).all():
            raise ValueError("a curve's control points must be finite")
        array.flags.writeable = False
        force_setattr(self, "beziers", array)

    # ---------------------------------------------------------------- made from

    @classmethod
    def line(cls, start: Sequence[float] | Points, end: Sequence[float] | Points) -> Curve:
        """The straight line between two points."""
        return cls.polyline([start, end])

    @classmethod
    def polyline(cls, points: Iterable[Sequence[float] | Points], closed: bool = False) -> Curve:
        """Straight lines through ``points`` (at least two)."""
        corners = [(float(x), float(y)) for x, y in points]
        if closed:
            corners.append(corners[0])
        return cls(np.array([straight_bezier(start, end) for start, end in pairwise(corners)]))

    @classmethod
    def arc(cls, centre: Sequence[float] | Points, radius: float, start_angle: float, end_angle: float) -> Curve:
        """A circular arc from one angle to the other (radians); counter-clockwise where the end is greater.

        Drawn in equal pieces with handles of 4/3 tan(θ/4) (Goldapp, CAGD 8, 1991): see ``ARC_STEP``.
        """
        turn = end_angle - start_angle
        pieces = max(1, math.ceil(abs(turn) / ARC_STEP - 1e-12))
        angles = start_angle + turn * np.arange(pieces + 1) / pieces
        unit = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        across = np.stack([-unit[:, 1], unit[:, 0]], axis=1) * (4.0 / 3.0 * math.tan(turn / pieces / 4.0))
        ends = [unit[:-1], unit[:-1] + across[:-1], unit[1:] - across[1:], unit[1:]]
        return cls(np.asarray(centre, dtype=np.float64) + radius * np.stack(ends, axis=1))

    @classmethod
    def circle(cls, centre: Sequence[float] | Points, radius: float) -> Curve:
        """A full circle, counter-clockwise from its rightmost point."""
        return cls.arc(centre, radius, 0.0, 2.0 * math.pi).closed_up()

    @classmethod
    def chain(cls, curves: Iterable[Curve]) -> Curve:
        """One curve of several, each starting where the one before it ends (within ``CLOSED_MM``).

        Raises ValueError where there is a gap.
        """
        pieces = [curve.beziers for curve in curves]
        joined = np.concatenate(pieces)
        gaps = np.abs(joined[1:, 0] - joined[:-1, 3]).max(axis=1, initial=0.0)
        if gaps.size and gaps.max() > CLOSED_MM:
            raise ValueError(f"the curves leave a gap of {gaps.max():.3g} mm")
        joined = joined.copy()
        joined[1:, 0] = joined[:-1, 3]
        return cls(joined)

    # ---------------------------------------------------------------- ends and shape

    @property
    def start(self) -> Points:
        """The first point, shape (2,)."""
        point: Points = self.beziers[0, 0]
        return point

    @property
    def end(self) -> Points:
        """The last point, shape (2,)."""
        point: Points = self.beziers[-1, 3]
        return point

    @cached_property
    def is_closed(self) -> bool:
        """Whether it ends where it starts: within ``CLOSED_MM``, and within a thousandth of its size."""
        (x0, y0), (x1, y1) = self.start.tolist(), self.end.tolist()
        gap = max(abs(x1 - x0), abs(y1 - y0))
        if gap == 0.0:
            return True
        return bool(gap <= CLOSED_MM and gap <= 1e-3 * np.ptp(self.beziers, axis=(0, 1)).max())

    def closed_up(self) -> Curve:
        """The same curve with its last point set exactly on its first. Raises ValueError if they are apart."""
        if not self.is_closed:
            raise ValueError("the curve does not end where it starts")
        array = self.beziers.copy()
        array[-1, 3] = array[0, 0]
        return Curve(array)

    @cached_property
    def is_straight(self) -> bool:
        """Whether it is one straight line, drawn once from end to end, within ``JOIN_MM``."""
        chord = self.end - self.start
        size = float(np.hypot(*chord))
        if size <= JOIN_MM:
            return False
        rel = self.beziers.reshape(-1, 2) - self.start
        off = np.abs(rel[:, 0] * chord[1] - rel[:, 1] * chord[0]) / size
        along = rel @ chord
        return bool(off.max() <= JOIN_MM and (np.diff(along) >= -JOIN_MM * size).all())

    def __len__(self) -> int:
        return len(self.beziers)

    # ---------------------------------------------------------------- points on it

    def _piece(self, t: float | Points) -> tuple[Points, Points]:
        where = np.clip(np.asarray(t, dtype=np.float64), 0.0, float(len(self)))
        piece = np.minimum(where.astype(np.int64), len(self) - 1)
        return self.beziers[piece], (where - piece)[..., None]

    def _single(self, t: float) -> tuple[list[list[float]], float]:
        """The same for one parameter, in plain numbers: an array of one costs ten times as much."""
        where = min(max(float(t), 0.0), float(len(self)))
        piece = min(int(where), len(self) - 1)
        return self.beziers[piece].tolist(), where - piece

    def point(self, t: float | Points) -> Points:
        """The point or points at parameter ``t``, shape (..., 2)."""
        if isinstance(t, float | int):
            corners, at = self._single(t)
            w = 1.0 - at
            weights = w**3, 3 * w * w * at, 3 * w * at * at, at**3
            return np.array([sum(c[k] * weight for c, weight in zip(corners, weights, strict=True)) for k in (0, 1)])
        return points_at(*self._piece(t))

    def derivative(self, t: float | Points) -> Points:
        """dP/dt at ``t``, shape (..., 2)."""
        b, u = self._piece(t)
        v = 1.0 - u
        d = 3.0 * np.diff(b, axis=-2)
        result: Points = v * v * d[..., 0, :] + 2 * v * u * d[..., 1, :] + u * u * d[..., 2, :]
        return result

    def second_derivative(self, t: float | Points) -> Points:
        """d²P/dt² at ``t``, shape (..., 2)."""
        b, u = self._piece(t)
        d = 6.0 * np.diff(b, n=2, axis=-2)
        result: Points = (1.0 - u) * d[..., 0, :] + u * d[..., 1, :]
        return result

    def tangent(self, t: float | Points) -> Points:
        """The unit vector along the curve at ``t``, shape (..., 2), towards greater t.

        Where the derivative vanishes it is the direction in which the curve leaves, or at the end of a piece arrives.
        A piece that is only a point has the tangent (0, 0). At a joint it is that of the piece which starts there.
        """
        b, u = self._piece(t)
        legs = np.diff(b, axis=-2)
        size = np.abs(legs).max(axis=(-2, -1))[..., None]
        small = 1e-9 * size
        towards = self.derivative(t)
        bend, jerk = self.second_derivative(t), 6.0 * np.diff(b, n=3, axis=-2)[..., 0, :]
        sign = np.where(u >= 1.0, -1.0, 1.0)
        for other in (bend * sign, jerk):
            towards = np.where(np.hypot(towards[..., :1], towards[..., 1:]) > small, towards, other)
        length = np.hypot(towards[..., :1], towards[..., 1:])
        result: Points = np.divide(towards, length, out=np.zeros_like(towards), where=length > 0.0)
        return result

    # ---------------------------------------------------------------- measured

    def piece_lengths(self) -> Points:
        """The length of each Bézier, shape (n,), in millimetres, to about 1e-11 of itself. Not to be written to."""
        return lengths(self.beziers)

    @cached_property
    def length(self) -> float:
        """Its length in millimetres, by Gauss-Legendre quadrature."""
        return float(self.piece_lengths().sum())

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y), from the roots of the derivative, not from samples."""
        return bounds(self.beziers)

    # ---------------------------------------------------------------- new curves from it

    def reversed(self) -> Curve:
        """The same curve, run the other way."""
        return Curve(self.beziers[::-1, ::-1])

    def transformed(self, affine: Affine) -> Curve:
        """The curve under an affine map."""
        return Curve(affine.apply(self.beziers))

    def between(self, t0: float, t1: float) -> Curve:
        """The stretch from parameter ``t0`` to ``t1``, 0 <= t0 < t1 <= len. Raises ValueError otherwise."""
        if not 0.0 <= t0 < t1 <= len(self) + 1e-12:
            raise ValueError(f"no stretch of the curve lies between {t0} and {t1}")
        t1 = min(t1, float(len(self)))
        first, last = min(int(t0), len(self) - 1), math.ceil(t1) - 1
        array = self.beziers[first : last + 1].copy()
        end = t1 - last
        if end < 1.0:
            array[-1] = subdivided(array[-1:], end)[0][0]
        begin = t0 - first
        if begin > 0.0:
            array[0] = subdivided(array[:1], begin / end if first == last else begin)[1][0]
        return Curve(array)

    def split_at(self, parameters: Iterable[float]) -> list[Curve]:
        """The stretches between the given parameters, in order; parameters at either end are passed over."""
        cuts = sorted({float(t) for t in parameters if JOIN_MM < t < len(self) - JOIN_MM})
        edges = [0.0, *cuts, float(len(self))]
        return [self.between(a, b) for a, b in pairwise(edges) if b - a > JOIN_MM]

    def flattened(self, tolerance_mm: float) -> Points:
        """Points on the curve whose chords stray at most ``tolerance_mm`` from it, shape (m, 2).

        The count of each piece follows from its second differences (the bound of Wang for polynomial curves).
        For pictures and predicates; nothing that is cut is drawn from it.
        """
        bend = np.abs(np.diff(self.beziers, n=2, axis=1))
        worst = 6.0 * np.hypot(bend[..., 0], bend[..., 1]).max(axis=1)
        counts = np.maximum(1, np.ceil(np.sqrt(worst / (8.0 * tolerance_mm)))).astype(int)
        t = np.concatenate([k + np.arange(n) / n for k, n in enumerate(counts)])
        return np.vstack([self.point(t), self.end[None]])
