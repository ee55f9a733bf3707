"""Interpolating cubic splines: the curve a batten takes through given points, as exact Béziers.

A cubic piece of a spline *is* a Bézier; nothing here is flattened or approximated on its way to the page.
Smoothing within a tolerance is another matter and lives in ``measured``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from patterns.affine import Points
from patterns.curve import JOIN_MM, Curve

LENGTH_ROUNDS = 200
"""Rounds given to the parameter to settle on the arc length; ten points strewn at random need 20 to 50."""

MOST_KEPT = 256
"""Splines that are kept, the latest."""

LENGTH_SETTLED = 1e-12
"""Change of a piece's length, as a part of it, at which the parameter has settled."""


class TableError(ValueError):
    """A table of points that no curve runs through. ``index`` counts from 0; ``what`` says what is wrong."""

    def __init__(self, what: str, index: int) -> None:
        self.what = what
        self.index = index
        super().__init__(f"point {index + 1}: {what}")


def through_offsets(
    stations: ArrayLike, values: ArrayLike, start: float | None = None, end: float | None = None
) -> Curve:
    """The cubic spline y = s(x) through a table of offsets: x = stations, y = values, both in mm, shape (n,).

    ``start`` and ``end`` are the slope dy/dx at that end (0 is level); None leaves the end free, as a batten's
    (the natural end, s'' = 0). Raises TableError for fewer than two points and for repeated, unordered or
    infinite stations.
    """
    x, y = checked_offsets(stations, values)
    slopes = spline_slopes(np.diff(x), y, start, end)
    return _from_hermite(np.stack([x, y], axis=1), np.stack([np.ones_like(x), slopes], axis=1), np.diff(x))


def through_points(
    points: ArrayLike, start_direction: float | None = None, end_direction: float | None = None
) -> Curve:
    """The spline through (x, y) points in the order given, shape (n, 2), in mm.

    ``start_direction`` and ``end_direction`` are the direction of travel there (radians, counter-clockwise from
    +x); None leaves the end free. Raises TableError for fewer than two points or neighbours that coincide.

    The parameter of each piece is its own arc length: it starts as the chord and is set to the length of the
    curve just found until it settles. Measured on twelve uneven points of a 100 mm circle, closed: off the circle by
    0.3 mm, where chords, their square roots and equal steps leave 0.7, 5.9 and 8.9 mm.
    """
    places = _checked_points(points, least=2, closed=False)
    ends = (_unit(start_direction), _unit(end_direction))
    return _by_arc_length(places, closed=False, ends=ends)


def closed_through(points: ArrayLike) -> Curve:
    """The closed (periodic) spline through (x, y) points, shape (n, 2), n at least 3, in mm; it starts at the first.

    The first point is not repeated at the end. Parameter and errors as in ``through_points``.
    """
    return _by_arc_length(_checked_points(points, least=3, closed=True), closed=True, ends=(None, None)).closed_up()


def values_at(curve: Curve, stations: ArrayLike) -> Points:
    """y of a ``through_offsets`` curve at the given x, both in mm; outside its ends, its end cubics run on."""
    x = np.asarray(stations, dtype=np.float64)
    knots = np.append(curve.beziers[:, 0, 0], curve.end[0])
    piece = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(curve) - 1)
    u = (x - knots[piece]) / (knots[piece + 1] - knots[piece])
    v, b = 1.0 - u, curve.beziers[piece, :, 1]
    y: Points = v**3 * b[..., 0] + 3 * v * v * u * b[..., 1] + 3 * v * u * u * b[..., 2] + u**3 * b[..., 3]
    return y


# -------------------------------------------------------------------- what a table must be


