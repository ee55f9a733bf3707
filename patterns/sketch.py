"""A drawing in the making: strokes and labels are added, and labels find their places clear of what is there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from patterns.affine import Points
from patterns.curve import Curve
from patterns.freespace import FreeSpace, Point
from patterns.lettering import shape
from patterns.pattern import Label, Role, Stroke

FIGURE_MM = 3.5
"""Height of figures that are worked to."""
SMALL_MM = 2.5
"""Height of words that nothing is measured by."""

ARROW_MM = 3.0
ARROW_HALF_ANGLE = math.radians(15.0)
"""An open arrowhead of 30 degrees (ISO 128 and ISO 129-1 allow 15 to 90)."""

Place = tuple[Point, float]


class Places:
    """Places to try in order, worked out one by one as they are wanted: mostly one of the first is clear."""

    def __init__(self, places: Iterable[Place]) -> None:
        self._known: list[Place] = []
        self._rest = iter(places)

    def __iter__(self) -> Iterator[Place]:
        yield from self._known
        for place in self._rest:
            self._known.append(place)
            yield place

    def __bool__(self) -> bool:
        return next(iter(self), None) is not None


class Sketch:
    """Collects strokes and labels in the part's coordinates (mm)."""

    def __init__(self) -> None:
        self.strokes: list[Stroke] = []
        self.labels: list[Label] = []
        self.space = FreeSpace()

    def stroke(self, role: Role, curve: Curve, key: str) -> None:
        """Adds a stroke."""
        self.strokes.append(Stroke(role, curve, key))
        self.space.take(curve)

    def line(self, role: Role, start: Point, end: Point, key: str) -> None:
        """Adds a straight stroke."""
        self.strokes.append(Stroke(role, Curve.line(start, end), key))
        self.space.take_line(start, end)

    def arrow(self, role: Role, start: Point, end: Point, key: str) -> None:
        """Adds a straight line with an open arrowhead at either end."""
        self.line(role, start, end, key)
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        for tip, back in ((start, angle), (end, angle + math.pi)):
            barbs = [turned(tip, back + side * ARROW_HALF_ANGLE, ARROW_MM) for side in (1, -1)]
            self.stroke(role, Curve.polyline([barbs[0], tip, barbs[1]]), f"{key}.arrow")

    def label(
        self, key: str, text: str, places: Iterable[Place], needed: bool = True, height: float = FIGURE_MM
    ) -> bool:
        """Adds a label at the first place that is clear, else at the clearest. Returns whether it has been added.

        One that is not ``needed`` is left out where no place is clear. ``height`` is that of a figure (mm).
        """
        width = text_width(text, height)
        found = self.space.first_free(places, width, height)
        if found is None and not needed:
            return False
        self.write(key, text, found or self.space.freest(places, width, height), height)
        return True

    def write(self, key: str, text: str, place: Place, height: float = FIGURE_MM) -> None:
        """Adds a label at a place, whatever is there."""
        at, angle = place
        self.space.take_box(at, text_width(text, height), height, angle)
        # Rounded, so that a change elsewhere does not move it by the noise of a root.
        self.labels.append(Label(key, text, (round(at[0], 6), round(at[1], 6)), height, round(angle, 9)))


def text_width(text: str, height: float = FIGURE_MM) -> float:
    """The width of a label's text in mm, for the height of a figure in mm."""
    return shape(text, height).width


def turned(point: Point, angle: float, distance: float) -> Point:
    """The point ``distance`` mm away in the direction ``angle`` (radians)."""
    return point[0] + distance * math.cos(angle), point[1] + distance * math.sin(angle)


def moved(point: Sequence[float] | Points, direction: Point, distance: float) -> Point:
    """The point ``distance`` mm away along a unit vector."""
    return float(point[0]) + direction[0] * distance, float(point[1]) + direction[1] * distance


def readable(direction: Point) -> float:
    """The angle (radians) of a text along a direction, turned so that it reads from below or from the right."""
    angle = math.atan2(direction[1], direction[0])
    if angle > math.pi / 2 + 1e-9:
        return angle - math.pi
    return angle + math.pi if angle <= -math.pi / 2 + 1e-9 else angle


def ring(centre: Point, angle: float, steps: Sequence[float]) -> list[Place]:
    """Places to try for a text: the middle, then further and further out, below, above, right and left."""
    places = [(centre, angle)]
    for step in steps:
        for dx, dy in ((0, -1), (0, 1), (1, 0), (-1, 0), (1, -1), (-1, -1), (1, 1), (-1, 1)):
            places.append(((centre[0] + dx * step, centre[1] + dy * step), angle))
    return places
