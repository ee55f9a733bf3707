"""Plane affine maps: immutable, composed with ``@``."""

from __future__ import annotations

import math

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

Points = NDArray[np.float64]


class Affine(Struct, frozen=True):
    """``x' = a x + c y + e``, ``y' = b x + d y + f``: the six numbers in the order of PDF and SVG.

    ``(outer @ inner)`` applies ``inner`` first, as with matrices.
    """

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    @classmethod
    def translation(cls, dx: float, dy: float) -> Affine:
        """Moves a point by (dx, dy)."""
        return cls(e=dx, f=dy)

    @classmethod
    def scaling(cls, sx: float, sy: float | None = None) -> Affine:
        """Stretches from the origin: by ``sx`` both ways, or by ``sx`` across and ``sy`` up."""
        return cls(a=sx, d=sx if sy is None else sy)

    @classmethod
    def rotation(cls, angle: float) -> Affine:
        """Turns about the origin, counter-clockwise, by ``angle`` radians; quarter turns are exact."""
        quarter, rest = divmod(angle, math.pi / 2)
        if abs(rest) < 1e-15:
            cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
        else:
            cos, sin = math.cos(angle), math.sin(angle)
        return cls(cos, sin, -sin, cos)

    @classmethod
    def reflection_x(cls, x: float) -> Affine:
        """Reflects in the upright line at ``x``."""
        return cls(a=-1.0, e=2.0 * x)

    @classmethod
    def reflection_y(cls, y: float) -> Affine:
        """Reflects in the level line at ``y``."""
        return cls(d=-1.0, f=2.0 * y)

    def __matmul__(self, inner: Affine) -> Affine:
        return Affine(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    @property
    def determinant(self) -> float:
        """The factor by which areas grow; negative where the map turns things over."""
        return self.a * self.d - self.b * self.c

    def inverse(self) -> Affine:
        """The map that undoes this one. Raises ZeroDivisionError for a flat map."""
        det = self.determinant
        a, b, c, d = self.d / det, -self.b / det, -self.c / det, self.a / det
        return Affine(a, b, c, d, -(a * self.e + c * self.f), -(b * self.e + d * self.f))

    def apply(self, points: Points) -> Points:
        """Maps points of shape (..., 2)."""
        x, y = points[..., 0], points[..., 1]
        result: Points = np.empty(points.shape)
        result[..., 0] = self.a * x + self.c * y + self.e
        result[..., 1] = self.b * x + self.d * y + self.f
        return result

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Maps a single point."""
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def values(self) -> tuple[float, float, float, float, float, float]:
        """The six numbers in PDF order."""
        return self.a, self.b, self.c, self.d, self.e, self.f
