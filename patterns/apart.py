"""How far two lines are from each other at most, and where: the two-sided Hausdorff distance of chains of Béziers.

For each stretch of a line its farthest point from the other is found by halving. A stretch is let go once a bound on
all its distances shows that it holds no point farther than one that is known. The bound is the distance from any other
curve that runs on the other line: the Bézier between the nearest points of the stretch's ends, or one point of it.
Between lines that are alike, such as two parallel arcs, the first is so good that hardly anything needs halving.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.arrays import distinct, group_starts
from patterns.bernstein import product
from patterns.blossom import stretches
from patterns.crossings import nearest_to_each
from patterns.curve import Curve

ACCURACY_MM = 0.002
"""No point of a line is farther away than the one that is named by more than this."""

LEVEL_MM = 0.005
"""Distances that differ by no more are the same: of a stretch that is even the middle is named."""

MOST_HALVINGS = 50
"""Far more than it takes to halve a line of metres to ``ACCURACY_MM``."""

CRUMB = 1e-9
"""Places nearer than this in parameter are one."""

LOOKS = 17
"""Places looked at in one step towards the top of a distance."""

STEPS = 5
"""Steps towards the top: each narrows the place eight times, from half a Bézier to a hundredth of a millimetre or less."""

LOOKS_ALONG = 17
"""Places looked at along a stretch that may be even."""


class Farthest(Struct, frozen=True):
    """The point ``at`` of a line that is farthest from another line, the ``nearest`` point of that, how far (mm).

    ``even`` says that the whole stretch is as far away, within ``LEVEL_MM``; then ``at`` is its middle. ``average``
    and ``least`` (mm) are how far away it is on average and at the nearest, as a few places along it tell.
    """

    distance: float
    at: tuple[float, float]
    nearest: tuple[float, float]
    even: bool = False
    average: float = 0.0
    least: float = 0.0


Rows = NDArray[np.intp]


class _Pieces(Struct, frozen=True, eq=False):
    """Stretches of a line between parameters, and the parameters of the nearest points of their ends."""

    start: Points
    end: Points
    foot: Points
    """Shape (n, 2): the parameters on the other line nearest to start and to end."""


def hausdorff(line: Curve, other: Curve) -> float:
    """The two-sided Hausdorff distance of two lines (mm): the farthest that a point of either is from the other.

    At most ``ACCURACY_MM`` less than the true one, and never more.
    """
    return max(farthest(line, other)[0].distance, farthest(other, line)[0].distance)


def farthest(line: Curve, other: Curve, counts: Sequence[int] = ()) -> tuple[Farthest, ...]:
    """For each stretch of ``line`` its point that is farthest from ``other``.

    ``counts`` are the numbers of Béziers of the stretches, in order; left out, the line is one stretch. The distances
    are at most ``ACCURACY_MM`` less than the true ones, and never more.
    """
    counts = counts or (len(line),)
    owner: Rows = np.repeat(np.arange(len(counts)), counts)
    if len(owner) != len(line):
        raise ValueError(f"stretches of {len(owner)} Béziers are not a line of {len(line)}")
    ends = np.concatenate([[0], np.cumsum(counts)]).astype(np.float64)
    best_t = _searched(line, other, owner, ends[:-1])
    return _settled(line, other, best_t, ends[:-1], ends[1:])


# ---------------------------------------------------------------- halving


def _searched(line: Curve, other: Curve, owner: Rows, starts: Points) -> Points:
    """The parameter of the farthest point found of each stretch, shape (count,); its start where all of it is shared."""
    best, best_t = np.zeros(len(starts)), starts.copy()
    pieces = _first_pieces(line, other, best, best_t, owner)
    for _ in range(MOST_HALVINGS):
        bezier = _bezier_of(pieces)
        open_ = _bounds(line, other, pieces, bezier) > best[owner[bezier]] + ACCURACY_MM
        if not open_.any():
            break
        start, end, foot, bezier = pieces.start[open_], pieces.end[open_], pieces.foot[open_], bezier[open_]
        middle = 0.5 * (start + end)
        at, distance = nearest_to_each(other, line.point(middle))
        _keep_best(best, best_t, owner[bezier], middle, distance)
        feet = np.concatenate([np.stack([foot[:, 0], at], axis=1), np.stack([at, foot[:, 1]], axis=1)])
        pieces = _Pieces(np.concatenate([start, middle]), np.concatenate([middle, end]), feet)
    return best_t


def _first_pieces(line: Curve, other: Curve, best: Points, best_t: Points, owner: Rows) -> _Pieces:
    """The line cut at its own joints and opposite those of the other, so that curves run beside single Béziers.

    Béziers that both lines share are left out: no point of them is away from the other line.
    """
    joints = _unshared(
        np.vstack([other.beziers[:, 0], other.end[None]]), np.vstack([line.beziers[:, 0], line.end[None]])
    )
    opposite, _ = nearest_to_each(line, joints)
    opposite = opposite[np.abs(opposite - np.round(opposite)) > CRUMB]
    cuts = distinct(np.concatenate([np.arange(len(line) + 1.0), opposite]))
    pieces = _Pieces(cuts[:-1], cuts[1:], np.zeros((len(cuts) - 1, 2)))
    alone = ~_are_among(line.beziers, other.beziers)[_bezier_of(pieces)]
    ends = np.stack([pieces.start[alone], pieces.end[alone]], axis=1)
    places = distinct(ends.ravel())
    foot, distance = nearest_to_each(other, line.point(places))
    of = np.searchsorted(places, ends)
    pieces = _Pieces(ends[:, 0], ends[:, 1], foot[of])
    _keep_best(best, best_t, np.repeat(owner[_bezier_of(pieces)], 2), ends.ravel(), distance[of].ravel())
    return pieces


def _bezier_of(pieces: _Pieces) -> Rows:
    """Which Bézier of its line each piece lies on."""
    return np.floor(0.5 * (pieces.start + pieces.end)).astype(np.intp)


def _are_among(arrays: Points, others: Points) -> NDArray[np.bool_]:
    """Which rows of the one are, to the last bit, rows of the other."""
    known = {one.tobytes() for one in others}
    return np.array([one.tobytes() in known for one in arrays], dtype=np.bool_)


def _unshared(points: Points, others: Points) -> Points:
    """The points that are none of the others."""
    result: Points = points[~_are_among(points, others)]
    return result


def _keep_best(best: Points, best_t: Points, owner: Rows, t: Points, distance: Points) -> None:
    """Notes for each stretch the farthest of these places, if it is farther than what is known."""
    order = np.lexsort((-distance, owner))
    first = order[group_starts(owner[order])]
    first = first[distance[first] > best[owner[first]]]
    best[owner[first]], best_t[owner[first]] = distance[first], t[first]


def _bounds(line: Curve, other: Curve, pieces: _Pieces, bezier: Rows) -> Points:
    """No point of a piece is farther from the other line than this (mm)."""
    mine = stretches(line.beziers[bezier], pieces.start - bezier, pieces.end - bezier)
    beside = _greatest(mine - _beside(other, pieces.foot))
    for k in (0, 1):
        point = other.point(pieces.foot[:, k])
        beside = np.minimum(beside, _greatest(mine - point[:, None]))
    return beside


def _beside(other: Curve, foot: Points) -> Points:
    """Béziers of the other line between the nearest points of the ends; where these lie on several, of the middle one.

    Whatever runs on the other line will do for a bound.
    """
    first, last = foot[:, 0].copy(), foot[:, 1].copy()
    count = len(other)
    if other.is_closed:  # the short way round, past the seam if need be
        around = np.abs(last - first) > 0.5 * count
        first += np.where(around & (first < last), count, 0)
        last += np.where(around & (last < first), count, 0)
    bezier = np.floor(0.5 * (first + last)).astype(np.intp)
    bezier = np.minimum(bezier, count - 1 if not other.is_closed else 2 * count - 1)
    u, v = np.clip(first - bezier, 0.0, 1.0), np.clip(last - bezier, 0.0, 1.0)
    return stretches(other.beziers[bezier % count], u, v)


def _greatest(differences: Points) -> Points:
    """A bound on the length of vectors that move as Béziers (n, 4, 2): by the coefficients of the length's square."""
    rows = differences.swapaxes(1, 2)
    square = product(rows, rows).sum(axis=1).max(axis=1)
    result: Points = np.sqrt(np.maximum(square, 0.0))
    return result


