"""Where a single Bézier passes a point twice: the loop of a cubic, and a straight one that runs back over itself."""

from __future__ import annotations

import numpy as np

from patterns.affine import Points
from patterns.arrays import distinct
from patterns.bernstein import derivative, roots, value_and_slope
from patterns.curve import JOIN_MM
from patterns.meetings import Meetings, dot, points_at
from patterns.tangents import cross

SAME_POINT = 1e-8
"""Two places of a Bézier are one point if they are this near, as a part of its size."""


def double_points(beziers: Points) -> Meetings:
    """Where single Béziers pass a point twice: (row, smaller place, greater place), from the closed form.

    For P = a t³ + b t² + c t + d, P(t) = P(s) with t ≠ s asks a (S² - Q) + b S + c = 0 of S = t + s and Q = t s. A
    straight Bézier that doubles back is given by one point of what it covers twice.
    """
    b0, b1, b2, b3 = (beziers[:, k] for k in range(4))
    a, b, c = b3 - 3 * b2 + 3 * b1 - b0, 3 * (b2 - 2 * b1 + b0), 3 * (b1 - b0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        total = -cross(a, c) / cross(a, b)
        times = total * total + (dot(a, b) * total + dot(a, c)) / dot(a, a)
        half = 0.5 * np.sqrt(total * total - 4.0 * times)
        first, second = 0.5 * total - half, 0.5 * total + half
        rows = np.flatnonzero((first >= 0.0) & (second <= 1.0) & (second - first > 100.0 * SAME_POINT))
    apart = points_at(beziers[rows], first[rows]) - points_at(beziers[rows], second[rows])
    size = np.ptp(beziers[rows], axis=1).max(axis=1)
    rows = rows[np.abs(apart).max(axis=1, initial=0.0) <= SAME_POINT * size]
    back_rows, back_first, back_second = _doubled_back(beziers)
    return (
        np.concatenate([rows, back_rows]),
        np.concatenate([first[rows], back_first]),
        np.concatenate([second[rows], back_second]),
    )


def _doubled_back(beziers: Points) -> Meetings:
    """For each straight Bézier that runs back over itself: (row, a place before its turn, the same point after it)."""
    relative = beziers - beziers[:, :1]
    furthest = np.abs(relative).max(axis=2).argmax(axis=1)
    way = relative[np.arange(len(beziers)), furthest]
    size = np.hypot(way[:, 0], way[:, 1])
    way = way / np.where(size > 0.0, size, 1.0)[:, None]
    straight = (size > JOIN_MM) & (np.abs(cross(relative, way[:, None])).max(axis=1) <= JOIN_MM)
    along = dot(relative, way[:, None])
    backs = straight & (np.diff(along, axis=1).min(axis=1) < -JOIN_MM)
    found = [(row, *places) for row in np.flatnonzero(backs) for places in _turns_back(along[row])]
    table = np.array(found, dtype=np.float64).reshape(-1, 3)
    return table[:, 0].astype(np.intp), table[:, 1], table[:, 2]


def _turns_back(along: Points) -> list[tuple[float, float]]:
    """The ends of the stretches that a polynomial (its coefficients) covers twice, one for each turn."""
    _, turns = roots(derivative(along)[None])
    stops = distinct(np.concatenate([[0.0], turns, [1.0]]))
    values, _ = value_and_slope(along[None], stops)
    result = []
    for k in range(1, len(stops) - 1):
        before, after = values[k - 1] - values[k], values[k + 1] - values[k]
        if before * after <= 0.0 or min(abs(before), abs(after)) <= JOIN_MM:
            continue
        nearer = k - 1 if abs(before) <= abs(after) else k + 1
        _, same = roots((along - values[nearer])[None], touching=JOIN_MM)
        low, high = (stops[k], stops[k + 1]) if nearer < k else (stops[k - 1], stops[k])
        same = same[(same >= low) & (same <= high)]
        if len(same):
            first, second = sorted((float(stops[nearer]), float(same[0])))
            result.append((first, second))
    return result
