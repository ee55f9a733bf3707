"""The parallel of a curve at a distance, with the loops cut away that it makes where it can't follow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from patterns import crossings
from patterns.affine import Points
from patterns.curvature import Turning, least_radius
from patterns.curve import JOIN_MM, Curve
from patterns.offsetting import Joins, Moved, moved
from patterns.outline import signed_area
from patterns.tangents import corners
from patterns.trimming import CutUp, chains, cut_up

TOLERANCE_MM = 0.005
"""How far a parallel may stray from its distance unless told: a fiftieth of a saw cut's wander."""


@dataclass(frozen=True, slots=True)
class Trimmed:
    """A stretch of the given curve that has no parallel: from parameter ``start`` to ``end``.

    Where it runs over a closed curve's seam, ``end`` counts on beyond the curve's last parameter. ``radius`` (mm) is
    its least radius on the side of the parallel and ``at`` the point (x, y) on the given curve where that is; a corner
    has radius 0. It is infinite where nothing is too tight and the curve merely comes too near itself elsewhere.
    """

    start: float
    end: float
    radius: float
    at: tuple[float, float]


@dataclass(frozen=True, eq=False, slots=True)
class Parallel:
    """The curves at a distance from a given one, in the order and direction of that one; none if nothing is left.

    ``deviation`` is the most by which they stray from the distance, as measured (mm).
    """

    curves: tuple[Curve, ...]
    deviation: float
    trimmed: tuple[Trimmed, ...] = ()


def parallel(curve: Curve, distance: float, tolerance_mm: float = TOLERANCE_MM, joins: Joins = "round") -> Parallel:
    """The parallel at ``distance`` mm to the left of the curve's direction of travel; negative: to the right.

    Every point of it has that distance from the whole curve, within ``tolerance_mm``; what would come nearer, because
    the distance exceeds the radius or because the curve comes near itself, is cut away and reported. Outer corners are
    joined by arcs, or with ``joins="sharp"`` by the point where the tangents meet. The parallel of a closed curve is
    closed, in several parts where it must. Raises ValueError for a distance or tolerance that is not a usable number.
    """
    if not math.isfinite(distance) or not (math.isfinite(tolerance_mm) and tolerance_mm > 0.0):
        raise ValueError("a parallel needs a finite distance and a tolerance greater than zero")
    if distance == 0.0:
        return Parallel((curve,), 0.0)
    raw = moved(curve, distance, 0.5 * tolerance_mm, joins)
    if not len(raw.beziers):
        return Parallel((), 0.0)
    line = Curve(raw.beziers)
    cut = cut_up(line, raw, curve, distance, joins)
    kept, found = cut.kept.copy(), []
    for chain in chains(cut):
        part = _without_specks(_joined(line, cut, chain), 4.0 * tolerance_mm)
        if _is_nothing(part, tolerance_mm):
            kept[chain] = False
        else:
            found.append(part)
    return Parallel(tuple(found), raw.deviation, _trimmed(cut.spans[~kept], raw, curve, distance))


def _joined(line: Curve, cut: CutUp, chain: list[int]) -> Curve:
    beziers = np.concatenate([line.between(*cut.spans[k]).beziers for k in chain])
    beziers[1:, 0] = beziers[:-1, 3]
    if cut.nodes[chain[-1], 1] == cut.nodes[chain[0], 0]:
        beziers[-1, 3] = beziers[0, 0]
    return Curve(beziers)


def _without_specks(curve: Curve, length_mm: float) -> Curve:
    """The curve with loops no longer than ``length_mm`` cut out of it: less than the tolerance can tell."""
    for t, u in crossings.self_crossings(curve):
        loop = curve.between(t, u)
        if loop.length <= length_mm:
            beziers = np.concatenate([part.beziers for part in _outside(curve, t, u)])
            beziers[1:, 0] = beziers[:-1, 3]
            return _without_specks(Curve(beziers), length_mm)
        if curve.is_closed and curve.length - loop.length <= length_mm:
            return _without_specks(loop.closed_up(), length_mm)
    return curve


def _outside(curve: Curve, t: float, u: float) -> list[Curve]:
    """What is left of a curve without the stretch from t to u."""
    return [curve.between(a, b) for a, b in ((0.0, t), (u, float(len(curve)))) if b - a > JOIN_MM]


def _is_nothing(curve: Curve, tolerance_mm: float) -> bool:
    """Whether a curve is too small to be one, or encloses nothing though it is closed."""
    x0, y0, x1, y1 = curve.bounds
    if math.hypot(x1 - x0, y1 - y0) <= 2.0 * tolerance_mm:
        return True
    return curve.is_closed and abs(signed_area(curve)) <= tolerance_mm * curve.length


# -------------------------------------------------------------------- what was lost


def _trimmed(lost: Points, raw: Moved, curve: Curve, distance: float) -> tuple[Trimmed, ...]:
    """The stretches of the given curve that the lost stretches come from, neighbours as one."""
    spans: list[list[float]] = []
    for low, high in lost:
        start, end = _source(raw, low, 0.0), _source(raw, high, 1.0)
        if spans and start - spans[-1][1] <= JOIN_MM:
            spans[-1][1] = max(spans[-1][1], end)
        else:
            spans.append([start, end])
    length = float(len(curve))
    if curve.is_closed and len(spans) > 1 and spans[0][0] <= JOIN_MM and spans[-1][1] >= length - JOIN_MM:
        spans[0] = [spans.pop()[0], spans[0][1] + length]
    turning: Turning = "left" if distance > 0.0 else "right"
    return tuple(_tightest(curve, start, end, turning) for start, end in sorted(spans))


def _source(raw: Moved, t: float, towards: float) -> float:
    """The given curve's parameter that belongs to ``t`` on the untrimmed parallel, from the side of the stretch."""
    piece = min(max(math.ceil(t) - 1 if towards else math.floor(t), 0), len(raw.start) - 1)
    return float(raw.start[piece] + (t - piece) * (raw.end[piece] - raw.start[piece]))


def _tightest(curve: Curve, start: float, end: float, turning: Turning) -> Trimmed:
    """The report on one lost stretch: a corner on the side of the parallel, else the least radius there, else none."""
    length = float(len(curve))
    side = 1.0 if turning == "left" else -1.0
    for corner in corners(curve):
        on_it = any(start - JOIN_MM <= t <= end + JOIN_MM for t in (corner.t, corner.t + length))
        if on_it and corner.turn * side > 0.0:
            return Trimmed(start, end, 0.0, corner.at)
    parts = [(start, min(end, length)), (0.0, end - length)]
    found = [least_radius(curve.between(a, b), turning) for a, b in parts if b - a > JOIN_MM]
    tight = min((place for place in found if place is not None), key=lambda place: place.radius, default=None)
    if tight is not None:
        return Trimmed(start, end, tight.radius, tight.at)
    x, y = curve.point(0.5 * (start + end) % length)
    return Trimmed(start, end, math.inf, (float(x), float(y)))
