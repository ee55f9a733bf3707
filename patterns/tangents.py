"""Which way curves leave and arrive, and where the tangent breaks: corners and cusps."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from patterns.affine import Points
from patterns.bernstein import derivative, product, roots, value_and_slope
from patterns.curve import JOIN_MM, Curve

CORNER_ANGLE = math.radians(0.1)
"""Tangents that differ by less than this meet smoothly: over 100 mm it is 0.17 mm, less than a saw cut tells."""

STANDSTILL = 1e-9
"""A derivative this small, as a part of the piece's handles, is none: the curve stands still there."""

HALF_TURN = math.pi - 1e-6
"""A tangent that turns by more has turned right round: the side has to be seen from the curve itself."""


@dataclass(frozen=True, slots=True)
class Corner:
    """A break of the tangent: its parameter, the point (x, y) in mm, and the turn in radians, positive to the left.

    A cusp, where a curve turns back on itself, is a turn of pi, to the side of its way in on which its way out lies.
    """

    t: float
    at: tuple[float, float]
    turn: float


def corners(curve: Curve, angle_tolerance: float = CORNER_ANGLE) -> tuple[Corner, ...]:
    """The places where the tangent breaks by more than ``angle_tolerance`` (radians), in order, cusps among them.

    Pieces that are only a point are passed over. The seam of a closed curve is at t = 0.
    """
    real = real_pieces(curve)
    if not len(real):
        return ()
    after, arriving = end_tangents(curve.beziers[real])
    places, before = real.astype(np.float64), np.roll(arriving, 1, axis=0)
    places[0] = 0.0
    if not curve.is_closed:
        places, before, after = places[1:], before[1:], after[1:]
    turns = turns_between(before, after)
    for k in np.flatnonzero(np.abs(turns) > HALF_TURN):
        into = curve.beziers[real[k - 1 if curve.is_closed else k]]
        turns[k] = math.copysign(math.pi, side_of_return(into, curve.beziers[int(places[k])]) or turns[k])
    found = [(t, turn) for t, turn in zip(places, turns, strict=True) if abs(turn) > angle_tolerance]
    return tuple(Corner(float(t), _xy(curve, t), float(turn)) for t, turn in sorted(found + _cusps(curve)))


def _cusps(curve: Curve) -> list[tuple[float, float]]:
    """Where single pieces stand still and turn back: (t, turn)."""
    first = derivative(curve.beziers.swapaxes(1, 2))
    second, third = derivative(first), derivative(derivative(first))[..., 0]
    piece, u = roots(product(first, second).sum(axis=1))
    inner = (u > JOIN_MM) & (u < 1.0 - JOIN_MM)
    piece, u = piece[inner], u[inner]
    speed, _ = value_and_slope(first[piece], np.stack([u, u], axis=1))
    handles = np.abs(first[piece]).max(axis=(1, 2), initial=0.0)
    still = (np.abs(speed).max(axis=1, initial=0.0) <= STANDSTILL * handles) & (handles > JOIN_MM)
    piece, u = piece[still], u[still]
    bend, _ = value_and_slope(second[piece], np.stack([u, u], axis=1))
    turn = np.where(cross(bend, third[piece]) > 0.0, -math.pi, math.pi)
    return list(zip((piece + u).tolist(), turn.tolist(), strict=True))


def turns_between(before: Points, after: Points) -> Points:
    """The signed angles (radians) from the vectors ``before`` to ``after``, shapes (n, 2)."""
    turns: Points = np.arctan2(cross(before, after), (before * after).sum(axis=1))
    return turns


def side_of_return(into: Points, out: Points) -> float:
    """On which side of the Bézier ``into`` the Bézier ``out`` goes back that leaves from its end: 1 left, -1 right.

    0 where it goes back along it. Shapes (4, 2).
    """
    back = value_and_slope(out.T, np.full(2, 0.01))[0]
    relative = (into - back).T
    _, places = roots(product(relative, derivative(relative)).sum(axis=0)[None])
    places = np.append(places, [0.0, 1.0])
    points, tangents = value_and_slope(into.T[None], np.stack([places, places], axis=1))
    nearest = np.hypot(*(points - back).T).argmin()
    aside = float(cross(tangents[nearest], back - points[nearest]))
    return float(np.sign(aside)) if abs(aside) > JOIN_MM * float(np.hypot(*tangents[nearest])) else 0.0


def end_tangents(beziers: Points) -> tuple[Points, Points]:
    """The unit tangents with which Béziers (n, 4, 2) leave their first point and arrive at their last: shapes (n, 2).

    A handle on its own end gives way to the next control point. A Bézier that is only a point has (0, 0).
    """
    return _first_direction(beziers[:, 1:] - beziers[:, :1]), _first_direction(beziers[:, 3:] - beziers[:, 2::-1])


def _first_direction(legs: Points) -> Points:
    """The direction of the first of each row of vectors (n, 3, 2) that is not nothing."""
    size = np.hypot(legs[..., 0], legs[..., 1])
    row, which = np.arange(len(legs)), (size > STANDSTILL * size.max(axis=1, keepdims=True)).argmax(axis=1)
    length = size[row, which][:, None]
    result: Points = np.divide(legs[row, which], length, out=np.zeros((len(legs), 2)), where=length > 0.0)
    return result


def real_pieces(curve: Curve) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """The numbers of the pieces that are more than a point."""
    return np.flatnonzero(np.abs(curve.beziers - curve.beziers[:, :1]).max(axis=(1, 2)) > JOIN_MM)


def cross(a: Points, b: Points) -> Points:
    """a x b of vectors (..., 2): positive where b lies to the left of a."""
    result: Points = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return result


def _xy(curve: Curve, t: float) -> tuple[float, float]:
    x, y = curve.point(t)
    return float(x), float(y)
