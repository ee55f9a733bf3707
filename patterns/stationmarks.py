"""Marks along a sweep: ticks and figures at a table's stations, at springings and crowns."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct

from patterns.freespace import Point
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.sketch import FIGURE_MM, Place, Sketch, moved, readable, text_width
from patterns.stretch import StationMark, Stretch

TICK_MM = 5.0
GAP_MM = 1.5
"""Between a tick and its words."""
OUTSIDE_MM = 12.0
"""Words may reach this far out of the blank, as dimensions do."""
EDGE = 1e-6
"""A point on the very edge of the wood counts as over it: it is moved by this share of its way to the middle."""
ASIDE_MM = 4.0
"""Words that stand beside a tick rather than beyond it are moved by this much."""


class Around(Struct, frozen=True, eq=False, dict=True):
    """What the marks stand in: the blank or board that is cut, and the middle of the piece cut from it (mm)."""

    wood: Outline
    middle: Point

    def holds(self, point: Point) -> bool:
        """Whether a point is over the wood; one on its very edge is."""
        return self.holds_each([point])[0]

    def holds_each(self, points: Sequence[Point]) -> list[bool]:
        """Whether each of the points is over the wood; one on its very edge is."""
        if self._is_box:
            (x0, y0, x1, y1), (mx, my) = self.wood.bounds, self.middle
            near = ((x + EDGE * (mx - x), y + EDGE * (my - y)) for x, y in points)
            return [x0 < x < x1 and y0 < y < y1 for x, y in near]
        at = np.array(points, dtype=np.float64).reshape(-1, 2)
        over: list[bool] = self.wood.contains(at + EDGE * (np.array(self.middle) - at)).tolist()
        return over

    @cached_property
    def _is_box(self) -> bool:
        """Whether the wood is a plain rectangle, of which one need not ask the roots of its line: it fills its bounds."""
        x0, y0, x1, y1 = self.wood.bounds
        room = (x1 - x0) * (y1 - y0)
        return not self.wood.holes and room - self.wood.area <= EDGE * EDGE * room


def draw_station_marks(sketch: Sketch, stretches: Sequence[Stretch], around: Around) -> None:
    """A tick at every mark, and words beside it where they are clear.

    They stand in the waste if there is room, else on the piece; where two sides are alike, towards its middle. A mark
    so close to others that its words find no place has its tick alone.
    """
    for stretch in stretches:
        for number, mark in enumerate(stretch.marks):
            _draw(sketch, mark, f"{stretch.key}.{mark.kind}[{number}]", around)


def _draw(sketch: Sketch, mark: StationMark, key: str, around: Around) -> None:
    drawn = None
    for text in dict.fromkeys((mark.text, *_shorter(mark))):
        drawn = drawn or _written(sketch, mark, text, key, around)
    direction = drawn or _ways(mark, TICK_MM, around)[0]
    sketch.line(Role.MARK, mark.point, moved(mark.point, direction, TICK_MM), key)


def _written(sketch: Sketch, mark: StationMark, text: str, key: str, around: Around) -> Point | None:
    """Writes ``text`` by the mark if there is a clear place for it; returns the direction in which that is."""
    width = text_width(text)
    for direction in _ways(mark, TICK_MM + GAP_MM + width, around):
        places = _places(mark.point, direction, width, around.middle)
        over = around.holds_each([place[0] for place in places])
        places = [place for place, is_over in zip(places, over, strict=True) if is_over]
        found = sketch.space.first_free(places, width, FIGURE_MM)
        if found is not None:
            sketch.write(key, text, found)
            return direction
    return None


def _shorter(mark: StationMark) -> tuple[str, ...]:
    """What is said where there is little room: the crown without its rise, a depth without its station."""
    if mark.kind == "crown":
        return (mark.text.partition(",")[0],)
    if mark.kind == "springing":
        return ()
    return mark.text.removesuffix(" deep"), mark.text.partition(": ")[2]


def _ways(mark: StationMark, reach: float, around: Around) -> list[Point]:
    """The directions to try: into the waste if there is room for the words, on the piece, a little out of the blank."""
    inward = mark.tick
    outward = (-inward[0], -inward[1])
    if mark.kind == "springing":
        return [inward]
    if around.holds(moved(mark.point, outward, reach)):
        return [outward, inward]
    return [inward, outward] if around.holds(moved(mark.point, outward, reach - OUTSIDE_MM)) else [inward]


def _places(point: Point, direction: Point, width: float, middle: Point) -> list[Place]:
    """Beyond the tick's end, further on where something is in the way, then to either side of that."""
    angle = readable(direction)
    first = TICK_MM + GAP_MM + width / 2
    aside = (-direction[1], direction[0])
    if (middle[0] - point[0]) * aside[0] + (middle[1] - point[1]) * aside[1] < 0:
        aside = (-aside[0], -aside[1])
    line = [moved(point, direction, first + step) for step in (0.0, 4.0, 8.0)]
    places = [(at, angle) for at in line]
    for step in (ASIDE_MM, 2 * ASIDE_MM, -ASIDE_MM):
        beside = [moved(point, direction, GAP_MM + width / 2), *line]
        places += [(moved(at, aside, step), angle) for at in beside]
    return places
