"""Which stretches of an untrimmed parallel are right, and how they hang together."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from patterns import crossings
from patterns.affine import Points
from patterns.bernstein import Rows, product, roots
from patterns.curve import CLOSED_MM, JOIN_MM, Curve
from patterns.offsetting import Joins, Moved, moved

Mask = NDArray[np.bool_]

SAME_CUT = 1e-3
"""Cuts nearer than this in parameter, and at one point, are one cut."""

DEAD_SHARE = 0.01
"""A loop is wrong if this part of its length runs backwards or bridges a corner."""

_SAMPLES = np.array([0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9])


@dataclass(frozen=True, eq=False, slots=True)
class CutUp:
    """An untrimmed parallel in stretches, each right or wrong as a whole.

    ``spans`` are the parameters from and to, shape (m, 2), and ``nodes`` the numbers of the points there: stretches that
    meet share a number. ``margin`` is how much further from the given curve than asked each stretch is (mm), ``kept``
    whether it is part of the parallel.
    """

    spans: Points
    nodes: Rows
    margin: Points
    kept: Mask


def cut_up(line: Curve, raw: Moved, curve: Curve, distance: float, joins: Joins) -> CutUp:
    """Cuts the untrimmed parallel ``line`` of ``curve`` wherever it can turn from right to wrong.

    It can where it crosses itself, where it enters the reach of an open curve's end, and where it crosses the parallel
    on the other side, as that of an open curve or of one that crosses itself may.
    """
    pairs = crossings.self_crossings(line)
    places = [t for pair in pairs for t in pair]
    if not curve.is_closed:
        places += [*_at_reach(line, curve.start, distance), *_at_reach(line, curve.end, distance)]
    if not curve.is_closed or crossings.self_crossings(curve):
        other = moved(curve, -distance, raw.deviation + CLOSED_MM, joins)
        places += [t for t, _ in crossings.between(line, Curve(other.beziers))]
    spans, nodes = _spans(line, places)
    margin = _margins(spans, line, curve, distance)
    kept = _without_loops(margin >= -1.2 * raw.deviation - CLOSED_MM, spans, pairs, line, raw)
    return CutUp(spans, nodes, margin, kept & ~_spurs(nodes, kept, margin, line.is_closed))


def _spans(line: Curve, places: list[float]) -> tuple[Points, Rows]:
    """The stretches between the given parameters, and the numbers of the points at their ends: shapes (m, 2)."""
    at = np.unique([0.0, *places, float(len(line))])
    node = _numbered(line.point(at))
    width = np.diff(at)
    real = np.flatnonzero((width > JOIN_MM) & ((node[1:] != node[:-1]) | (width > SAME_CUT)))
    return np.stack([at[real], at[real + 1]], axis=1), np.stack([node[real], node[real + 1]], axis=1)


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


def _margins(spans: Points, line: Curve, curve: Curve, distance: float) -> Points:
    """How much further than ``distance`` each stretch is from the curve (mm), by the middle one of a few points."""
    low, high = spans[:, :1], spans[:, 1:]
    samples = line.point(low + (high - low) * _SAMPLES)
    away = crossings.nearest_to_each(curve, samples.reshape(-1, 2))[1].reshape(len(spans), -1)
    return np.asarray(np.median(away, axis=1) - abs(distance))


def _without_loops(kept: Mask, spans: Points, pairs: list[tuple[float, float]], line: Curve, raw: Moved) -> Mask:
    """The kept stretches less those on simple loops that run backwards or bridge a corner in part.

    A shallow loop can't be told by its distance. A right stretch may hold a dead speck, so a fair share is asked. A loop
    is simple if nothing crosses it any more, once the loops in it are gone. An open line may begin or end on one.
    """
    kept, (whole, dead) = kept.copy(), _measured(spans, line, raw)
    middle = spans.mean(axis=1)
    if not line.is_closed:
        starts_dead = dead[[0, -1]] >= DEAD_SHARE * whole[[0, -1]]
        kept[[0, -1]] &= ~(starts_dead & raw.dead[[0, -1]])
    after = np.searchsorted(middle, np.array(pairs).reshape(-1, 2)) % len(spans)
    found = True
    while found:
        found = False
        still = (kept[after] & kept[after - 1]).all(axis=1) & (after[:, 0] != after[:, 1])
        crossed = after[still].ravel()
        for t, u in np.array(pairs)[still] if still.any() else ():
            inner = (middle > t) & (middle < u)
            for loop in (inner, ~inner) if line.is_closed else (inner,):
                left = kept & loop
                simple = not (loop[crossed] & loop[crossed - 1]).any()
                if simple and left.any() and dead[left].sum() >= DEAD_SHARE * whole[left].sum():
                    kept, found = kept & ~loop, True
    return kept


def _measured(spans: Points, line: Curve, raw: Moved) -> tuple[Points, Points]:
    """The length of each stretch, and that of the dead Béziers on it (mm)."""
    lengths = line.piece_lengths()
    upto = np.concatenate([np.zeros((1, 2)), np.cumsum(np.stack([lengths, lengths * raw.dead], axis=1), axis=0)])
    whole, dead = (np.interp(spans, np.arange(len(upto)), upto[:, k]) for k in (0, 1))
    return whole[:, 1] - whole[:, 0], dead[:, 1] - dead[:, 0]


def _spurs(nodes: Rows, kept: Mask, margin: Points, closed: bool) -> Mask:
    """Which kept stretches lead nowhere: into a crossing that nothing leaves, or out of one that nothing enters.

    They are what the tolerance can't tell from a right one: a loop less deep than the deviation.
    """
    crossing = np.bincount(nodes.ravel(), minlength=nodes.max() + 1) > 2
    crossing[nodes[0, 0]] |= closed
    lobe = nodes[:, 0] == nodes[:, 1]
    spurs = np.zeros_like(kept)
    while True:
        going = kept & ~spurs & ~lobe
        entered, left = np.isin(nodes[:, 0], nodes[going, 1]), np.isin(nodes[:, 1], nodes[going, 0])
        stuck = (crossing[nodes[:, 0]] & ~entered) | (crossing[nodes[:, 1]] & ~left)
        found = going & stuck & (margin < 0.0)
        if not found.any():
            return spurs
        spurs |= found & (margin == margin[found].min())


def chains(cut: CutUp) -> list[list[int]]:
    """The kept stretches put end to end: lists of their numbers, open chains from their first stretch.

    Where a point has two ways on it is straight on, or else the one further from the given curve.
    """
    nodes, margin = cut.nodes, cut.margin
    left = sorted(np.flatnonzero(cut.kept).tolist(), key=lambda k: -margin[k])
    arrivals = {int(nodes[k, 1]) for k in left}
    result = []
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
        result.append(chain)
    return sorted(result, key=min)
