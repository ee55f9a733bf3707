"""Where a curve crosses an upright or level line, another curve or itself, and where it is nearest to a point.

Parameters are those of ``Curve``: piece k runs over [k, k + 1]. Where a curve is closed its seam is called 0.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from patterns.affine import Points
from patterns.answers import kept
from patterns.arrays import distinct, group_starts
from patterns.bernstein import Rows, derivative, product, roots
from patterns.contacts import at_joints, merged
from patterns.curve import CLOSED_MM, JOIN_MM, Curve
from patterns.loops import double_points
from patterns.meetings import Mask, boxes, meetings
from patterns.tangents import real_pieces

SHORT_RUN = 1e-3
"""Roots nearer than this in parameter are one contact, if the curve stays on the line between them."""

AT_ONCE = 20_000
"""Pairs of a point and a piece looked at together; keeps the memory of a large question small."""


def at_x(curve: Curve, x: float) -> Points:
    """The parameters, ascending, where the curve meets the upright line at ``x`` (mm): crossings and touches.

    A piece that lies along the line within ``JOIN_MM`` yields its two ends.
    """
    return _at_line(curve, x, 0)


def at_y(curve: Curve, y: float) -> Points:
    """The parameters, ascending, where the curve meets the level line at ``y`` (mm): see :func:`at_x`."""
    return _at_line(curve, y, 1)


@kept
def _at_line(curve: Curve, where: float, axis: int) -> Points:
    piece, u = roots(curve.beziers[:, :, axis] - where, touching=JOIN_MM)
    found = distinct(at_joints(curve, piece + u))
    groups: list[list[float]] = []
    for t in found:
        if groups and t - groups[-1][-1] <= SHORT_RUN:
            middle = curve.point(0.5 * (t + groups[-1][-1]))[axis]
            if abs(middle - where) <= JOIN_MM:
                groups[-1].append(float(t))
                continue
        groups.append([float(t)])
    result = np.array([_one_of(group) for group in groups])
    result.flags.writeable = False
    return result


def _one_of(group: Sequence[float]) -> float:
    """A joint between pieces if the group of roots holds one, else its middle."""
    return next((t for t in group if t.is_integer()), sum(group) / len(group))


def between(curve: Curve, other: Curve) -> list[tuple[float, float]]:
    """The parameters (on ``curve``, on ``other``) of every point that the two share, in the order of ``curve``.

    Contacts without crossing and shared end points count. Where the two run along each other, the ends of the shared
    stretch of each pair of pieces are given.
    """
    return list(_between(curve, other))


@kept
def _between(curve: Curve, other: Curve) -> tuple[tuple[float, float], ...]:
    first, second = real_pieces(curve), real_pieces(other)
    i, j = _boxes_meet(curve.beziers[first], other.beziers[second])
    if not len(i):
        return ()
    i, j = first[i], second[j]
    pair, t, u = meetings(curve.beziers[i], other.beziers[j])
    return tuple(merged(curve, other, i[pair] + t, j[pair] + u))


def self_crossings(curve: Curve) -> list[tuple[float, float]]:
    """The parameters (t, u), t < u, of every point that the curve passes twice, in the order of t.

    Neighbours' shared end points don't count, nor does the seam of a closed curve. A stretch that doubles back along
    the one before it counts, by its ends.
    """
    return list(_self_crossings(curve))


@kept
def _self_crossings(curve: Curve) -> tuple[tuple[float, float], ...]:
    real = real_pieces(curve)
    i, j = _boxes_meet(curve.beziers[real], curve.beziers[real])
    i, j = i[i < j], j[i < j]
    easy = _runs_on(curve, real, i, j)
    i, j = i[~easy], j[~easy]
    pair, t, u = meetings(curve.beziers[real[i]], curve.beziers[real[j]])
    loop, first, second = double_points(curve.beziers[real])
    i, j = np.concatenate([i[pair], loop]), np.concatenate([j[pair], loop])
    t, u = np.concatenate([t, first]), np.concatenate([u, second])
    if not len(t):
        return ()
    joints = (j == i + 1) & _at(curve, real[i], t, 1.0) & _at(curve, real[j], u, 0.0)
    if curve.is_closed:
        joints |= (i == 0) & (j == len(real) - 1) & _at(curve, real[i], t, 0.0) & _at(curve, real[j], u, 1.0)
    t, u = (at_joints(curve, x)[~joints] for x in (real[i] + t, real[j] + u))
    return tuple(merged(curve, curve, np.minimum(t, u), np.maximum(t, u)))


def _runs_on(curve: Curve, real: Rows, i: Rows, j: Rows) -> Mask:
    """Which pairs are neighbours that go forward all the way along the sum of their chords: they can't cross."""
    seam = curve.is_closed & (i == 0) & (j == len(real) - 1) & (len(real) > 2)
    first, second = np.where(seam, j, i), np.where(seam, i, j)
    a, b = curve.beziers[real[first]], curve.beziers[real[second]]
    forward = b[:, 3] - b[:, 0] + a[:, 3] - a[:, 0]
    legs = np.concatenate([np.diff(a, axis=1), np.diff(b, axis=1)], axis=1)
    along = (legs * forward[:, None]).sum(axis=2)
    runs_on: Mask = ((j == i + 1) | seam) & (along >= 0.0).all(axis=1) & (along[:, [0, 3]] > 0.0).all(axis=1)
    return runs_on


