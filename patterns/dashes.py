"""Dashed and chain lines, cut into their dashes here rather than by whatever shows the drawing.

A straight line's dashes are counted from the part's datum, along its direction; a curve's from its start. A far end
that moves then leaves the dashes near the datum where they were, and two sheets of a seam agree about them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from patterns.affine import Points
from patterns.arclength import parameters_at
from patterns.arrays import distinct
from patterns.blossom import stretches
from patterns.curve import Curve
from patterns.pattern import Role, Stroke

RHYTHMS: dict[Role, tuple[float, ...]] = {
    Role.CENTRE: (12.0, 1.5, 1.5, 1.5),
    Role.HIDDEN: (3.0, 1.5),
    Role.BLANK: (5.0, 1.0, 1.5, 1.0, 1.5, 1.0),
    Role.GLUE: (8.0, 2.0),
}
"""Dash, gap, dash, gap ... in mm: long-dashed short-dashed (04), dashed (02), long-dashed double-short-dashed (05) and
long dashes (03) of ISO 128-2, shortened a little so that a short line still shows its kind."""

SHORT: dict[Role, tuple[float, ...]] = {Role.BLANK: (1.5, 1.0, 1.5)}
"""Gap, dash, gap in mm of a line shorter than its rhythm: these stand in its middle and the rest of it is ink. Beside a
worked corner little is left of the blank's line; it must not look like one to cut."""

SHORTEST_MM = 0.2
"""A crumb of a dash shorter than this at a line's end is left out: it would print as a speck."""


def dash_beziers(stroke: Stroke) -> Points:
    """The stroke cut into its dashes, as Béziers (n, 4, 2) in order; whole where the role is drawn continuous."""
    rhythm = RHYTHMS.get(stroke.role)
    curve = stroke.curve
    if rhythm is None:
        return curve.beziers
    length = curve.length
    if stroke.role in SHORT and length < math.fsum(rhythm):
        return _at(curve, _short(length, SHORT[stroke.role]))
    if length <= rhythm[0]:
        return curve.beziers
    if curve.is_straight:
        return _straight(curve, rhythm)
    return _at(curve, _inked(0.0, length, rhythm))


def _short(length: float, middle: Sequence[float]) -> Points:
    """The inked ranges (3, 2) of a line too short for its rhythm; where it is very short all of it shrinks."""
    share = min(1.0, length / (math.fsum(middle) + middle[1]))
    gap, dash, _ = (share * each for each in middle)
    first = (length - dash) / 2
    return np.array([[0.0, first - gap], [first, first + dash], [first + dash + gap, length]])


def _at(curve: Curve, ranges: Points) -> Points:
    """The Béziers of the curve between distances (m, 2) along it (mm)."""
    return _stretches_between(curve, parameters_at(curve, ranges.ravel()).reshape(-1, 2))


def dashes_of(stroke: Stroke) -> list[Curve]:
    """The same as curves, each Bézier of a dash by itself."""
    beziers = dash_beziers(stroke)
    return [stroke.curve] if beziers is stroke.curve.beziers else [Curve(one[None]) for one in beziers]


def _straight(curve: Curve, rhythm: Sequence[float]) -> Points:
    """Dashes by the projection on the line's direction, turned so that it points right (or up)."""
    start, end = curve.start, curve.end
    if (end[0] - start[0], end[1] - start[1]) < (0.0, 0.0):
        start, end = end, start
    length = math.dist(start, end)
    direction = (end - start) / length
    begin = float(start @ direction)
    along = _inked(begin, begin + length, rhythm) - begin
    a, b = start + direction * along[:, :1], start + direction * along[:, 1:]
    return np.stack([a, a + (b - a) / 3, b - (b - a) / 3, b], axis=1)


def _stretches_between(curve: Curve, ranges: Points) -> Points:
    """The Béziers of the curve between pairs of parameters (m, 2), which do not overlap and ascend."""
    breaks = distinct(np.concatenate([ranges.ravel(), np.arange(len(curve) + 1)]))
    start, end = breaks[:-1], breaks[1:]
    middle = (start + end) / 2
    nearest = np.clip(np.searchsorted(ranges[:, 0], middle) - 1, 0, max(len(ranges) - 1, 0))
    inked = (middle > ranges[nearest, 0]) & (middle < ranges[nearest, 1]) & (end - start > 1e-9)
    start, end = start[inked], end[inked]
    piece = np.floor(middle[inked]).astype(np.int64)
    return stretches(curve.beziers[piece], start - piece, end - piece)


def _inked(begin: float, end: float, rhythm: Sequence[float]) -> Points:
    """The inked ranges (m, 2) of the rhythm between two coordinates; the rhythm starts at coordinate 0."""
    period = math.fsum(rhythm)
    offsets = np.concatenate([[0.0], np.cumsum(rhythm)])
    turns = np.arange(math.floor(begin / period), math.floor(end / period) + 1)[:, None] * period
    low, high = (turns + offsets[:-1:2]).ravel(), (turns + offsets[1::2]).ravel()
    low, high = np.maximum(low, begin), np.minimum(high, end)
    keep = high - low >= SHORTEST_MM
    return np.stack([low[keep], high[keep]], axis=1)
