"""A curve moved sideways, piece by piece, with nothing trimmed yet: loops and all.

Each piece is split where the parallel stands still (where the distance is the radius of curvature) and at cusps, and
then halved until a cubic with the parallel's own end points and end velocities, P' (1 - k d), is near enough.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from patterns.affine import Affine, Points
from patterns.bernstein import Rows, derivative, value_and_slope
from patterns.beziers import halved
from patterns.curvature import curvature_of, tightest_candidates
from patterns.curve import CLOSED_MM, JOIN_MM, Curve
from patterns.meetings import dot, points_at, turn_bound
from patterns.tangents import (
    HALF_TURN,
    STANDSTILL,
    corners,
    cross,
    end_tangents,
    real_pieces,
    side_of_return,
    turns_between,
)

Joins = Literal["round", "sharp"]

MOST_HALVINGS = 40
SPECK = 0.4
"""Runs smaller than this part of the tolerance that hold a loop are drawn as one short line."""

MOST_TURN = 1.0
"""A stretch whose tangent may stray further from its chord (radians) is halved: samples could miss a hairpin in it."""

SHARPEST_TURN = math.radians(150.0)
"""A corner that turns further is rounded even where sharp joins are asked for: its point would run far out."""

_FOOT_STEPS = 5
_SAMPLES = np.linspace(0.0, 1.0, 10)[1:-1]


@dataclass(frozen=True, eq=False, slots=True)
class Moved:
    """Béziers (m, 4, 2) in a chain, and for each the parameters of the given curve that it comes from.

    ``dead`` are those that can't be part of a parallel: they run backwards, because the distance exceeds the radius, or
    bridge a corner on its inner side. ``deviation`` is the most by which another strays from the distance (mm).
    """

    beziers: Points
    start: Points
    end: Points
    dead: NDArray[np.bool_]
    deviation: float


@dataclass(frozen=True, eq=False, slots=True)
class _Run:
    """What becomes of one stretch of the curve, or of one corner."""

    beziers: Points
    start: Points
    end: Points
    dead: NDArray[np.bool_]


def moved(curve: Curve, distance: float, tolerance_mm: float, joins: Joins) -> Moved:
    """The curve moved by ``distance`` mm to its left (negative: right), corners joined.

    A curve that is only a point gives no Béziers.
    """
    start, end = _smooth_stretches(curve, distance)
    if not len(start):
        return Moved(np.zeros((0, 4, 2)), start, end, np.zeros(0, dtype=np.bool_), 0.0)
    beziers = _at_rest(np.array([curve.between(a, b).beziers[0] for a, b in zip(start, end, strict=True)]))
    leaving, arriving = end_tangents(beziers)
    owner, fitted, low, high, deviation = _fitted(beziers, start, end, distance, tolerance_mm)
    backwards = 1.0 - distance * curvature_of(beziers, np.full(len(beziers), 0.5)) < 0.0
    runs = []
    for k in range(len(beziers)):
        mine = owner == k
        run = _Run(fitted[mine], low[mine], high[mine], np.full(int(mine.sum()), backwards[k]))
        runs.append(run)
        if k + 1 < len(beziers) or curve.is_closed:
            after = (k + 1) % len(beziers)
            turn = _turn(beziers[k], beziers[after], arriving[k], leaving[after], distance)
            runs += _join(beziers[k, 3], arriving[k], turn, end[k], distance, tolerance_mm, joins)
    return _chained(runs, tolerance_mm, deviation, curve.is_closed)


def _smooth_stretches(curve: Curve, distance: float) -> tuple[Points, Points]:
    """The parameters between which the parallel of one piece never stands still: starts and ends."""
    real = real_pieces(curve)
    if not len(real):
        return np.zeros(0), np.zeros(0)
    stops = [real.astype(np.float64), real + 1.0, *_standing_still(curve, real, distance)]
    inner = np.array([corner.t for corner in corners(curve)])
    knots = np.unique(np.concatenate([*stops, inner]))
    knots = knots[np.append(True, np.diff(knots) > JOIN_MM)]
    inside = np.isin(np.floor(0.5 * (knots[1:] + knots[:-1])).astype(np.intp), real)
    return knots[:-1][inside], knots[1:][inside]


def _at_rest(beziers: Points) -> Points:
    """The Béziers, a handle that is next to nothing set on its end: what is left of it by rounding points anywhere."""
    size = STANDSTILL * np.abs(beziers - beziers[:, :1]).max(axis=(1, 2))
    for handle, end in ((1, 0), (2, 3)):
        still = np.abs(beziers[:, handle] - beziers[:, end]).max(axis=1) <= size
        beziers[still, handle] = beziers[still, end]
    return beziers


def _standing_still(curve: Curve, real: Rows, distance: float) -> list[Points]:
    """The parameters where the curvature is 1 / distance: halving between its extremes, where it is monotone."""
    row, u = tightest_candidates(curve.beziers[real])
    order = np.lexsort((u, row))
    row, u = row[order], u[order]
    same = np.flatnonzero(row[1:] == row[:-1])
    low, high, piece = u[same], u[same + 1], real[row[same]]
    excess = 1.0 - distance * curvature_of(curve.beziers[piece], low)
    changes = excess * (1.0 - distance * curvature_of(curve.beziers[piece], high)) < 0.0
    low, high, piece, sign = low[changes], high[changes], piece[changes], np.sign(excess[changes])
    for _ in range(54):
        middle = 0.5 * (low + high)
        before = np.sign(1.0 - distance * curvature_of(curve.beziers[piece], middle)) == sign
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    return [piece + 0.5 * (low + high)]


def _fitted(
    beziers: Points, start: Points, end: Points, distance: float, tolerance_mm: float
) -> tuple[Rows, Points, Points, Points, float]:
    """Cubics near the parallels of smooth stretches: (which stretch, Béziers, starts, ends, deviation), in order."""
    owner = np.arange(len(beziers))
    done: list[tuple[Rows, Points, Points, Points]] = []
    worst = 0.0
    for depth in range(MOST_HALVINGS + 1):
        parallel = _with_end_velocities(beziers, distance)
        off = _deviation(beziers, parallel, distance)
        good = (off <= tolerance_mm) & (turn_bound(beziers) <= MOST_TURN) | (depth == MOST_HALVINGS)
        worst = max(worst, float(off[good].max(initial=0.0)))
        done.append((owner[good], parallel[good], start[good], end[good]))
        if good.all():
            break
        low, high = halved(beziers[~good])
        middle = 0.5 * (start[~good] + end[~good])
        owner, beziers = np.tile(owner[~good], 2), np.concatenate([low, high])
        start, end = np.concatenate([start[~good], middle]), np.concatenate([middle, end[~good]])
    which, fitted, low, high = (np.concatenate(column) for column in zip(*done, strict=True))
    order = np.argsort(low, kind="stable")
    return which[order], fitted[order], low[order], high[order], worst


def _with_end_velocities(beziers: Points, distance: float) -> Points:
    """Cubics with the end points and end velocities of the parallels of ``beziers``."""
    leaving, arriving = end_tangents(beziers)
    start = beziers[:, 0] + distance * _left_of(leaving)
    end = beziers[:, 3] + distance * _left_of(arriving)
    out = _speed(beziers, 0.0, distance)[:, None] * leaving
    into = _speed(beziers, 1.0, distance)[:, None] * arriving
    return np.stack([start, start + out / 3.0, end - into / 3.0, end], axis=1)


def _speed(beziers: Points, u: float, distance: float) -> Points:
    """|P'| (1 - k d) at one end; where P' vanishes its limit, -d (P'' x P''') / 2 |P''|²."""
    legs = derivative(beziers.swapaxes(1, 2))
    first, second = value_and_slope(legs, np.full((len(beziers), 2), u))
    third = derivative(derivative(legs))[..., 0]
    speed, bend = np.hypot(first[:, 0], first[:, 1]), dot(second, second)
    with np.errstate(divide="ignore", invalid="ignore"):
        turning = np.where(speed > 0.0, cross(first, second) / speed**2, 0.0)
        at_rest = np.where(bend > 0.0, 0.5 * cross(second, third) / bend, 0.0)
    still = speed <= STANDSTILL * np.abs(legs).max(axis=(1, 2))
    result: Points = np.where(still, -distance * at_rest, speed - distance * turning)
    return result


def _deviation(beziers: Points, parallel: Points, distance: float) -> Points:
    """The most by which points of each ``parallel`` differ from ``distance`` to the Bézier it belongs to (mm)."""
    count = len(_SAMPLES)
    u = np.tile(_SAMPLES, len(beziers))
    source, other = np.repeat(beziers, count, axis=0), np.repeat(parallel, count, axis=0)
    points = points_at(other, u)
    legs, foot = derivative(source.swapaxes(1, 2)), u
    plain = np.abs(_aside(source, legs, points, u) - distance)
    for _ in range(_FOOT_STEPS):
        first, second = value_and_slope(legs, np.stack([foot, foot], axis=1))
        away = points - points_at(source, foot)
        bend = dot(first, first) - dot(away, second)
        with np.errstate(divide="ignore", invalid="ignore"):
            foot = np.clip(foot + np.nan_to_num(dot(away, first) / bend, posinf=0.0, neginf=0.0), 0.0, 1.0)
    first, _ = value_and_slope(legs, np.stack([foot, foot], axis=1))
    away = points - points_at(source, foot)
    square = np.abs(dot(away, first)) <= CLOSED_MM * np.hypot(first[:, 0], first[:, 1])
    off = np.where(square, np.abs(np.hypot(away[:, 0], away[:, 1]) - abs(distance)), plain)
    worst: Points = off.reshape(-1, count).max(axis=1)
    return worst


def _aside(source: Points, legs: Points, points: Points, u: Points) -> Points:
    """How far each point lies to the left of its Bézier's tangent at ``u`` (mm)."""
    first, _ = value_and_slope(legs, np.stack([u, u], axis=1))
    speed = np.hypot(first[:, 0], first[:, 1])
    aside: Points = cross(first, points - points_at(source, u)) / np.where(speed > 0.0, speed, 1.0)
    return aside


def _turn(into: Points, out: Points, before: Points, after: Points, distance: float) -> float:
    """The turn at a joint (radians); round the tip, as seen from the parallel, where the curve goes back along itself."""
    turn = float(turns_between(before[None], after[None])[0])
    if abs(turn) <= HALF_TURN:
        return turn
    return math.copysign(math.pi, side_of_return(into, out) or -distance)


def _join(
    corner: Points, before: Points, turn: float, t: float, distance: float, tolerance_mm: float, joins: Joins
) -> list[_Run]:
    """What bridges a corner: nothing where the tangent runs on, an arc or a point outside, a dead line inside."""
    after = np.array(Affine.rotation(turn).point(*before))
    start, end = corner + distance * _left_of(before), corner + distance * _left_of(after)
    if abs(turn * distance) <= 0.1 * tolerance_mm:
        return []
    if turn * distance > 0.0:
        return [_bridge(Curve.line(start, end), t, dead=True)]
    if joins == "sharp" and abs(turn) <= SHARPEST_TURN:
        point = start + before * abs(distance) * math.tan(abs(turn) / 2.0)
        return [_bridge(Curve.polyline([start, point, end]), t)]
    side = math.copysign(1.0, distance) * _left_of(before)
    angle = math.atan2(float(side[1]), float(side[0]))
    return [_bridge(Curve.arc(corner, abs(distance), angle, angle + turn), t)]


def _bridge(curve: Curve, t: float, dead: bool = False) -> _Run:
    place = np.full(len(curve), t)
    return _Run(curve.beziers, place, place, np.full(len(curve), dead))


def _left_of(tangents: Points) -> Points:
    return np.stack([-tangents[..., 1], tangents[..., 0]], axis=-1)


def _chained(runs: list[_Run], tolerance_mm: float, deviation: float, closed: bool) -> Moved:
    """The runs end to end; the little that smooth joints leave open is shared between both sides."""
    beziers = np.concatenate([run.beziers for run in runs])
    last = len(beziers) if closed else len(beziers) - 1
    for k in range(last):
        after = (k + 1) % len(beziers)
        shift = 0.5 * (beziers[after, 0] - beziers[k, 3])
        beziers[k, 2:] += shift
        beziers[after, :2] -= shift
        beziers[after, 0] = beziers[k, 3]
    start, end, dead = (np.concatenate([getattr(run, name) for run in runs]) for name in ("start", "end", "dead"))
    return _without_specks(Moved(beziers, start, end, dead, deviation), SPECK * tolerance_mm)


def _without_specks(line: Moved, size_mm: float) -> Moved:
    """Runs that go to and fro on one spot, as where the distance is an arc's radius, each as a single short line."""
    spans, k = [], 0
    while k < len(line.beziers):
        stop = k + 1
        while stop < len(line.beziers) and np.ptp(line.beziers[k : stop + 1], axis=(0, 1)).max() <= size_mm:
            stop += 1
        if stop > k + 1 and line.dead[k:stop].any():
            spans.append((k, stop))
            k = stop
        else:
            k += 1
    if not spans:
        return line
    beziers, start, end, dead = line.beziers.copy(), line.start.copy(), line.end.copy(), line.dead.copy()
    keep = np.ones(len(beziers), dtype=np.bool_)
    for k, stop in spans:
        beziers[k] = np.linspace(beziers[k, 0], beziers[stop - 1, 3], 4)
        end[k], dead[k], keep[k + 1 : stop] = end[stop - 1], False, False
    return Moved(beziers[keep], start[keep], end[keep], dead[keep], max(line.deviation, size_mm))
