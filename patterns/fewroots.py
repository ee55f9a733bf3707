"""Roots of a few polynomials, one number at a time: the arithmetic of ``bernstein``, without what arrays cost to set up.

Where a curve crosses a line is mostly asked of one or two of its Béziers. Each function gives what its namesake for
arrays gives, to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

MOST_STEPS = 200
"""Bound on the steps towards a bracketed root; halving alone needs 54."""

STEP = 4e-16
"""A step along [0, 1] as short as a float can tell."""


def value_and_slope_at(row: list[float], u: float) -> tuple[float, float]:
    """p(u) and p'(u) of one polynomial of degree 1 or more."""
    if len(row) == 4:  # most are cubics, and written out they take half the time
        c0, c1, c2, c3 = row
        p0, p1, p2 = c0 + (c1 - c0) * u, c1 + (c2 - c1) * u, c2 + (c3 - c2) * u
        q0, q1 = p0 + (p1 - p0) * u, p1 + (p2 - p1) * u
        return q0 + (q1 - q0) * u, 3 * (q1 - q0)
    c = row
    for _ in range(len(row) - 2):
        c = [a + (b - a) * u for a, b in pairwise(c)]
    rise = c[1] - c[0]
    return c[0] + rise * u, (len(row) - 1) * rise


def roots_of(row: list[float], touching: float) -> list[float]:
    """All roots in [0, 1] of one polynomial, ascending: see ``bernstein.roots``."""
    if all(abs(c) <= touching for c in row):
        return [0.0, 1.0]
    if len(row) < 2:
        return []
    at = [0.0, *_turning_points(row), 1.0]
    crossing, touched = _between_turning_points(row, at, touching)
    found = sorted([x for x in crossing if x is not None] + touched)
    return [x for k, x in enumerate(found) if not k or x - found[k - 1] > STEP]


def _turning_points(row: list[float]) -> list[float]:
    """The places where the derivative changes sign, ascending, filled up with 1."""
    chain = [row]
    while len(chain[-1]) > 2 and not (len(chain) > 1 and len(chain[-1]) == 3):
        degree = len(chain[-1]) - 1
        chain.append([degree * (b - a) for a, b in pairwise(chain[-1])])
    inner: list[float] = []
    for lower in chain[:0:-1]:
        if len(lower) == 3:
            inner = _quadratic(lower)
        else:
            crossing, _ = _between_turning_points(lower, [0.0, *inner, 1.0], 0.0)
            inner = sorted(1.0 if x is None else x for x in crossing)
    return inner


def _quadratic(row: Sequence[float]) -> list[float]:
    """The places in [0, 1] where a quadratic changes sign, ascending, filled up with 1."""
    c0, c1, c2 = row
    a, b = c0 - 2.0 * c1 + c2, c1 - c0
    square = b * b - a * c0
    if not square >= 0.0:
        return [1.0, 1.0]
    q = -(b + math.copysign(math.sqrt(square), b))
    places = (q / a if a else 1.0, c0 / q if q else 1.0)
    return sorted(place if 0.0 < place < 1.0 else 1.0 for place in places)


def _between_turning_points(
    row: list[float], at: Sequence[float], touching: float
) -> tuple[list[float | None], list[float]]:
    """The root in each monotone stretch (None where there is none), and those of the places ``at`` that touch zero."""
    values = [value_and_slope_at(row, u)[0] for u in at]
    crossing: list[float | None] = []
    for (low, high), (before, after) in zip(pairwise(at), pairwise(values), strict=True):
        found = None
        if before < 0.0 < after or after < 0.0 < before:
            found = bracketed([row], [low], [high], [math.copysign(1.0, before)])[0]
        elif high > low and after == 0.0 and high == 1.0 and before != 0.0:
            found = 1.0
        elif high > low and before == 0.0:
            found = low
        crossing.append(found)
    known = [None, *crossing, None]
    touched = [u for k, u in enumerate(at) if abs(values[k]) <= touching and known[k] is None and known[k + 1] is None]
    return crossing, touched


def bracketed(rows: Sequence[list[float]], low: list[float], high: list[float], sign: Sequence[float]) -> list[float]:
    """The root of each row between ``low``, where its sign is ``sign``, and ``high``: Newton, kept in by halving."""
    u = [0.5 * (a + b) for a, b in zip(low, high, strict=True)]
    last = [b - a for a, b in zip(low, high, strict=True)]
    for _ in range(MOST_STEPS):
        is_done = True
        for k, row in enumerate(rows):
            at = u[k]
            value, slope = value_and_slope_at(row, at)
            if (value > 0.0) - (value < 0.0) == sign[k]:
                low[k] = at
            else:
                high[k] = at
            newton = at - value / slope if slope else math.inf
            move = abs(newton - at)
            if value != 0.0 and not move <= STEP and high[k] - low[k] > STEP:
                is_in = low[k] < newton < high[k] and not move > 0.5 * abs(last[k])
                u[k] = newton if is_in else 0.5 * (low[k] + high[k])
            last[k] = u[k] - at
            is_done = is_done and abs(last[k]) <= STEP
        if is_done:
            break
    return u
