"""Places on a curve by the distance along it."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.curve import Curve

SETTLED_MM = 1e-9
"""A place is found when the length up to it is this near."""

Indices = NDArray[np.int64]

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(24)
_NODES, _WEIGHTS = (_NODES + 1.0) / 2.0, _WEIGHTS / 2.0


def parameters_at(curve: Curve, distances: Iterable[float]) -> Points:
    """The parameter at each distance (mm) from the curve's start; distances beyond its ends give its ends.

    Newton's method on the length integral, kept within the Bézier by halving.
    """
    lengths = curve.piece_lengths()
    ends = np.concatenate([[0.0], np.cumsum(lengths)])
    wanted = np.clip(np.asarray(list(distances), dtype=np.float64), 0.0, ends[-1])
    piece: Indices = np.clip(np.searchsorted(ends, wanted, side="right") - 1, 0, len(curve) - 1)
    rest = wanted - ends[piece]
    low, high = np.zeros_like(rest), np.ones_like(rest)
    with np.errstate(divide="ignore", invalid="ignore"):
        u = np.where(lengths[piece] > 0.0, np.clip(rest / lengths[piece], 0.0, 1.0), 0.0)
    for _ in range(60):
        miss = _length_to(curve, piece, u) - rest
        if np.abs(miss).max(initial=0.0) <= SETTLED_MM:
            break
        low, high = np.where(miss < 0, u, low), np.where(miss > 0, u, high)
        speed = np.hypot(*np.moveaxis(_derivative(curve, piece, u), -1, 0))
        with np.errstate(divide="ignore", invalid="ignore"):
            step = u - miss / speed
        u = np.where((step >= low) & (step <= high), step, (low + high) / 2)
    result: Points = np.asarray(piece + u, dtype=np.float64)
    return result


def _derivative(curve: Curve, piece: Indices, u: Points) -> Points:
    d = 3.0 * np.diff(curve.beziers, axis=1)[piece]
    w = u[..., None]
    result: Points = (1 - w) ** 2 * d[..., 0, :] + 2 * w * (1 - w) * d[..., 1, :] + w * w * d[..., 2, :]
    return result


def _length_to(curve: Curve, piece: Indices, u: Points) -> Points:
    # In halves, as the curve's own length is, so that the two agree.
    at = u[None, :] * np.concatenate([_NODES / 2, (1 + _NODES) / 2])[:, None]
    speed = _derivative(curve, np.broadcast_to(piece, at.shape), at)
    result: Points = u * (np.concatenate([_WEIGHTS, _WEIGHTS]) / 2 @ np.hypot(speed[..., 0], speed[..., 1]))
    return result
