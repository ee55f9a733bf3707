"""The smoothest curve that passes every measured point within a tolerance.

A table taken from a real piece carries the errors of the rule and of the eye. An interpolating spline would
copy them into the wood; this one bends as little as the tolerance allows.

SciPy is imported inside the functions that need it: a piece with no measured curve must start without it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike, NDArray

from patterns import bernstein
from patterns.affine import Points
from patterns.arrays import distinct
from patterns.curve import JOIN_MM, Curve
from patterns.fitting import TableError, checked_offsets, spline_slopes, through_offsets, values_at
from patterns.misread import misread
from patterns.nearest_arches import ArchMatch, nearest_arches

__all__ = ["ArchMatch", "Fitted", "Suspect", "nearest_arches", "smoothest_within"]

FIRST_KNOTS = 40
"""A longer table is first fitted through so many of its stations; those then missed are added until none is."""

ADDED_KNOTS = 12
"""So many of the stations missed by most are added at a time."""

DIPS_MM = 2e-4
"""The curve may pass a bound by this between its knots: a fifth of what counts as leaving a blank."""

DIP_ROUNDS = 12
"""So often are knots put where the curve still dips past a bound: that halves a dip at least, in trials far more."""

APART = 3e-4
"""A dip nearer to a knot than this part of the table's length has no room for a knot of its own."""

SLACK = 1e-9
"""The fit keeps inside the tolerance by this part of it, so that float noise never carries it past."""


class Suspect(Struct, frozen=True):
    """A reading that looks misread: its place in the table (from 0), station and value, and what the others ask for."""

    index: int
    station: float
    value: float
    expected: float


class Fitted(Struct, frozen=True, eq=False):
    """A measured table, smoothed. Lengths are mm; ``stations`` and ``readings`` are the table's own.

    ``deviations`` are curve less reading at every station of the table, the left-out ones included;
    ``largest_deviation`` is the greatest size among those that were fitted, and never above ``within``.
    ``touched`` are the readings that hold the curve: it passes them with the whole tolerance used up.
    """

    curve: Curve
    within: float
    largest_deviation: float
    deviations: tuple[float, ...]
    touched: tuple[int, ...]
    suspects: tuple[Suspect, ...]
    left_out: tuple[int, ...]
    stations: tuple[float, ...]
    readings: tuple[float, ...]


def smoothest_within(
    stations: ArrayLike,
    values: ArrayLike,
    within: float,
    leave_out: Sequence[tuple[float, float]] = (),
    start: float | None = None,
    end: float | None = None,
    least: float | None = None,
) -> Fitted:
    """The curve y = s(x) of least bending, the integral of s''², with |s(x_i) - y_i| <= ``within`` at every station.

    It is a cubic spline (Schoenberg 1964; Reinsch 1967), from the first station to the last, natural at its ends
    or with the slope dy/dx given by ``start`` and ``end``. Stations inside a range of ``leave_out`` (from, to; ends
    included) do not bind it: a worn place, a repair. Lengths are mm. Where the curve need not bend at all it is the
    straight line of least squares, or the one of least greatest deviation.

    ``least`` is a value that s(x) never goes under (the edge of a board) where no reading does: the bound is kept at
    the stations and wherever the curve would dip past it between them, as long as the end slopes leave it room.

    Raises TableError for a table no curve runs through or with fewer than two points left, ValueError for a
    tolerance that is not above zero.
    """
    x, y = checked_offsets(stations, values)
    if not (np.isfinite(within) and within > 0.0):
        raise ValueError(f"the tolerance must be a length above zero, not {within} mm")
    out = _inside(x, leave_out)
    used = np.flatnonzero(~out)
    if len(used) < 2:
        raise TableError("fewer than two points are left to fit", int(np.argmax(out)))
    goal = _Goal(x, y, within, start, end, -np.inf if least is None else least)
    curve = _smoothest(goal, used)
    deviations = values_at(curve, x) - y
    touched = used[np.abs(deviations[used]) >= within * (1.0 - 1e-7)]
    return Fitted(
        curve,
        within,
        float(np.abs(deviations[used]).max()),
        tuple(deviations.tolist()),
        tuple(touched.tolist()),
        _suspects(goal, used),
        tuple(np.flatnonzero(out).tolist()),
        tuple(x.tolist()),
        tuple(y.tolist()),
    )


