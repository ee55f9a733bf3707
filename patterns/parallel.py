"""The parallel of a curve at a distance, with the loops cut away that it makes where it can't follow."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patterns import crossings
from patterns.affine import Points
from patterns.bernstein import Rows, product, roots
from patterns.curvature import Turning, least_radius
from patterns.curve import CLOSED_MM, JOIN_MM, Curve
from patterns.offsetting import Joins, Moved, moved
from patterns.outline import signed_area
from patterns.tangents import corners

Mask = NDArray[np.bool_]

TOLERANCE_MM = 0.005
"""How far a parallel may stray from its distance unless told: a fiftieth of a saw cut's wander."""

_SAMPLES = np.array([0.1, 0.3, 0.5, 0.7, 0.9])


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
    stretches, nodes = _stretches(line, curve, distance)
    margin = _margins(stretches, line, curve, distance)
    kept = (margin >= -2.0 * raw.deviation - CLOSED_MM) & ~_holds_dead(stretches, raw)
    kept &= ~_spurs(stretches, nodes, kept, margin)
    found = []
    for chain in _chains(nodes, kept, margin):
        part = _joined(line, stretches, nodes, chain)
        if _is_nothing(part, tolerance_mm):
            kept[chain] = False
        else:
            found.append(part)
    return Parallel(tuple(found), raw.deviation, _trimmed(stretches[~kept], raw, curve, distance))


def _stretches(line: Curve, curve: Curve, distance: float) -> tuple[Points, Rows]:
    """The untrimmed parallel cut wherever it can turn from right to wrong, and which points those are.

    Shapes (m, 2): parameters from and to, and the numbers of the points there. Cuts are where it crosses itself and,
    round the ends of an open curve, where it enters the reach of an end.
    """
    places = [t for pair in crossings.self_crossings(line) for t in pair]
    if not curve.is_closed:
        for point in (curve.start, curve.end):
            places += _at_reach(line, point, distance)
    at = np.unique([0.0, *places, float(len(line))])
    long = np.flatnonzero(np.diff(at) > JOIN_MM)
    node = _numbered(line.point(at))
    return np.stack([at[long], at[long + 1]], axis=1), np.stack([node[long], node[long + 1]], axis=1)


def _at_reach(line: Curve, point: Points, distance: float) -> list[float]:
    """The parameters where ``line`` is just ``distance`` from ``point``: roots of |P - q|² - d²."""
    relative = (line.beziers - point).swapaxes(1, 2)
    piece, u = roots(product(relative, relative).sum(axis=1) - distance**2, touching=2.0 * abs(distance) * JOIN_MM)
    places: list[float] = (piece + u).tolist()
    return places


def _numbered(points: Points) -> Rows:
    """A number for each of the points (m, 2), the same for points that are one within ``CLOSED_MM``."""
    near = np.abs(points[:, None] - points[None]).max(axis=2) <= CLOSED_MM
    result: Rows = near.argmax(axis=1)
    return result


def _margins(stretches: Points, line: Curve, curve: Curve, distance: float) -> Points:
    """How much further than ``distance`` each stretch is from the curve (mm), by the middle one of a few points."""
    low, high = stretches[:, :1], stretches[:, 1:]
    samples = line.point(low + (high - low) * _SAMPLES)
    away = crossings.nearest_to_each(curve, samples.reshape(-1, 2))[1].reshape(len(stretches), -1)
    return np.asarray(np.median(away, axis=1) - abs(distance))


def _holds_dead(stretches: Points, raw: Moved) -> Mask:
    """Which stretches hold a Bézier that runs backwards or bridges an inner corner."""
    first = np.floor(stretches[:, 0] + JOIN_MM).astype(np.intp)
    stop = np.ceil(stretches[:, 1] - JOIN_MM).astype(np.intp)
    count = np.concatenate([[0], np.cumsum(raw.dead)])
    holds: Mask = count[stop] > count[first]
    return holds


def _spurs(stretches: Points, nodes: Rows, kept: Mask, margin: Points) -> Mask:
    """Which kept stretches lead nowhere: into a crossing that nothing leaves, or out of one that nothing enters.

    They are what the tolerance can't tell from a right one: a loop less deep than the deviation.
    """
    crossing = np.bincount(nodes.ravel(), minlength=nodes.max() + 1) > 2
    spurs = np.zeros_like(kept)
    while True:
        alive = kept & ~spurs
        entered, left = np.isin(nodes[:, 0], nodes[alive, 1]), np.isin(nodes[:, 1], nodes[alive, 0])
        stuck = (crossing[nodes[:, 0]] & ~entered) | (crossing[nodes[:, 1]] & ~left)
        found = alive & stuck & (margin < 0.0)
        if not found.any():
            return spurs
        spurs |= found & (margin == margin[found].min())


def _chains(nodes: Rows, kept: Mask, margin: Points) -> list[list[int]]:
    """The kept stretches put end to end: lists of their numbers, open chains from their first stretch.

    Where a point has two ways on it is straight on, or else the one further from the given curve.
    """
    left = sorted(np.flatnonzero(kept).tolist(), key=lambda k: -margin[k])
    arrivals = {int(nodes[k, 1]) for k in left}
    chains = []
    while left:
        k = next((k for k in sorted(left) if int(nodes[k, 0]) not in arrivals), min(left))
        chain = [k]
        left.remove(k)
        while nodes[chain[-1], 1] != nodes[chain[0], 0]:
            onwards = [k for k in left if nodes[k, 0] == nodes[chain[-1], 1]]
            if not onwards:
                break
            chain.append(chain[-1] + 1 if chain[-1] + 1 in onwards else onwards[0])
            left.remove(chain[-1])
        chains.append(chain)
    return sorted(chains, key=min)


def _joined(line: Curve, stretches: Points, nodes: Rows, chain: list[int]) -> Curve:
    beziers = np.concatenate([line.between(*stretches[k]).beziers for k in chain])
    beziers[1:, 0] = beziers[:-1, 3]
    if nodes[chain[-1], 1] == nodes[chain[0], 0]:
        beziers[-1, 3] = beziers[0, 0]
    return Curve(beziers)


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
