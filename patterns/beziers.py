"""Béziers as arrays (n, 4, 2): points on them, halves, lengths and bounds.

What is worked out for a whole curve is kept, by its control points: while one size of a piece is tried in several
values, most curves stay as they are.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from patterns.affine import Points

# Gauss-Legendre on [0, 1]. Pieces are halved until 24 nodes and two times 24 agree, so that a cusp is met too.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = (_NODES[:, None, None] + 1.0) / 2.0, _WEIGHTS / 2.0
_BEFORE, _AMID, _AFTER = (1 - _NODES) ** 2, 2 * _NODES * (1 - _NODES), _NODES * _NODES
_MOST_HALVINGS = 40

MOST_KEPT = 1024
"""Lengths and bounds of curves that are kept, the latest."""
LARGEST_KEPT = 200
"""Of curves of more Béziers than this nothing is kept: it would take much memory, and they are rare."""


def points_at(beziers: Points, u: Points) -> Points:
    """The points of Béziers (..., 4, 2) at their parameters ``u`` (..., 1) in [0, 1]."""
    v = 1.0 - u
    b0, b1, b2, b3 = (beziers[..., k, :] for k in range(4))
    result: Points = v**3 * b0 + 3 * v * v * u * b1 + 3 * v * u * u * b2 + u**3 * b3
    return result


def straight_bezier(start: tuple[float, float], end: tuple[float, float]) -> list[tuple[float, float]]:
    """The Bézier of a straight line, its handles at its thirds."""
    (x0, y0), (x1, y1) = start, end
    x, y = (x1 - x0) / 3, (y1 - y0) / 3
    return [start, (x0 + x, y0 + y), (x1 - x, y1 - y), end]


def halved(beziers: Points) -> tuple[Points, Points]:
    """The first and second halves of Béziers (n, 4, 2)."""
    return subdivided(beziers, 0.5)


def bounds(beziers: Points) -> tuple[float, float, float, float]:
    """(least x, least y, greatest x, greatest y) of all of them."""
    return _kept_bounds(beziers.tobytes()) if len(beziers) <= LARGEST_KEPT else _bounds(beziers)


def lengths(beziers: Points) -> Points:
    """The length of each, shape (n,). Not to be written to."""
    return _kept_lengths(beziers.tobytes()) if len(beziers) <= LARGEST_KEPT else _lengths(beziers)


@lru_cache(maxsize=MOST_KEPT)
def _kept_bounds(data: bytes) -> tuple[float, float, float, float]:
    return _bounds(np.frombuffer(data).reshape(-1, 4, 2))


def _bounds(beziers: Points) -> tuple[float, float, float, float]:
    b0, b1, b2, b3 = (beziers[:, k] for k in range(4))
    a, b, c = -b0 + 3 * b1 - 3 * b2 + b3, 2 * (b0 - 2 * b1 + b2), b1 - b0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        q = -0.5 * (b + np.copysign(np.sqrt(b * b - 4 * a * c), b))
        roots = np.stack([q / a, c / q], axis=0)
    u = np.where((roots > 0.0) & (roots < 1.0), roots, 0.0)
    v = 1.0 - u
    inner = v**3 * b0 + 3 * v * v * u * b1 + 3 * v * u * u * b2 + u**3 * b3
    low = np.minimum(inner.min(axis=(0, 1)), np.minimum(b0, b3).min(axis=0))
    high = np.maximum(inner.max(axis=(0, 1)), np.maximum(b0, b3).max(axis=0))
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


@lru_cache(maxsize=MOST_KEPT)
def _kept_lengths(data: bytes) -> Points:
    result = _lengths(np.frombuffer(data).reshape(-1, 4, 2))
    result.flags.writeable = False
    return result


def _lengths(beziers: Points) -> Points:
    """The lengths of Béziers (n, 4, 2): each is halved until both halves by themselves come to what it came to."""
    result = np.zeros(len(beziers))
    owner = np.arange(len(beziers))
    whole = _quadrature(beziers)
    for depth in range(_MOST_HALVINGS):
        low, high = halved(beziers)
        halves = np.stack([_quadrature(low), _quadrature(high)])
        both = halves.sum(axis=0)
        settled = np.abs(both - whole) <= 1e-12 * both + 1e-13
        settled |= depth == _MOST_HALVINGS - 1
        np.add.at(result, owner[settled], both[settled])
        if settled.all():
            break
        owner, beziers = np.tile(owner[~settled], 2), np.concatenate([low[~settled], high[~settled]])
        whole = halves[:, ~settled].ravel()
    return result


def _quadrature(beziers: Points) -> Points:
    """The lengths of Béziers (n, 4, 2) by one Gauss-Legendre sum each."""
    d = 3.0 * (beziers[:, 1:] - beziers[:, :-1])
    speed = _BEFORE * d[None, :, 0] + _AMID * d[None, :, 1] + _AFTER * d[None, :, 2]
    lengths: Points = _WEIGHTS @ np.hypot(speed[..., 0], speed[..., 1])
    return lengths


def subdivided(beziers: Points, u: float) -> tuple[Points, Points]:
    """De Casteljau at ``u`` for an array of Béziers (n, 4, 2): the parts before and after."""
    b0, b1, b2, b3 = (beziers[:, k] for k in range(4))
    p01, p12, p23 = b0 + (b1 - b0) * u, b1 + (b2 - b1) * u, b2 + (b3 - b2) * u
    p012, p123 = p01 + (p12 - p01) * u, p12 + (p23 - p12) * u
    middle = p012 + (p123 - p012) * u
    return np.stack([b0, p01, p012, middle], axis=1), np.stack([middle, p123, p23, b3], axis=1)
