"""At every bevelled edge of a panel a small section: how the cut leans, and where the waste is."""

from __future__ import annotations

import math

import numpy as np

from patterns.blank import Edge
from patterns.carcass.settings import SQUARE
from patterns.carcass.shown import Shown
from patterns.curve import Curve
from patterns.freespace import Point
from patterns.pattern import Role
from patterns.sketch import SMALL_MM, Sketch, moved, readable, text_width

_HALF_LONG, _HALF_THICK, _ARROW = 8.0, 2.5, 6.0
LEAST_SHOWN = math.radians(0.05)
SHARES = (0.3, 0.7, 0.2, 0.8, 0.4, 0.6, 0.5)
DEPTHS_MM = (14.0, 24.0, 34.0, 46.0)
"""Places that are tried along an edge, and how far inside it."""


def draw_bevels(sketch: Sketch, shown: Shown) -> None:
    """The sketches of all edges that are straight on what is shown."""
    panel, blank = shown.panel, shown.part.blank
    tilts = [panel.board.tilt_of(number) for number in range(len(panel.board.sides))]
    if max(tilts) - min(tilts) < SQUARE and abs(tilts[0]) > SQUARE:
        any(_draw_bevel(sketch, shown, edge, tilts[0], "every edge: ") for edge in blank.edges)
        return
    for side, tilt in zip(panel.board.sides, tilts, strict=True):
        edge = blank.edge(side.edge)
        if edge is not None and abs(tilt) > LEAST_SHOWN:
            _draw_bevel(sketch, shown, edge, tilt)


def _draw_bevel(sketch: Sketch, shown: Shown, edge: Edge, tilt: float, lead: str = "") -> bool:
    """At an edge that is straight somewhere; returns whether there was room for the sketch, or at least for its words."""
    run = shown.straight_run(edge)
    if run is None:
        return False
    degrees = f"{lead}{round(abs(math.degrees(tilt)), 1):g}° bevel, {'outside' if tilt > 0 else 'inside'} face short"
    out = (-edge.inward[0], -edge.inward[1])
    key = f"bevel.{edge.name}"
    angle = readable(edge.direction)
    width = text_width(degrees, SMALL_MM)
    for depth in DEPTHS_MM:
        for share in SHARES:
            station = run[0] + share * (run[1] - run[0])
            at = moved(moved(edge.start, edge.direction, station), edge.inward, depth)
            words_at = moved(at, edge.inward, _HALF_LONG + 4.0)
            if (
                _is_inside(shown, at, words_at, angle, width)
                and not sketch.space.covered(at, 2 * _HALF_THICK + 2.0, 2 * _HALF_LONG + 2 * _ARROW, angle)
                and not sketch.space.covered(words_at, width, SMALL_MM, angle)
            ):
                _draw_section(sketch, at, out, tilt, key)
                sketch.write(key, degrees, (words_at, angle), SMALL_MM)
                return True
    middle = moved(edge.start, edge.direction, (run[0] + run[1]) / 2)
    places = [(moved(middle, edge.inward, depth), angle) for depth in (5.0, 9.5, 14.0, 20.0)]
    before = len(sketch.labels)
    sketch.label(key, degrees, places, needed=False, height=SMALL_MM)
    return len(sketch.labels) > before


def _is_inside(shown: Shown, at: Point, words_at: Point, angle: float, width: float) -> bool:
    along = (math.cos(angle), math.sin(angle))
    points = [moved(at, along, k * (_HALF_THICK + 1.0)) for k in (-1, 1)]
    points += [moved(words_at, along, k * (width / 2 + 1.0)) for k in (-1, 0, 1)]
    return bool(shown.outline.contains(np.array(points)).all())


def _draw_section(sketch: Sketch, at: Point, out: Point, tilt: float, key: str) -> None:
    """The outside face is the line with a short stroke across it; the arrow points to the waste."""
    across = (-out[1], out[0])
    lean = 2 * _HALF_THICK * math.tan(max(-math.radians(60), min(math.radians(60), tilt))) / 2
    outside = [moved(moved(at, out, r), across, _HALF_THICK) for r in (-_HALF_LONG, -lean)]
    inside = [moved(moved(at, out, r), across, -_HALF_THICK) for r in (lean, -_HALF_LONG)]
    sketch.stroke(Role.SKETCH, Curve.polyline([*outside, *inside]), key)
    tick = moved(outside[0], out, 2.0)
    sketch.line(Role.SKETCH, moved(tick, across, -0.8), moved(tick, across, 0.8), f"{key}.outside")
    start, tip = moved(at, out, abs(lean) + 1.0), moved(at, out, abs(lean) + 1.0 + _ARROW)
    sketch.line(Role.SKETCH, start, tip, f"{key}.waste")
    barbs = [moved(moved(tip, out, -2.0), across, k * 0.8) for k in (-1, 1)]
    sketch.stroke(Role.SKETCH, Curve.polyline([barbs[0], tip, barbs[1]]), f"{key}.waste")
