"""Dimensions of the blank, drawn outside it."""

from __future__ import annotations

import math

from patterns.blank import Blank
from patterns.display import Display
from patterns.freespace import Point
from patterns.pattern import Dimension, Role
from patterns.sketch import Sketch, moved, readable

LINE_MM = 10.0
"""From the blank to a dimension line; the figure stands between the two (ISO 129-1: above the line)."""
FIGURE_AT_MM = 6.2
EXTENSION_MM = (1.5, 11.5)
"""An extension line's beginning and end, from the blank."""


def draw_dimensions(sketch: Sketch, blank: Blank, display: Display) -> tuple[Dimension, ...]:
    """Draws them and returns them."""
    made = []
    for name, start, end, outward in _measured(blank):
        key = f"dimension.{name}"
        text = display.both(math.dist(start, end))
        draw_dimension(sketch, key, text, start, end, outward)
        made.append(Dimension(key, text, start, end))
    return tuple(made)


def _measured(blank: Blank) -> list[tuple[str, Point, Point, Point]]:
    """What is dimensioned: name, ends, and the unit vector outward."""
    x0, y0, _, y1 = blank.bounds
    if blank.spec.kind == "polygon" or len(blank.edges) != 4:
        return [(e.name, e.start, e.end, (-e.inward[0], -e.inward[1])) for e in blank.edges]
    below, left, above = (0.0, -1.0), (-1.0, 0.0), (0.0, 1.0)
    bottom, top = blank.edges[0], blank.edges[2]
    if blank.spec.kind == "rectangle":
        return [("length", bottom.start, bottom.end, below), ("width", (x0, y0), (x0, y1), left)]
    found = [("bottom", bottom.start, bottom.end, below), ("top", top.start, top.end, above)]
    return [*found, ("height", (x0, y0), (x0, y1), left)]


def draw_dimension(sketch: Sketch, key: str, text: str, start: Point, end: Point, outward: Point) -> None:
    """A dimension of what lies between two points, drawn ``LINE_MM`` outward of them (a unit vector)."""
    for point in (start, end):
        ends = (moved(point, outward, EXTENSION_MM[0]), moved(point, outward, EXTENSION_MM[1]))
        sketch.line(Role.DIMENSION, *ends, f"{key}.extension")
    sketch.arrow(Role.DIMENSION, moved(start, outward, LINE_MM), moved(end, outward, LINE_MM), key)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    length = math.dist(start, end)
    direction = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    places = [(moved(middle, outward, FIGURE_AT_MM), readable(direction))]
    sketch.label(key, text, places)