def checked_offsets(stations: ArrayLike, values: ArrayLike, least: int = 2) -> tuple[Points, Points]:
    """Stations and values as arrays of shape (n,), finite, the stations rising. Raises TableError otherwise."""
    x, y = np.asarray(stations, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if x.ndim != 1 or x.shape != y.shape:
        raise ValueError(f"stations and values must be two lists of one length, not {x.shape} and {y.shape}")
    if len(x) < least:
        raise TableError(f"the table needs at least {least} points, and has {len(x)}", max(len(x) - 1, 0))
    _finite(np.stack([x, y], axis=1))
    for index, step in enumerate(np.diff(x), start=1):
        if abs(step) <= JOIN_MM:
            raise TableError("repeats the station before it", index)
        if step < 0:
            raise TableError("stands before the station it follows: stations must rise", index)
    return x, y


def _checked_points(points: ArrayLike, least: int, closed: bool) -> Points:
    places = np.asarray(points, dtype=np.float64)
    if places.ndim != 2 or places.shape[1] != 2:
        raise ValueError(f"points must have the shape (n, 2), not {places.shape}")
    if len(places) < least:
        raise TableError(f"the curve needs at least {least} points, and has {len(places)}", max(len(places) - 1, 0))
    _finite(places)
    steps = np.hypot(*np.diff(places, axis=0).T)
    if (steps <= JOIN_MM).any():
        raise TableError("repeats the point before it", int(np.argmax(steps <= JOIN_MM)) + 1)
    if closed and np.hypot(*(places[-1] - places[0])) <= JOIN_MM:
        raise TableError(
            "repeats the first point: a closed curve joins the last to the first by itself", len(places) - 1
        )
    return places


def _finite(places: Points) -> None:
    bad = ~np.isfinite(places).all(axis=1)
    if bad.any():
        raise TableError("is not a finite number", int(np.argmax(bad)))


def _unit(direction: float | None) -> Points | None:
    return None if direction is None else np.array([math.cos(direction), math.sin(direction)])


# -------------------------------------------------------------------- the spline itself


def spline_slopes(
    steps: Points, values: Points, start: float | Points | None = None, end: float | Points | None = None
) -> Points:
    """First derivatives at the knots of the cubic spline through ``values``, shape (n,) or (n, k); steps (n - 1,).

    The C2 condition in Hermite form (de Boor, A Practical Guide to Splines, ch. IV), solved by one sweep:
    the matrix is diagonally dominant. ``start`` and ``end`` fix the derivative there; None means s'' = 0.
    """
    chords = (np.diff(values, axis=0).T / steps).T
    n = len(values)
    before, on, after = np.zeros(n), np.ones(n), np.zeros(n)
    right = np.zeros_like(values)
    before[1:-1], after[1:-1] = steps[1:], steps[:-1]
    on[1:-1] = 2.0 * (steps[1:] + steps[:-1])
    right[1:-1] = 3.0 * (steps[1:] * chords[:-1].T + steps[:-1] * chords[1:].T).T
    if start is None:
        on[0], after[0], right[0] = 2.0, 1.0, 3.0 * chords[0]
    else:
        right[0] = start
    if end is None:
        on[-1], before[-1], right[-1] = 2.0, 1.0, 3.0 * chords[-1]
    else:
        right[-1] = end
    return _swept(before, on, after, right)


def _periodic_slopes(steps: Points, values: Points) -> Points:
    """First derivatives of the periodic spline; values (n, k), steps (n,) with the closing one last.

    The two corner terms of the cyclic matrix are folded in by the Sherman-Morrison formula.
    """
    earlier, chords = np.roll(steps, 1), (np.roll(values, -1, axis=0) - values) / steps[:, None]
    before, on, after = steps.copy(), 2.0 * (steps + earlier), earlier.copy()
    right = 3.0 * (steps[:, None] * np.roll(chords, 1, axis=0) + earlier[:, None] * chords)
    lower_corner, upper_corner = after[-1], before[0]
    pivot = -on[0]
    on[0] -= pivot
    on[-1] -= lower_corner * upper_corner / pivot
    column = np.zeros(len(steps))
    column[0], column[-1] = pivot, lower_corner
    solved = _swept(before, on, after, np.column_stack([right, column]))
    plain, extra = solved[:, :-1], solved[:, -1]
    ratio = upper_corner / pivot
    factor = (plain[0] + ratio * plain[-1]) / (1.0 + extra[0] + ratio * extra[-1])
    slopes: Points = plain - extra[:, None] * factor
    return slopes


def _swept(before: Points, on: Points, after: Points, right: Points) -> Points:
    """Solves a tridiagonal system by elimination without pivoting (Thomas): for diagonally dominant matrices."""
    pivots, result = on.copy(), right.copy()
    for k in range(1, len(on)):
        factor = before[k] / pivots[k - 1]
        pivots[k] -= factor * after[k - 1]
        result[k] -= factor * result[k - 1]
    result[-1] /= pivots[-1]
    for k in range(len(on) - 2, -1, -1):
        result[k] = (result[k] - after[k] * result[k + 1]) / pivots[k]
    return result


def _by_arc_length(points: Points, closed: bool, ends: Sequence[Points | None]) -> Curve:
    """The parametric spline whose parameter runs, over each piece, through the length of that piece.

    The latest are kept: while one size of a piece is tried in several values, most of its splines stay as they are.
    """
    data = tuple(None if end is None else tuple(end.tolist()) for end in ends)
    return _kept_by_arc_length(points.tobytes(), closed, data)


@lru_cache(maxsize=MOST_KEPT)
def _kept_by_arc_length(data: bytes, closed: bool, directions: Sequence[tuple[float, float] | None]) -> Curve:
    points = np.frombuffer(data).reshape(-1, 2)
    ends = [None if direction is None else np.array(direction) for direction in directions]
    knots = np.vstack([points, points[:1]]) if closed else points
    chords = np.hypot(*np.diff(knots, axis=0).T)
    steps = chords
    curve = _parametric(points, knots, steps, closed, ends)
    for _ in range(LENGTH_ROUNDS):
        lengths = curve.piece_lengths()
        if (np.abs(lengths - steps) <= LENGTH_SETTLED * lengths).all():
            break
        steps = lengths
        curve = _parametric(points, knots, steps, closed, ends)
    return curve


def _parametric(points: Points, knots: Points, steps: Points, closed: bool, ends: Sequence[Points | None]) -> Curve:
    if not closed:
        return _from_hermite(knots, spline_slopes(steps, knots, *ends), steps)
    slopes = _periodic_slopes(steps, points)
    return _from_hermite(knots, np.vstack([slopes, slopes[:1]]), steps)


def _from_hermite(knots: Points, slopes: Points, steps: Points) -> Curve:
    """Béziers of the cubics with the given end points and derivatives: the handles are a third of the step."""
    third = steps[:, None] / 3.0
    start, end = knots[:-1], knots[1:]
    return Curve(np.stack([start, start + slopes[:-1] * third, end - slopes[1:] * third, end], axis=1))
