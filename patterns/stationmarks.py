"""Marks along a sweep: ticks and figures at a table's stations, at springings and crowns."""

from __future__ import annotations

from collections.abc import Sequence

from patterns.freespace import Point
from patterns.pattern import Role
from patterns.sketch import FIGURE_MM, Place, Sketch, moved, readable, text_width
from patterns.stretch import StationMark, Stretch

TICK_MM = 5.0
GAP_MM = 1.5
"""Between a tick and its words."""


def draw_station_marks(sketch: Sketch, stretches: Sequence[Stretch]) -> None:
    """A tick square to the edge at every mark; words beside it where they are clear, in the waste if there is room."""
    for stretch in stretches:
        for number, mark in enumerate(stretch.marks):
            _draw(sketch, mark, f"{stretch.key}.{mark.kind}[{number}]")


def _draw(sketch: Sketch, mark: StationMark, key: str) -> None:
    width = text_width(mark.text)
    outward = (-mark.inward[0], -mark.inward[1])
    needs = TICK_MM + GAP_MM + width
    ways = [outward, mark.inward] if mark.depth >= needs else [mark.inward]
    for direction in ways:
        places = _places(mark.point, direction, width)
        if sketch.space.first_free(places, width, FIGURE_MM) is not None:
            sketch.label(key, mark.text, places)
            break
    else:
        direction = ways[0]
    sketch.line(Role.MARK, mark.point, moved(mark.point, direction, TICK_MM), key)


def _places(point: Point, direction: Point, width: float) -> list[Place]:
    """Along the tick beyond its end, and further in where something is in the way."""
    angle = readable(direction)
    first = TICK_MM + GAP_MM + width / 2
    along = [(moved(point, direction, first + step), angle) for step in (0.0, 4.0, 8.0)]
    aside = (-direction[1], direction[0])
    beside = [(moved(at, aside, step), angle) for at, _ in along[:1] for step in (4.0, -4.0)]
    return along + beside
