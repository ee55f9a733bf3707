"""Polynomials on [0, 1] in Bernstein form, many at a time: products, derivatives and all their real roots.

Questions about a Bézier (where does it cross a line, where is it tightest, where is it nearest) are roots of such
polynomials. Rows of an array (n, d + 1) are n polynomials of degree d. See Farouki, "The Bernstein polynomial basis:
a centennial retrospective", CAGD 29 (2012), for the arithmetic.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from patterns.fewroots import MOST_STEPS, STEP, bracketed, roots_of

Coefficients = NDArray[np.float64]
Rows = NDArray[np.intp]

FEW = 8
"""So many rows are done one number at a time: the same arithmetic, without what it costs to set up arrays."""

MOST_KEPT = 1024
"""Answers that are kept, the latest, of at most ``LARGEST_KEPT`` coefficients each: a few megabytes."""
LARGEST_KEPT = 1024


def derivative(coefficients: Coefficients) -> Coefficients:
    """The derivatives, one degree lower: shape (..., d + 1) to (..., d)."""
    degree = coefficients.shape[-1] - 1
    result: Coefficients = degree * np.diff(coefficients, axis=-1)
    return result


def product(first: Coefficients, second: Coefficients) -> Coefficients:
    """The products of rows of degree p and q: rows of degree p + q."""
    p, q = first.shape[-1] - 1, second.shape[-1] - 1
    a, b = first * _binomials(p), second * _binomials(q)
    result = np.zeros((*np.broadcast_shapes(first.shape[:-1], second.shape[:-1]), p + q + 1))
    for k in range(p + 1):
        result[..., k : k + q + 1] += a[..., k : k + 1] * b
    return result / _binomials(p + q)


@cache
def _binomials(degree: int) -> Coefficients:
    return np.array([math.comb(degree, k) for k in range(degree + 1)], dtype=np.float64)


def value_and_slope(coefficients: Coefficients, u: Coefficients) -> tuple[Coefficients, Coefficients]:
    """p(u) and p'(u) by de Casteljau's corner cutting; one ``u`` for each row (..., d + 1)."""
    degree = coefficients.shape[-1] - 1
    if degree == 0:
        return coefficients[..., 0] + 0.0 * u, np.zeros_like(u)
    c, at = coefficients, u[..., None]
    for _ in range(degree - 1):
        c = c[..., :-1] + (c[..., 1:] - c[..., :-1]) * at
    rise = c[..., 1] - c[..., 0]
    return c[..., 0] + rise * u, degree * rise


def roots(coefficients: Coefficients, touching: float = 0.0) -> tuple[Rows, Coefficients]:
    """All roots in [0, 1] of each row (n, d + 1): (row numbers, places), ordered by row and place.

    Each polynomial is monotone between the roots of its derivative, so these, found first, bracket the roots one by
    one. A turning point or an end whose value is within ``touching`` of zero counts as a root as well, unless the
    polynomial crosses zero next to it. A row that is zero throughout (within ``touching``) yields its ends, 0 and 1.

    The same few curves are asked the same things again and again, above all while one size of a piece is tried in
    several values; so the latest answers are kept. They are not to be written to.
    """
    if coefficients.size > LARGEST_KEPT:
        return _roots(coefficients, touching)
    return _kept_roots(coefficients.tobytes(), coefficients.shape, touching)


@lru_cache(maxsize=MOST_KEPT)
def _kept_roots(data: bytes, shape: tuple[int, int], touching: float) -> tuple[Rows, Coefficients]:
    found = _roots(np.frombuffer(data).reshape(shape), touching)
    for array in found:
        array.flags.writeable = False
    return found


def _roots(coefficients: Coefficients, touching: float) -> tuple[Rows, Coefficients]:
    """The roots; rows that are positive or negative throughout, as their coefficients tell, are not looked at."""
    if len(coefficients) <= FEW:
        return _few_roots(coefficients, touching)
    maybe = (coefficients.min(axis=1) <= touching) & (coefficients.max(axis=1) >= -touching)
    if maybe.all():
        return _all_roots(coefficients, touching)
    some = np.flatnonzero(maybe)
    if not len(some):
        return some, np.zeros(0)
    row, place = _all_roots(coefficients[some], touching)
    return some[row], place


def _few_roots(coefficients: Coefficients, touching: float) -> tuple[Rows, Coefficients]:
    rows, places = [], []
    for number, row in enumerate(coefficients.tolist()):
        if min(row) <= touching and max(row) >= -touching:
            found = roots_of(row, touching)
            rows += [number] * len(found)
            places += found
    return np.array(rows, dtype=np.intp), np.array(places, dtype=np.float64)


def _all_roots(coefficients: Coefficients, touching: float) -> tuple[Rows, Coefficients]:
    count, degree = coefficients.shape[0], coefficients.shape[1] - 1
    flat = np.abs(coefficients).max(axis=1) <= touching
    rows, places = np.flatnonzero(flat), np.array([0.0, 1.0])
    found = [(np.repeat(rows, 2), np.tile(places, len(rows)))]
    turning = _turning_points(coefficients)
    at = np.concatenate([np.zeros((count, 1)), turning, np.ones((count, 1))], axis=1)
    if degree >= 1:
        crossing, touched = _between_turning_points(coefficients, at, touching)
        row, column = np.nonzero(~np.isnan(crossing) & ~flat[:, None])
        found.append((row, crossing[row, column]))
        row, column = np.nonzero(touched & ~flat[:, None])
        found.append((row, at[row, column]))
    row = np.concatenate([part[0] for part in found])
    place = np.concatenate([part[1] for part in found])
    order = np.lexsort((place, row))
    row, place = row[order], place[order]
    again = (np.diff(row, prepend=-1) == 0) & (np.diff(place, prepend=-1.0) <= STEP)
    return row[~again], place[~again]


def _turning_points(coefficients: Coefficients) -> Coefficients:
    """The places where each row's derivative changes sign, ascending, filled up with 1: shape (n, d - 1)."""
    chain = [coefficients]
    while chain[-1].shape[1] > 2 and not (len(chain) > 1 and chain[-1].shape[1] == 3):
        chain.append(derivative(chain[-1]))
    count = len(coefficients)
    inner = np.ones((count, 0))
    for lower in chain[:0:-1]:
        if lower.shape[1] == 3:
            inner = _quadratic(lower)
            continue
        at = np.concatenate([np.zeros((count, 1)), inner, np.ones((count, 1))], axis=1)
        crossing, _ = _between_turning_points(lower, at, 0.0)
        inner = np.sort(np.where(np.isnan(crossing), 1.0, crossing), axis=1)
    return inner


