"""Where Béziers meet each other: pairs of pieces are halved until only one crossing or one contact is left in each.

Pairs are parted by separating lines through their control points, so that curves that touch along a line of sight
leave only a few pairs alive at each halving. What is left is settled by Newton's method: on the crossing where the
two pass through each other, on the place where they run side by side where they touch.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.arrays import group_starts
from patterns.bernstein import FEW, Rows, derivative, product, roots, value_and_slope
from patterns.beziers import halved
from patterns.curve import JOIN_MM
from patterns.fewcrossings import STEPS, few_crossing
from patterns.tangents import cross

Mask = NDArray[np.bool_]
Meetings = tuple[Rows, Points, Points]
"""Numbers of pairs, and the places in [0, 1] on the first and on the second Bézier of each."""
Step = Callable[[Points, Points, Points, Points], tuple[Points, Points]]

ALONG_MM = 1e-7
"""Pieces that share two points and stay this near between them run along each other."""

SMALLEST_MM = 1e-6
"""Halving ends at pieces of this size: only cusps get so far."""

MOST_PAIRS = 2_000
"""Halving ends when so many pairs are alive: the curves are as good as one for a stretch."""


def boxes(beziers: Points) -> tuple[Points, Points]:
    """The lower left and upper right corners of the boxes round each Bézier's control points, shapes (n, 2)."""
    return beziers.min(axis=1), beziers.max(axis=1)


def points_at(beziers: Points, u: Points) -> Points:
    """The point of each Bézier (n, 4, 2) at its own ``u`` in [0, 1], shape (n, 2)."""
    return value_and_slope(beziers.swapaxes(1, 2), np.stack([u, u], axis=1))[0]


def dot(a: Points, b: Points) -> Points:
    """a·b of vectors (..., 2)."""
    result: Points = (a * b).sum(axis=-1)
    return result


def meetings(first: Points, second: Points) -> Meetings:
    """Where ``first[k]`` meets ``second[k]``, for arrays of Béziers (n, 4, 2): (k, place on first, place on second).

    One contact may come back several times, from neighbouring halves; :func:`patterns.contacts.merged` makes it one.
    """
    near = np.flatnonzero(_may_meet(first, second)) if len(first) else np.zeros(0, dtype=np.intp)
    if not len(near):
        return near, np.zeros(0), np.zeros(0)
    pair, t, u = _ends_on_the_other(first[near], second[near])
    along = _run_along(first[near], second[near], pair, t, u)
    inner, inner_t, inner_u = _halving(first[near[~along]], second[near[~along]])
    pair, inner = near[pair], near[~along][inner]
    return np.concatenate([pair, inner]), np.concatenate([t, inner_t]), np.concatenate([u, inner_u])


def _may_meet(first: Points, second: Points) -> Mask:
    """False where a line parts the control points of the two: upright, level, or along or square to a chord."""
    chords = np.stack([first[:, 3] - first[:, 0], second[:, 3] - second[:, 0]], axis=1)
    size = np.hypot(chords[..., 0], chords[..., 1])[..., None]
    chords = chords / np.where(size > 0.0, size, 1.0)
    square = np.stack([-chords[..., 1], chords[..., 0]], axis=2)
    level = np.broadcast_to(np.eye(2), (len(first), 2, 2))
    axes = np.concatenate([level, chords, square], axis=1)
    here = np.einsum("nkd,npd->nkp", axes, first - first[:, :1])
    there = np.einsum("nkd,npd->nkp", axes, second - first[:, :1])
    apart = np.maximum(here.min(axis=2) - there.max(axis=2), there.min(axis=2) - here.max(axis=2))
    meet: Mask = (apart <= JOIN_MM).all(axis=1)
    return meet


def _ends_on_the_other(first: Points, second: Points) -> Meetings:
    """The meetings at an end of either Bézier: (pair, place on first, place on second)."""
    found = []
    for turned in (False, True):
        one, other = (second, first) if turned else (first, second)
        for end in (0.0, 1.0):
            pair, place = _point_on(one[:, 3 if end else 0], other)
            ends = np.full(len(pair), end)
            found.append((pair, place, ends) if turned else (pair, ends, place))
    pair, t, u = (np.concatenate(column) for column in zip(*found, strict=True))
    return pair, t, u


def _point_on(points: Points, beziers: Points, tolerance: float = JOIN_MM) -> tuple[Rows, Points]:
    """Which points lie on their Béziers, and where: (row, place); the places are ends or roots of (P - q)·P'."""
    low, high = boxes(beziers)
    rows = np.flatnonzero(((points >= low - tolerance) & (points <= high + tolerance)).all(axis=1))
    if not len(rows):
        return rows, np.zeros(0)
    relative = (beziers[rows] - points[rows, None]).swapaxes(1, 2)
    found, place = roots(product(relative, derivative(relative)).sum(axis=1))
    count = np.arange(len(rows))
    found = np.concatenate([found, count, count])
    place = np.concatenate([place, np.zeros(len(rows)), np.ones(len(rows))])
    away = points_at(beziers[rows[found]], place) - points[rows[found]]
    on = np.hypot(away[:, 0], away[:, 1]) <= tolerance
    return rows[found[on]], place[on]