def _at(curve: Curve, piece: Rows, u: Points, end: float) -> Mask:
    """Whether each place ``u`` of a piece is at that piece's end (0 or 1), and on its nearer half."""
    gap: Points = np.abs(curve.point(piece + u) - curve.beziers[piece, 3 if end else 0]).max(axis=-1, initial=0.0)
    at_end: Mask = (gap <= CLOSED_MM) & (np.abs(u - end) < 0.5)
    return at_end


def nearest(curve: Curve, point: Sequence[float] | Points) -> tuple[float, float]:
    """The parameter of the curve's nearest point to ``point``, and the distance (mm)."""
    t, distance = nearest_to_each(curve, np.array([point], dtype=np.float64))
    return float(t[0]), float(distance[0])


def may_reach(curve: Curve, point: Sequence[float] | Points, distance: float) -> bool:
    """False where the curve is further from ``point`` than ``distance`` (mm), as the box round it tells."""
    x0, y0, x1, y1 = curve.bounds
    room = distance + JOIN_MM
    return bool(x0 - room <= point[0] <= x1 + room and y0 - room <= point[1] <= y1 + room)


def nearest_to_each(curve: Curve, points: Points) -> tuple[Points, Points]:
    """For points (m, 2): the parameters of the curve's nearest points, shape (m,), and the distances (mm), shape (m,).

    The candidates are the ends of the pieces and every root of (P - q)·P', so none is missed.
    """
    points = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    batch = max(1, AT_ONCE // len(curve))
    parts = [_nearest(curve, points[k : k + batch]) for k in range(0, len(points), batch)]
    if not parts:
        return np.zeros(0), np.zeros(0)
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _nearest(curve: Curve, points: Points) -> tuple[Points, Points]:
    knots = np.vstack([curve.beziers[:, 0], curve.end[None]])
    apart = np.hypot(*np.moveaxis(points[:, None] - knots[None], -1, 0))
    best_t = apart.argmin(axis=1).astype(np.float64)
    best = apart.min(axis=1)
    low, high = boxes(curve.beziers)
    outside = np.maximum(np.maximum(low - points[:, None], points[:, None] - high), 0.0)
    reach = np.where(best > 0.0, best, -1.0)  # nothing is nearer than nothing
    row, piece = np.nonzero(np.hypot(outside[..., 0], outside[..., 1]) <= reach[:, None])
    if not len(row):
        return best_t, best
    bezier = curve.beziers[piece] - points[row][:, None]
    slope = derivative(bezier.swapaxes(1, 2))
    along = product(bezier.swapaxes(1, 2), slope).sum(axis=1)
    found, u = roots(along)
    row, t = row[found], piece[found] + u
    away = curve.point(t) - points[row]
    distance = np.hypot(away[:, 0], away[:, 1])
    order = np.lexsort((distance, row))
    row = row[order]
    first = group_starts(row)
    row = row[first]
    t, distance = t[order][first], distance[order][first]
    better = distance < best[row]
    best_t[row[better]], best[row[better]] = t[better], distance[better]
    return best_t, best


def _boxes_meet(first: Points, second: Points) -> tuple[Rows, Rows]:
    """Which Béziers of two lists have boxes that meet: pairs of numbers."""
    (low, high), (other_low, other_high) = boxes(first), boxes(second)
    meet = (low[:, None] <= other_high + JOIN_MM).all(axis=2) & (other_low <= high[:, None] + JOIN_MM).all(axis=2)
    i, j = np.nonzero(meet)
    return i, j