def _quadratic(coefficients: Coefficients) -> Coefficients:
    """The places in [0, 1] where each quadratic changes sign, ascending, filled up with 1: shape (n, 2)."""
    c0, c1, c2 = coefficients.T
    a, b = c0 - 2.0 * c1 + c2, c1 - c0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        q = -(b + np.copysign(np.sqrt(b * b - a * c0), b))
        places = np.stack([q / a, c0 / q], axis=1)
    return np.sort(np.where((places > 0.0) & (places < 1.0), places, 1.0), axis=1)


def _between_turning_points(
    coefficients: Coefficients, at: Coefficients, touching: float
) -> tuple[Coefficients, NDArray[np.bool_]]:
    """The root in each monotone stretch (nan where there is none), and which of the places ``at`` merely touch zero."""
    values, _ = value_and_slope(coefficients[:, None, :], at)
    sign = np.sign(values)
    changes = sign[:, :-1] * sign[:, 1:] < 0
    row, column = np.nonzero(changes)
    crossing = np.full(changes.shape, np.nan)
    crossing[row, column] = _bracketed(coefficients[row], at[row, column], at[row, column + 1], sign[row, column])
    length = np.diff(at, axis=1) > 0.0
    crossing = np.where(~changes & length & (sign[:, :-1] == 0), at[:, :-1], crossing)
    at_end = ~changes & length & (sign[:, 1:] == 0) & (at[:, 1:] == 1.0) & np.isnan(crossing)
    crossing = np.where(at_end, 1.0, crossing)
    near = np.abs(values) <= touching
    beside = np.zeros_like(near)
    known = ~np.isnan(crossing)
    beside[:, :-1] |= known
    beside[:, 1:] |= known
    return crossing, near & ~beside


def _bracketed(coefficients: Coefficients, low: Coefficients, high: Coefficients, sign: Coefficients) -> Coefficients:
    """The root of each row between ``low``, where its sign is ``sign``, and ``high``: Newton, kept in by halving."""
    if 0 < len(coefficients) <= FEW:
        return np.array(bracketed(coefficients.tolist(), low.tolist(), high.tolist(), sign.tolist()))
    u = 0.5 * (low + high)
    last = high - low
    for _ in range(MOST_STEPS if len(u) else 0):
        value, slope = value_and_slope(coefficients, u)
        before = np.sign(value) == sign
        low, high = np.where(before, u, low), np.where(before, high, u)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            newton = u - value / slope
        slow = np.abs(newton - u) > 0.5 * np.abs(last)
        following = np.where((newton > low) & (newton < high) & ~slow, newton, 0.5 * (low + high))
        arrived = (value == 0.0) | (np.abs(newton - u) <= STEP) | (high - low <= STEP)
        following = np.where(arrived, u, following)
        last = following - u
        u = following
        if (np.abs(last) <= STEP).all():
            break
    return u