def _run_along(first: Points, second: Points, pair: Rows, t: Points, u: Points) -> Mask:
    """Which pairs share a whole stretch, given the meetings at their ends.

    Two polynomial curves that coincide anywhere do so until one of them ends, so the stretch has meetings at both ends.
    """
    along = np.zeros(len(first), dtype=np.bool_)
    order = np.lexsort((t, pair))
    pair, t = pair[order], t[order]
    if not len(pair):
        return along
    start = group_starts(pair)
    numbers = pair[start]
    stop = np.append(start[1:], len(pair)) - 1
    low, high = t[start], t[stop]
    long = high - low > JOIN_MM
    numbers, low, high = numbers[long], low[long], high[long]
    every = np.ones(len(numbers), dtype=np.bool_)
    for fraction in (0.15, 0.35, 0.5, 0.65, 0.85):
        points = points_at(first[numbers], low + fraction * (high - low))
        rows, _ = _point_on(points, second[numbers], ALONG_MM)
        on = np.zeros(len(numbers), dtype=np.bool_)
        on[rows] = True
        every &= on
    along[numbers[every]] = True
    return along


def _halving(first: Points, second: Points) -> Meetings:
    """The meetings inside the pairs: (pair, place on first, place on second)."""
    pair = np.arange(len(first))
    a, b = first, second
    t, u = np.zeros(len(pair)), np.zeros(len(pair))
    width = 1.0
    found: list[Meetings] = []
    while len(pair):
        alive = _may_meet(a, b)
        if not alive.any():
            break
        pair, a, b, t, u = pair[alive], a[alive], b[alive], t[alive], u[alive]
        x, y, crossed = _crossed_once(a, b)
        found.append((pair[crossed], t[crossed] + width * x[crossed], u[crossed] + width * y[crossed]))
        if crossed.all():
            break
        last = ~crossed & (_is_last(a, b) | (len(pair) > MOST_PAIRS))
        if last.any():
            x, y, met = _touching(a[last], b[last])
            found.append((pair[last][met], t[last][met] + width * x[met], u[last][met] + width * y[met]))
        go_on = ~crossed & ~last
        width *= 0.5
        pair, a, b, t, u = _quarters(pair[go_on], a[go_on], b[go_on], t[go_on], u[go_on], width)
    if not found:
        return np.zeros(0, dtype=np.intp), np.zeros(0), np.zeros(0)
    pair, t, u = (np.concatenate(column) for column in zip(*found, strict=True))
    on_both = (np.abs(t - 0.5) <= 0.5 + JOIN_MM) & (np.abs(u - 0.5) <= 0.5 + JOIN_MM)
    return pair[on_both], np.clip(t[on_both], 0.0, 1.0), np.clip(u[on_both], 0.0, 1.0)


def _quarters(
    pair: Rows, a: Points, b: Points, t: Points, u: Points, width: float
) -> tuple[Rows, Points, Points, Points, Points]:
    """Each pair as the four pairs of its halves."""
    a_low, a_high = halved(a)
    b_low, b_high = halved(b)
    return (
        np.tile(pair, 4),
        np.concatenate([a_low, a_low, a_high, a_high]),
        np.concatenate([b_low, b_high, b_low, b_high]),
        np.concatenate([t, t, t + width, t + width]),
        np.concatenate([u, u + width, u, u + width]),
    )


def turn_bound(beziers: Points) -> Points:
    """A bound on how far each Bézier's tangent strays from its chord (radians); pi where it has no chord."""
    chord = (beziers[:, 3] - beziers[:, 0])[:, None]
    legs: Points = np.diff(beziers, axis=1)
    angles = np.abs(np.arctan2(cross(chord, legs), dot(chord, legs)))
    angles = np.where((legs == 0.0).all(axis=2), 0.0, angles)
    return np.where((chord == 0.0).all(axis=(1, 2)), np.pi, angles.max(axis=1))


def _is_last(a: Points, b: Points) -> Mask:
    """Whether both Béziers are straight within ``JOIN_MM``, or both no more than specks."""
    bend = np.maximum(*(np.abs(np.diff(x, n=2, axis=1)).max(axis=(1, 2)) for x in (a, b)))
    size = np.maximum(*(np.ptp(x, axis=1).max(axis=1) for x in (a, b)))
    last: Mask = (bend <= JOIN_MM) | (size <= SMALLEST_MM)
    return last