# ---------------------------------------------------------------- the places, as sharp as can be told


def _settled(line: Curve, other: Curve, t: Points, low: Points, high: Points) -> tuple[Farthest, ...]:
    """The farthest places of the stretches from ``low`` to ``high``, each near its ``t``; the middle of an even one."""
    _, found = nearest_to_each(other, line.point(t))
    away = np.flatnonzero(found > ACCURACY_MM)
    even, average, least, t = np.zeros(len(t), dtype=np.bool_), np.zeros(len(t)), np.zeros(len(t)), t.copy()
    if away.size:
        t[away] = _tops(line, other, t[away], low[away], high[away])
        looks = low[away, None] + (high - low)[away, None] * np.linspace(0.0, 1.0, LOOKS_ALONG)
        along = _distances(line, other, looks)
        level = along >= _distances(line, other, t[away, None]) - LEVEL_MM
        even[away], average[away], least[away] = np.all(level, axis=1), along.mean(axis=1), along.min(axis=1)
        t = np.where(even, 0.5 * (low + high), t)
    at = line.point(t)
    foot, distance = nearest_to_each(other, at)
    rows = zip(distance, at.tolist(), other.point(foot).tolist(), even, average, least, strict=True)
    return tuple(
        Farthest(float(far), (x, y), (u, v), bool(level), float(mean), float(near))
        for far, (x, y), (u, v), level, mean, near in rows
    )


def _tops(line: Curve, other: Curve, t: Points, low: Points, high: Points) -> Points:
    """The places near each ``t`` where the distance is greatest, nearer than its height on a flat hill would tell."""
    reach, spread = 0.5, np.linspace(-1.0, 1.0, LOOKS)
    for _ in range(STEPS):
        looks = np.clip(t[:, None] + reach * spread, low[:, None], high[:, None])
        looks[:, LOOKS // 2] = t
        t = looks[np.arange(len(t)), _distances(line, other, looks).argmax(axis=1)]
        reach *= 2.0 / (LOOKS - 1)
    return t


def _distances(line: Curve, other: Curve, t: Points) -> Points:
    """How far the line is from the other at each of its parameters, of any shape (mm)."""
    return nearest_to_each(other, line.point(t.ravel()))[1].reshape(t.shape)
