"""How tightly a curve turns: signed curvature, least radius and where, inflections.

A turn to the left (counter-clockwise) is positive. Corners between pieces are not curvature: see
:func:`patterns.tangents.corners`, which can be had from here too.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from patterns.affine import Points
from patterns.arrays import distinct
from patterns.bernstein import Rows, derivative, product, roots, value_and_slope
from patterns.curve import JOIN_MM, Curve
from patterns.tangents import STANDSTILL, Corner, corners, cross

__all__ = [
    "Corner",
    "LeastRadius",
    "Turning",
    "corners",
    "curvature_of",
    "inflections",
    "least_radius",
    "signed_curvature",
    "straight_pieces",
    "tightest_candidates",
]

Mask = NDArray[np.bool_]
Turning = Literal["left", "right"]

STRAIGHT_RADIUS_MM = 1e9
"""A greater radius is a straight line: over ten metres it bows by 0.00001 mm."""


class LeastRadius(Struct, frozen=True):
    """The tightest place of a curve: radius in mm, its parameter, the point (x, y) in mm, and the side it turns to."""

    radius: float
    t: float
    at: tuple[float, float]
    turning: Turning


def signed_curvature(curve: Curve, t: float | Points) -> Points:
    """Curvature at ``t`` in 1/mm, shape of ``t``: P' x P'' / |P'|³; positive where the curve turns left.

    At a joint it is that of the piece which starts there. Where P' vanishes it is infinite, with the sign of the turn,
    or 0 where the curve is straight.
    """
    where = np.clip(np.asarray(t, dtype=np.float64), 0.0, float(len(curve)))
    piece = np.minimum(where.astype(np.intp), len(curve) - 1)
    return curvature_of(curve.beziers[piece], where - piece)


def curvature_of(beziers: Points, u: Points) -> Points:
    """The signed curvature (1/mm) of each Bézier (..., 4, 2) at its own ``u`` (...)."""
    legs = derivative(beziers.swapaxes(-1, -2))
    first, second = value_and_slope(legs, np.stack([u, u], axis=-1))
    third = derivative(derivative(legs))[..., 0]
    speed = np.hypot(first[..., 0], first[..., 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        regular = cross(first, second) / speed**3
    still = speed <= STANDSTILL * np.abs(legs).max(axis=(-2, -1))
    bend, size = cross(second, third), np.hypot(*np.moveaxis(second, -1, 0)) * np.hypot(*np.moveaxis(third, -1, 0))
    at_rest = np.where(np.abs(bend) > STANDSTILL * size, np.copysign(np.inf, bend), 0.0)
    result: Points = np.where(still, at_rest, regular)
    return result


def least_radius(curve: Curve, turning: Turning | None = None) -> LeastRadius | None:
    """The least radius of curvature and where it is; of the turns to one side if ``turning`` says which.

    None where nothing turns that way. The candidates are the ends of the pieces, each seen from its own piece, and
    every root of dk/dt, so that none is missed.
    """
    straight = straight_pieces(curve)
    if straight.all():
        return None
    piece, u = tightest_candidates(curve.beziers)
    curvature = curvature_of(curve.beziers[piece], u)
    curvature[straight[piece]] = 0.0
    tight = np.abs(curvature) if turning is None else curvature * (1.0 if turning == "left" else -1.0)
    best = int(tight.argmax())
    if tight[best] <= 1.0 / STRAIGHT_RADIUS_MM:
        return None
    t = float(piece[best] + u[best])
    x, y = curve.point(t)
    side: Turning = "left" if curvature[best] > 0.0 else "right"
    return LeastRadius(float(1.0 / tight[best]), t, (float(x), float(y)), side)


def tightest_candidates(beziers: Points) -> tuple[Rows, Points]:
    """Where single Béziers can be tightest, (row, u): their ends, their slowest places and the roots of dk/dt.

    With a positive factor taken out, dk/dt is the polynomial (P' x P‴)(P'·P') - 3 (P' x P″)(P'·P″).
    """
    first, second = _derivatives(beziers)
    slowing = product(first, second).sum(axis=1)
    steepening = product(_cross_product(first, derivative(second)), product(first, first).sum(axis=1))
    change = steepening - 3.0 * product(_cross_product(first, second), slowing)
    count = np.arange(len(beziers))
    found = [roots(change), roots(slowing), (count, np.zeros(len(count))), (count, np.ones(len(count)))]
    return np.concatenate([row for row, _ in found]), np.concatenate([u for _, u in found])


def straight_pieces(curve: Curve) -> Mask:
    """Which pieces are straight, or a mere point, within ``JOIN_MM``: shape (n,)."""
    relative = curve.beziers - curve.beziers[:, :1]
    furthest = np.abs(relative).max(axis=2).argmax(axis=1)
    way = relative[np.arange(len(relative)), furthest]
    size = np.hypot(way[:, 0], way[:, 1])
    straight: Mask = np.abs(cross(relative, way[:, None])).max(axis=1) <= JOIN_MM * size
    return straight


def inflections(curve: Curve) -> Points:
    """The parameters, ascending, where a curve stops turning one way and turns the other: sign changes of P' x P''.

    Between two arcs with a straight stretch between them it is the middle of the stretch. A corner is none.
    """
    runs = _runs(curve)
    sharp = {corner.t for corner in corners(curve)}
    if curve.is_closed:
        runs += [(start + len(curve), stop + len(curve), sign) for start, stop, sign in runs[:1]]
        sharp |= {t + len(curve) for t in sharp}
    found = []
    for (_, stop, sign), (start, _, following) in pairwise(runs):
        if sign != following and not any(stop - JOIN_MM <= t <= start + JOIN_MM for t in sharp):
            found.append(0.5 * (stop + start))
    return distinct(np.array([t % len(curve) if curve.is_closed else t for t in found], dtype=np.float64))


def _runs(curve: Curve) -> list[tuple[float, float, float]]:
    """The stretches that turn one way, in order: (start, stop, sign). Straight stretches are left out."""
    turning = _cross_product(*_derivatives(curve.beziers))
    piece, u = roots(turning)
    stops = distinct(np.concatenate([np.arange(len(curve) + 1), piece + u]))
    stops = stops[np.append(True, np.diff(stops) > JOIN_MM)]
    middles = 0.5 * (stops[1:] + stops[:-1])
    piece = middles.astype(np.intp)
    value, _ = value_and_slope(turning[piece], middles - piece)
    signs = np.where(straight_pieces(curve)[piece], 0.0, np.sign(value))
    runs = zip(stops[:-1].tolist(), stops[1:].tolist(), signs.tolist(), strict=True)
    return [(start, stop, sign) for start, stop, sign in runs if sign]


def _derivatives(beziers: Points) -> tuple[Points, Points]:
    """P' and P'' as Bernstein coefficients: shapes (n, 2, 3) and (n, 2, 2)."""
    first = derivative(beziers.swapaxes(1, 2))
    return first, derivative(first)


def _cross_product(first: Points, second: Points) -> Points:
    """The polynomials first x second, of coefficients (n, 2, ...)."""
    return product(first[:, 0], second[:, 1]) - product(first[:, 1], second[:, 0])