def _inside(x: Points, ranges: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    out = np.zeros(len(x), dtype=bool)
    for low, high in ranges:
        if not low <= high:
            raise ValueError(f"a stretch left out must run from the lesser station to the greater, not {low} to {high}")
        out |= (x >= low - JOIN_MM) & (x <= high + JOIN_MM)
    return out


class _Goal(Struct, frozen=True, eq=False):
    """What is fitted: a table, its tolerance, the slopes at its ends and the value not to go under (-inf: none)."""

    x: Points
    y: Points
    within: float
    start: float | None
    end: float | None
    least: float


def _suspects(goal: _Goal, used: NDArray[np.int64]) -> tuple[Suspect, ...]:
    x, y = goal.x, goal.y
    bad = used[list(misread(x[used], y[used], goal.within))]
    if not len(bad):
        return ()
    expected = values_at(_smoothest(goal, np.setdiff1d(used, bad)), x[bad])
    return tuple(
        Suspect(int(index), float(x[index]), float(y[index]), float(value))
        for index, value in zip(bad, expected, strict=True)
    )


# -------------------------------------------------------------------- the fit


def _smoothest(goal: _Goal, used: NDArray[np.int64]) -> Curve:
    """The smoothest spline over the whole table that meets the ``used`` readings."""
    unbent = _unbent(goal, used)
    if unbent is not None:
        return unbent
    x, y, within = goal.x, goal.y, goal.within
    every = max(1, -(-len(used) // FIRST_KNOTS))
    knots = distinct(np.concatenate([[0], used[::every], [len(x) - 1]]))
    dips, rounds = np.zeros(0), 0
    while True:
        curve = _held(goal, knots, np.isin(knots, used), dips)
        excess = np.abs(values_at(curve, x[used]) - y[used]) / within - 1.0
        missed = np.setdiff1d(_worst_of_each_run(used, excess), knots)
        new = _dips(curve, goal.least, np.append(x[knots], dips)) if rounds < DIP_ROUNDS else np.zeros(0)
        if not len(missed) and not len(new):
            return curve
        knots, dips, rounds = np.union1d(knots, missed), np.append(dips, new), rounds + bool(len(new))


def _worst_of_each_run(used: NDArray[np.int64], excess: Points) -> NDArray[np.int64]:
    """Of each run of neighbours that are missed, the one missed by most; the ``ADDED_KNOTS`` worst of these."""
    over = np.flatnonzero(excess > 0.0)
    runs = np.split(over, np.flatnonzero(np.diff(over) > 1) + 1)
    worst = np.array([run[np.argmax(excess[run])] for run in runs if len(run)], dtype=np.int64)
    return used[worst[np.argsort(-excess[worst], kind="stable")[:ADDED_KNOTS]]]


def _dips(curve: Curve, least: float, knots: Points) -> Points:
    """Where (x) the curve turns under ``least`` by more than ``DIPS_MM``, not right beside a knot."""
    if curve.bounds[1] >= least - DIPS_MM:
        return np.zeros(0)
    piece, u = bernstein.roots(bernstein.derivative(curve.beziers[..., 1]))
    x, y = curve.point(piece + u).T
    apart = np.abs(x[:, None] - knots).min(axis=1, initial=np.inf)
    found: Points = x[(y < least - DIPS_MM) & (apart > APART * (curve.end[0] - curve.start[0]))]
    return found


def _held(goal: _Goal, knots: NDArray[np.int64], binding: NDArray[np.bool_], dips: Points) -> Curve:
    """The smoothest spline with knots at all of the table's ``knots`` and at the places ``dips`` (x).

    It keeps |s - y| <= within where a knot is ``binding``, and s >= least at every knot whose reading is no less.

    In units of the table's length and of the tolerance, so that the problem is well scaled: minimise |R z + c|² over
    a box of values z. An active-set method (BVLS, Stark and Parker 1995) solves it exactly.
    """
    from scipy.optimize import lsq_linear  # here, for start-up time

    order = np.argsort(np.concatenate([goal.x[knots], dips]), kind="stable")
    x = np.concatenate([goal.x[knots], dips])[order]
    y = np.concatenate([goal.y[knots], np.interp(dips, goal.x, goal.y)])[order]
    room = np.concatenate([np.where(binding, goal.within * (1.0 - SLACK), np.inf), np.full(len(dips), np.inf)])[order]
    span, unit = x[-1] - x[0], goal.within
    slopes = [None if slope is None else slope * span / unit for slope in (goal.start, goal.end)]
    bending, bent = _bending((x - x[0]) / span, slopes[0], slopes[1])
    orthogonal, triangle = np.linalg.qr(bending)
    target = -(orthogonal.T @ bent) - triangle @ (y / unit)
    low, high = np.maximum(-room, np.minimum(goal.least - y, 0.0)) / unit, room / unit
    moves = lsq_linear(triangle, target, (low, high), method="bvls", tol=1e-12, max_iter=50 * len(x)).x
    return through_offsets(x, y + unit * np.clip(moves, low, high), goal.start, goal.end)


def _bending(x: Points, start: float | None, end: float | None) -> tuple[Points, Points]:
    """(A, c) with integral s''² = |A z + c|² for the spline through z at x.

    s'' is linear over a step h from p to q, so its square integrates to h ((p + q)² / 4 + (p - q)² / 12).
    """
    steps, n = np.diff(x), len(x)
    linear = _second_derivatives(steps, np.eye(n), None if start is None else 0.0, None if end is None else 0.0)
    fixed = _second_derivatives(steps, np.zeros((n, 1)), start, end)
    weight = np.sqrt(steps)[:, None]
    rows = [np.vstack([weight * (p + q) / 2.0, weight * (p - q) / np.sqrt(12.0)]) for p, q in (linear, fixed)]
    return rows[0], rows[1][:, 0]


def _second_derivatives(steps: Points, z: Points, start: float | None, end: float | None) -> tuple[Points, Points]:
    """s'' at the start and at the end of each piece of the spline through z, shape (n - 1, k)."""
    slopes = spline_slopes(steps, z, start, end)
    h = steps[:, None]
    chords = np.diff(z, axis=0) / h
    return (6 * chords - 4 * slopes[:-1] - 2 * slopes[1:]) / h, (2 * slopes[:-1] + 4 * slopes[1:] - 6 * chords) / h


# -------------------------------------------------------------------- where nothing makes it bend


def _unbent(goal: _Goal, used: NDArray[np.int64]) -> Curve | None:
    """The curve that bends no more than its end slopes demand, if one meets the tolerance and the bound.

    With both ends natural, a straight line; with one slope given, the line of that slope; with two, the parabola
    that turns from one to the other. It may shift, and tilt if no slope is given.
    """
    x, y, start, end = goal.x, goal.y, goal.start, goal.end
    span = x[-1] - x[0]
    t = (x - x[0]) / span
    first = start if start is not None else (end if end is not None else 0.0)
    last = end if end is not None else first
    base = span * (first * t + (last - first) * t * t / 2.0)
    tilts = start is None and end is None
    columns = np.stack([np.ones_like(t), t], axis=1) if tilts else np.ones((len(t), 1))
    for fit in (_least_squares, _least_greatest):
        z = base + columns @ fit(columns[used], (y - base)[used])
        away = np.abs(z[used] - y[used])
        if away.max() <= goal.within:
            ends = [0, len(x) - 1]
            curve = through_offsets(x[ends], z[ends], start, end)
            if curve.bounds[1] >= min(goal.least, float(y.min())):
                return curve
        elif math.sqrt((away * away).mean()) > goal.within * (1.0 + SLACK):
            return None  # the root mean square of the least squares is the least that any greatest deviation can be
    return None


def _least_squares(columns: Points, wanted: Points) -> Points:
    solution: Points = np.asarray(np.linalg.lstsq(columns, wanted, rcond=None)[0], dtype=np.float64)
    return solution


def _least_greatest(columns: Points, wanted: Points) -> Points:
    """Coefficients whose greatest deviation is least (Chebyshev's criterion), as a linear program."""
    from scipy.optimize import linprog  # here, for start-up time

    scale = float(np.abs(wanted - wanted.mean()).max()) or 1.0
    aim = (wanted - wanted.mean()) / scale
    one = np.ones((len(columns), 1))
    sides = np.vstack([np.hstack([columns, -one]), np.hstack([-columns, -one])])
    cost = np.append(np.zeros(columns.shape[1]), 1.0)
    free = [(None, None)] * len(cost)
    solution: Points = linprog(cost, sides, np.concatenate([aim, -aim]), bounds=free, method="highs").x[:-1]
    solution = solution * scale
    solution[0] += wanted.mean()
    return solution
