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

_SAMPLES = (np.arange(15) + 0.5) / 15.0


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
    on the other side (only looked for if a stretch turns out to be right in part).
    """
    places = [t for pair in crossings.self_crossings(line) for t in pair]
    if not curve.is_closed:
        places += [*_at_reach(line, curve.start, distance), *_at_reach(line, curve.end, distance)]
    near = 2.0 * raw.deviation + CLOSED_MM
    spans, nodes = _spans(line, places)
    margins = _margins(spans, line, curve, distance)
    wrong = margins < -near
    if (wrong.any(axis=1) & ~wrong.all(axis=1) & ~_holds_dead(spans, raw)).any():
        other = moved(curve, -distance, raw.deviation + CLOSED_MM, joins)
        places += [t for t, _ in crossings.between(line, Curve(other.beziers))]
        spans, nodes = _spans(line, places)
        margins = _margins(spans, line, curve, distance)
    margin = np.median(margins, axis=1)
    kept = (margin >= -near) & ~_holds_dead(spans, raw)
    return CutUp(spans, nodes, margin, kept & ~_spurs(nodes, kept, margin))


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
    """How much further than ``distance`` points of each stretch are from the curve (mm), shape (m, samples)."""
    low, high = spans[:, :1], spans[:, 1:]
    samples = line.point(low + (high - low) * _SAMPLES)
    away = crossings.nearest_to_each(curve, samples.reshape(-1, 2))[1].reshape(len(spans), -1)
    return away - abs(distance)


def _holds_dead(spans: Points, raw: Moved) -> Mask:
    """Which stretches hold a Bézier that runs backwards or bridges an inner corner."""
    first = np.floor(spans[:, 0] + JOIN_MM).astype(np.intp)
    stop = np.ceil(spans[:, 1] - JOIN_MM).astype(np.intp)
    count = np.concatenate([[0], np.cumsum(raw.dead)])
    holds: Mask = count[stop] > count[first]
    return holds


def _spurs(nodes: Rows, kept: Mask, margin: Points) -> Mask:
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
