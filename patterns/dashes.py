"""Dashed and chain lines, cut into their dashes here rather than by whatever shows the drawing.

A straight line's dashes are counted from the part's datum, along its direction; a curve's from its start. A far end
that moves then leaves the dashes near the datum where they were, and two sheets of a seam agree about them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from patterns.arclength import parameters_at
from patterns.curve import Curve
from patterns.pattern import Role, Stroke

RHYTHMS: dict[Role, tuple[float, ...]] = {
    Role.CENTRE: (12.0, 1.5, 1.5, 1.5),
    Role.HIDDEN: (3.0, 1.5),
    Role.BLANK: (10.0, 1.5, 1.5, 1.5, 1.5, 1.5),
    Role.GLUE: (8.0, 2.0),
}
"""Dash, gap, dash, gap ... in mm: long-dashed short-dashed (04), dashed (02), long-dashed double-short-dashed (05) and
long dashes (03) of ISO 128-2, shortened a little so that a short line still shows its kind."""

SHORTEST_MM = 0.2
"""A crumb of a dash shorter than this at a line's end is left out: it would print as a speck."""


def dashes_of(stroke: Stroke) -> list[Curve]:
    """The stroke's curve cut into its dashes, in order; the curve itself where the role is drawn continuous."""
    rhythm = RHYTHMS.get(stroke.role)
    curve = stroke.curve
    if rhythm is None or curve.length <= rhythm[0]:
        return [curve]
    if curve.is_straight:
        return _straight(curve, rhythm)
    ranges = _inked(0.0, curve.length, rhythm)
    parameters = parameters_at(curve, [end for pair in ranges for end in pair])
    return [curve.between(t0, t1) for t0, t1 in zip(parameters[::2], parameters[1::2], strict=True) if t1 > t0]


def _straight(curve: Curve, rhythm: Sequence[float]) -> list[Curve]:
    """Dashes by the projection on the line's direction, turned so that it points right (or up)."""
    start, end = (curve.start, curve.end)
    if (end[0] - start[0], end[1] - start[1]) < (0.0, 0.0):
        start, end = end, start
    length = math.dist(start, end)
    direction = (end - start) / length
    begin = float(start @ direction)
    pieces = []
    for a, b in _inked(begin, begin + length, rhythm):
        pieces.append(Curve.line(start + direction * (a - begin), start + direction * (b - begin)))
    return pieces


def _inked(begin: float, end: float, rhythm: Sequence[float]) -> list[tuple[float, float]]:
    """The inked ranges of the rhythm between two coordinates; the rhythm starts at coordinate 0."""
    period = math.fsum(rhythm)
    offsets = np.concatenate([[0.0], np.cumsum(rhythm)])
    ranges = []
    for turn in range(math.floor(begin / period), math.floor(end / period) + 1):
        for k in range(0, len(rhythm), 2):
            a = max(begin, turn * period + offsets[k])
            b = min(end, turn * period + offsets[k + 1])
            if b - a >= SHORTEST_MM:
                ranges.append((float(a), float(b)))
    return ranges