def _crossed_once(a: Points, b: Points) -> tuple[Points, Points, Mask]:
    """Pairs that cross just once, settled by Newton's method: (place on a, place on b, met).

    Where the chords' angle is more than twice what the tangents turn, the two can't meet again. A pair whose steps
    lead elsewhere is left to be halved.
    """
    chord_a, chord_b = a[:, 3] - a[:, 0], b[:, 3] - b[:, 0]
    angle = np.arctan2(np.abs(cross(chord_a, chord_b)), np.abs(dot(chord_a, chord_b)))
    once = angle > 2.0 * (turn_bound(a) + turn_bound(b))
    x, y, gap = _crossing(a[once], b[once])
    inside = np.maximum(np.abs(x - 0.5), np.abs(y - 0.5)) <= 0.5 + JOIN_MM
    met = once.copy()
    met[once] = (gap <= JOIN_MM) & inside
    place_a, place_b = np.zeros(len(a)), np.zeros(len(a))
    place_a[once], place_b[once] = x, y
    return place_a, place_b, met


def _touching(a: Points, b: Points) -> tuple[Points, Points, Mask]:
    """Pairs too nearly parallel, or too small, to tell a crossing: (place on a, place on b, met).

    The place is where the two run side by side, or failing that where they cross.
    """
    x, y, gap = _newton(a, b, _step_to_contact)
    other_x, other_y, other_gap = _crossing(a, b)
    bad = (gap > JOIN_MM) | (np.maximum(np.abs(x - 0.5), np.abs(y - 0.5)) > 1.0)
    x, y, gap = np.where(bad, other_x, x), np.where(bad, other_y, y), np.where(bad, other_gap, gap)
    met = (gap <= 2.0 * JOIN_MM) & (np.maximum(np.abs(x - 0.5), np.abs(y - 0.5)) <= 1.0)
    return x, y, met


def _crossing(a: Points, b: Points) -> tuple[Points, Points, Points]:
    """Where the two cross, by Newton's method: (place on a, place on b, the gap left in mm)."""
    if 0 < len(a) <= FEW:
        x, y = np.array([few_crossing(*pair) for pair in zip(a.tolist(), b.tolist(), strict=True)]).T
        return x, y, _gap(a, b, x, y)
    return _newton(a, b, _step_to_crossing)


def _gap(a: Points, b: Points, x: Points, y: Points) -> Points:
    gap = points_at(a, x) - points_at(b, y)
    result: Points = np.hypot(gap[:, 0], gap[:, 1])
    return result


def _newton(a: Points, b: Points, step: Step) -> tuple[Points, Points, Points]:
    """Steps from the middle of both until they move nothing, at most ``STEPS``: (place on a, place on b, gap left in mm)."""
    x = y = np.full(len(a), 0.5)
    if not len(a):
        return x, y, x
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for _ in range(STEPS):
            dx, dy = step(a, b, x, y)
            before = x, y
            x = np.clip(np.where(np.isfinite(dx), x + dx, x), -1.0, 2.0)
            y = np.clip(np.where(np.isfinite(dy), y + dy, y), -1.0, 2.0)
            if (x == before[0]).all() and (y == before[1]).all():
                break
    return x, y, _gap(a, b, x, y)


def _with_derivatives(beziers: Points, u: Points) -> tuple[Points, Points, Points]:
    """Points, first and second derivatives of each Bézier at its own ``u``."""
    rows, at = beziers.swapaxes(1, 2), np.stack([u, u], axis=1)
    point, first = value_and_slope(rows, at)
    _, second = value_and_slope(derivative(rows), at)
    return point, first, second


def _step_to_crossing(a: Points, b: Points, x: Points, y: Points) -> tuple[Points, Points]:
    """Newton's step for A(x) = B(y)."""
    p, dp = value_and_slope(a.swapaxes(1, 2), np.stack([x, x], axis=1))
    q, dq = value_and_slope(b.swapaxes(1, 2), np.stack([y, y], axis=1))
    gap, det = q - p, cross(dp, dq)
    return cross(gap, dq) / det, cross(gap, dp) / det


def _step_to_contact(a: Points, b: Points, x: Points, y: Points) -> tuple[Points, Points]:
    """Newton's step for parallel tangents with nothing but sideways between: A' x B' = 0 and (A - B)·A' = 0."""
    p, dp, ddp = _with_derivatives(a, x)
    q, dq, ddq = _with_derivatives(b, y)
    f, g = cross(dp, dq), dot(p - q, dp)
    fx, fy = cross(ddp, dq), cross(dp, ddq)
    gx, gy = dot(dp, dp) + dot(p - q, ddp), -dot(dq, dp)
    det = fx * gy - fy * gx
    return (g * fy - f * gy) / det, (f * gx - g * fx) / det
