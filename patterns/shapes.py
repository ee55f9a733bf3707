"""A curve told as what a drawing machine knows: straight lines, circular arcs and splines, in the order they are run.

A chain of Béziers says nothing of what it was struck as. An arc is found again in it, since what was drawn as an arc keeps
its curvature; what is neither line nor arc stays the very spline that it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby, pairwise

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.curvature import curvature_of, straight_pieces
from patterns.curve import JOIN_MM, Curve
from patterns.tangents import corners

OFF_CIRCLE_MM = 0.001
"""An arc passes every point of the curve that it stands for within this."""
SAME_BEND = 1e-3
"""The curvature of what was drawn as an arc varies by no more than this part of itself; a spline's runs through values."""
LARGEST_RADIUS_MM = 1e5
"""A flatter arc is left a spline: its centre would lie beyond any bench, and beyond many a program's figures."""

_SAMPLES = np.linspace(0.0, 1.0, 17)


class LinePiece(Struct, frozen=True):
    """A straight line (mm)."""

    start: tuple[float, float]
    end: tuple[float, float]


class ArcPiece(Struct, frozen=True):
    """A circular arc (mm, radians). ``turn`` is positive where it runs counter-clockwise, 2 pi for a full circle."""

    centre: tuple[float, float]
    radius: float
    start_angle: float
    turn: float

    @property
    def is_circle(self) -> bool:
        """Whether it runs all the way round."""
        return abs(self.turn) >= 2.0 * math.pi - 1e-9


class SplinePiece(Struct, frozen=True, eq=False):
    """A chain of cubic Béziers (n, 4, 2) in mm without a corner in it."""

    beziers: Points


Piece = LinePiece | ArcPiece | SplinePiece


def pieces_of(curve: Curve) -> list[Piece]:
    """The curve as lines, arcs and splines from its start to its end, each beginning where the one before it ended.

    Neighbouring Béziers of one line, of one circle, or of one stretch without a corner are one piece. Mere points fall away.
    """
    beziers = curve.beziers[np.ptp(curve.beziers, axis=1).max(axis=1) > 0.0]
    if not len(beziers):
        return []
    found: list[Piece] = []
    for kind, group in _runs(Curve(beziers)):
        if kind == "line":
            found += _lines(group)
        elif kind == "arc":
            found += _arcs(group)
        else:
            found.append(SplinePiece(group))
    return found


def _runs(curve: Curve) -> list[tuple[str, Points]]:
    """Neighbouring Béziers of one kind; splines end at corners."""
    straight = straight_pieces(curve) & _run_onward(curve.beziers)
    bends = curvature_of(np.repeat(curve.beziers[:, None], len(_SAMPLES), axis=1), np.tile(_SAMPLES, (len(curve), 1)))
    low, high = np.abs(bends).min(axis=1), np.abs(bends).max(axis=1)
    even = np.ptp(np.sign(bends), axis=1) == 0
    arc = ~straight & even & (high - low <= SAME_BEND * high) & (low * LARGEST_RADIUS_MM >= 1.0)
    sharp = {round(corner.t) for corner in corners(curve)}
    kinds = ["line" if s else "arc" if a else "spline" for s, a in zip(straight, arc, strict=True)]
    stretch = 0
    keys = []
    for k, kind in enumerate(kinds):
        stretch += k in sharp
        keys.append((kind, stretch if kind == "spline" else 0))
    grouped = groupby(range(len(kinds)), key=keys.__getitem__)
    return [(key[0], curve.beziers[list(numbers)]) for key, numbers in grouped]


def _run_onward(beziers: Points) -> NDArray[np.bool_]:
    """Which Béziers (n, 4, 2) never turn back on their way from end to end."""
    chord = beziers[:, 3] - beziers[:, 0]
    along = np.einsum("nkd,nd->nk", np.diff(beziers, axis=1), chord)
    onward: NDArray[np.bool_] = (along >= 0.0).all(axis=1) & (np.hypot(chord[:, 0], chord[:, 1]) > JOIN_MM)
    return onward


def _lines(beziers: Points) -> list[Piece]:
    """Straight pieces, those that run on in one direction joined."""
    points = [beziers[0, 0], *beziers[:, 3]]
    kept = [points[0]]
    for here, after in pairwise(points[1:]):
        if not _runs_on(kept[-1], here, after):
            kept.append(here)
    kept.append(points[-1])
    return [LinePiece(_pair(a), _pair(b)) for a, b in pairwise(kept)]


def _runs_on(start: Points, middle: Points, end: Points) -> bool:
    """Whether the middle lies on the way from start to end, to a millionth of a millimetre."""
    whole, part = end - start, middle - start
    size = math.hypot(*whole)
    if size == 0.0:
        return False
    off = abs(whole[0] * part[1] - whole[1] * part[0]) / size
    along = (whole[0] * part[0] + whole[1] * part[1]) / size
    return bool(off <= 1e-6 and 0.0 <= along <= size)


def _arcs(beziers: Points) -> list[Piece]:
    """Round pieces, as many neighbours at a time as lie on one circle; a spline where one lies on none after all."""
    found: list[Piece] = []
    first = 0
    while first < len(beziers):
        arc, last = _arc_through(beziers[first : first + 1]), first + 1
        while arc is not None and last < len(beziers):
            longer = _arc_through(beziers[first : last + 1])
            if longer is None:
                break
            arc, last = longer, last + 1
        found.append(arc or SplinePiece(beziers[first:last]))
        first = last
    return found


def _arc_through(beziers: Points) -> ArcPiece | None:
    """The arc from the start of the chain to its end on the circle that fits it best, if it passes all of it near enough.

    The circle is that of least squares of x² + y² - 2ax - 2by - c (Kåsa, IEEE Trans. Instrum. Meas. 25, 1976), about the
    chain's own middle, so that no figures are lost.
    """
    points = _sampled(beziers)
    middle = points.mean(axis=0)
    x, y = (points - middle).T
    (a, b, c), *_ = np.linalg.lstsq(np.stack([2 * x, 2 * y, np.ones(len(x))], axis=1), x * x + y * y, rcond=None)
    radius = math.sqrt(max(c + a * a + b * b, 0.0))
    centre = middle + np.array([a, b])
    away = np.hypot(*(points - centre).T)
    if radius == 0.0 or np.abs(away - radius).max() > OFF_CIRCLE_MM:
        return None
    angles = np.unwrap(np.arctan2(*(points - centre).T[::-1]))
    turn = float(angles[-1] - angles[0])
    steps = np.diff(angles)
    if not ((steps > 0).all() or (steps < 0).all()) or abs(turn) > 2.0 * math.pi + 1e-6:
        return None
    if math.dist(points[0], points[-1]) <= 1e-6 and abs(turn) > math.pi:
        turn = math.copysign(2.0 * math.pi, turn)
    return ArcPiece(_pair(centre), radius, float(angles[0]), turn)


def _sampled(beziers: Points) -> Points:
    u = _SAMPLES[:, None]
    v = 1.0 - u
    weights = np.stack([v**3, 3 * v * v * u, 3 * v * u * u, u**3], axis=1)[:, :, 0]
    points = np.einsum("sk,nkd->nsd", weights, beziers).reshape(-1, 2)
    result: Points = points[np.append(True, np.abs(np.diff(points, axis=0)).max(axis=1) > 0.0)]
    return result


def _pair(point: Points | Sequence[float]) -> tuple[float, float]:
    return float(point[0]), float(point[1])
