"""The tightest place to either side of each of many curves, found in one pass over all of them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from patterns.answers import kept_of_each
from patterns.arrays import distinct
from patterns.curvature import (
    STRAIGHT_RADIUS_MM,
    LeastRadius,
    Turning,
    curvature_of,
    straight_pieces,
    tightest_candidates,
)
from patterns.curve import Curve

SAME_RADIUS = 1e-4
"""A radius this near to a limit, as a part of it, is on it: an arc drawn in cubics turns 3e-5 tighter than its circle."""


@kept_of_each
def tightest_of_each(curves: Sequence[Curve]) -> list[dict[Turning, LeastRadius]]:
    """For each curve the least radius (mm) and its place, by the side it turns to; nothing for a side it never turns to.

    The same as asking each curve for its least radius to each side, in a fraction of the time.
    """
    found: list[dict[Turning, LeastRadius]] = [{} for _ in curves]
    if not curves:
        return found
    every = Curve(np.concatenate([curve.beziers for curve in curves]))
    lengths = [len(curve) for curve in curves]
    owner = np.repeat(np.arange(len(curves)), lengths)
    first = np.cumsum([0, *lengths])
    bent = np.flatnonzero(~straight_pieces(every))
    if not len(bent):
        return found
    row, u = tightest_candidates(every.beziers[bent])
    piece = bent[row]
    curvature = curvature_of(every.beziers[piece], u)
    sides: tuple[tuple[Turning, float], ...] = (("left", 1.0), ("right", -1.0))
    for side, sign in sides:
        for k in distinct(owner[piece]):
            mine = np.flatnonzero(owner[piece] == k)
            best = mine[(sign * curvature[mine]).argmax()]
            tight = float(sign * curvature[best])
            if tight > 1.0 / STRAIGHT_RADIUS_MM:
                t = float(piece[best] - first[k] + u[best])
                x, y = curves[k].point(t)
                found[k][side] = LeastRadius(1.0 / tight, t, (float(x), float(y)), side)
    return found
