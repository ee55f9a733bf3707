"""A board in space: an outside plane, a thickness, and the planes of its edges in a loop.

Corner k of either face is where that face meets edge planes k and k + 1. Nothing asks for convexity: fingers are only a
longer loop, and a roof's board only another one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Literal

from msgspec import Struct

from patterns.carcass.planes import Plane, Vector, cross, dot, meet, plus, unit

Point = tuple[float, float]

EdgeKind = Literal["free", "joint", "cheek", "tip", "root"]


class Side(Struct, frozen=True):
    """One edge of a board: the name of the blank's edge that it belongs to, what it is, and its plane.

    ``meets`` names the board that it meets there, empty where it is free.
    """

    edge: str
    plane: Plane
    kind: EdgeKind = "free"
    meets: str = ""


class Frame(Struct, frozen=True):
    """The coordinates of a part in space: where (0, 0) of the outside face lies, and the directions of x and y."""

    origin: Vector
    x: Vector
    y: Vector

    @property
    def normal(self) -> Vector:
        """Out of the outside face."""
        return cross(self.x, self.y)

    def to_part(self, point: Vector) -> Point:
        """A point of space, seen square to the face."""
        away = plus(point, self.origin, -1.0)
        return dot(away, self.x), dot(away, self.y)

    def to_space(self, point: Sequence[float], depth: float = 0.0) -> Vector:
        """A point of the part's drawing, ``depth`` mm below the outside face."""
        on_face = plus(plus(self.origin, self.x, point[0]), self.y, point[1])
        return plus(on_face, self.normal, -depth)


class Board(Struct, frozen=True, dict=True):
    """A board; ``sides`` run counter-clockwise as one looks at the outside face."""

    name: str
    outside: Plane
    thickness: float
    sides: tuple[Side, ...]
    trims: tuple[Plane, ...] = ()
    """Planes beyond which a thin arris is taken off."""

    @property
    def inside(self) -> Plane:
        """The plane of the inside face, its wood on the same side as that of the outside one."""
        return self.outside.moved(-self.thickness)

    @cached_property
    def outside_corners(self) -> tuple[Vector, ...]:
        """Corner k between sides k and k + 1, on the outside face. Raises ValueError where two sides do not meet."""
        return self._corners(self.outside)

    @cached_property
    def inside_corners(self) -> tuple[Vector, ...]:
        """The same on the inside face."""
        return self._corners(self.inside)

    def _corners(self, face: Plane) -> tuple[Vector, ...]:
        planes = [side.plane for side in self.sides]
        return tuple(meet(face, one, planes[(k + 1) % len(planes)]) for k, one in enumerate(planes))

    def number_of(self, edge: str) -> int:
        """Which side is the first of an edge."""
        return next(k for k, side in enumerate(self.sides) if side.edge == edge)

    def ends_of(self, number: int, face: Literal["outside", "inside"] = "outside") -> tuple[Vector, Vector]:
        """Where side ``number`` begins and ends on a face."""
        corners = self.outside_corners if face == "outside" else self.inside_corners
        return corners[number - 1], corners[number]

    @cached_property
    def frame(self) -> Frame:
        """x along the first side, which is the bottom, from its beginning; y up the outside face."""
        start, end = self.ends_of(0)
        along = unit(plus(end, start, -1.0))
        return Frame(start, along, cross(self.outside.normal, along))

    @cached_property
    def outline(self) -> tuple[Point, ...]:
        """The corners of the outside face in the part's coordinates; (0, 0) is where the bottom begins.

        They begin with the bottom's own two.
        """
        return self._flat(self.outside_corners)

    @cached_property
    def inside_outline(self) -> tuple[Point, ...]:
        """The corners of the inside face, seen through the board from the outside."""
        return self._flat(self.inside_corners)

    def _flat(self, corners: Sequence[Vector]) -> tuple[Point, ...]:
        flat = [self.frame.to_part(corner) for corner in (corners[-1], *corners[:-1])]
        return tuple((x + 0.0, y + 0.0) for x, y in flat)

    def tilt_of(self, number: int) -> float:
        """How far side ``number`` leans from square to the face (radians): positive where the outside face is the short
        one. Its sine is the inner product of the two normals."""
        return math.asin(max(-1.0, min(1.0, dot(self.sides[number].plane.normal, self.outside.normal))))


def signed_area(corners: Sequence[Point]) -> float:
    """The area within corners, negative where they run clockwise."""
    pairs = zip(corners, [*corners[1:], corners[0]], strict=True)
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs) / 2.0
