"""Vectors and planes in space, one number at a time: a carcass has a dozen boards, and arrays would cost more to set up."""

from __future__ import annotations

import math

from msgspec import Struct

Vector = tuple[float, float, float]

NEARLY_PARALLEL = 1e-9
"""Three planes whose normals span less than this (the volume of the unit vectors) meet in no point to rely on."""

UP: Vector = (0.0, 0.0, 1.0)


class Plane(Struct, frozen=True):
    """The plane of all points p with normal . p = offset; the wood lies where it is less. ``normal`` has length 1."""

    normal: Vector
    offset: float

    @classmethod
    def through(cls, point: Vector, normal: Vector) -> Plane:
        """The plane square to ``normal`` (of any length but 0) that a point lies on."""
        n = unit(normal)
        return cls(n, dot(n, point))

    def moved(self, distance: float) -> Plane:
        """The parallel plane ``distance`` mm further out."""
        return Plane(self.normal, self.offset + distance)

    def reversed(self) -> Plane:
        """The same plane with the wood on the other side."""
        return Plane(scaled(self.normal, -1.0), -self.offset)

    def height_of(self, point: Vector) -> float:
        """How far (mm) a point lies outside; negative in the wood."""
        return dot(self.normal, point) - self.offset


def dot(a: Vector, b: Vector) -> float:
    """The inner product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """The vector product."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def plus(a: Vector, b: Vector, factor: float = 1.0) -> Vector:
    """a + factor * b."""
    return a[0] + factor * b[0], a[1] + factor * b[1], a[2] + factor * b[2]


def scaled(a: Vector, factor: float) -> Vector:
    """factor * a."""
    return a[0] * factor, a[1] * factor, a[2] * factor


def length(a: Vector) -> float:
    """The length of a vector."""
    return math.sqrt(dot(a, a))


def unit(a: Vector) -> Vector:
    """The vector of length 1 in its direction. Raises ValueError for one without a direction."""
    size = length(a)
    if size == 0.0:
        raise ValueError("a vector of length 0 has no direction")
    return scaled(a, 1.0 / size)


def angle_between(a: Vector, b: Vector) -> float:
    """The angle between two vectors in radians, exact near 0 and near half a turn too."""
    return math.atan2(length(cross(a, b)), dot(a, b))


def meet(a: Plane, b: Plane, c: Plane) -> Vector:
    """The point that three planes share (Cramer's rule). Raises ValueError where there is none to rely on."""
    bc = cross(b.normal, c.normal)
    volume = dot(a.normal, bc)
    if abs(volume) < NEARLY_PARALLEL:
        raise ValueError("three planes do not meet in one point")
    ca, ab = cross(c.normal, a.normal), cross(a.normal, b.normal)
    total = plus(plus(scaled(bc, a.offset), ca, b.offset), ab, c.offset)
    return scaled(total, 1.0 / volume)


def common_direction(a: Plane, b: Plane) -> Vector:
    """The direction of the line that two planes share, a x b. Raises ValueError where they are parallel."""
    along = cross(a.normal, b.normal)
    if length(along) < NEARLY_PARALLEL:
        raise ValueError("two planes are parallel")
    return unit(along)
