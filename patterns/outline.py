"""A closed boundary with holes: exact area and centroid, what lies inside, and whether it is sound."""

from __future__ import annotations

from functools import cached_property
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import force_setattr
from numpy.typing import NDArray

from patterns import crossings
from patterns.affine import Affine, Points
from patterns.answers import kept
from patterns.bernstein import value_and_slope
from patterns.curve import Curve
from patterns.winding import Winding

# Gauss-Legendre on [0, 1]: five nodes integrate polynomials to the ninth degree exactly, and x² dy has the eighth.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)
_NODES, _WEIGHTS = (_NODES + 1.0) / 2.0, _WEIGHTS / 2.0

Fault = Literal[
    "boundary meets itself", "hole meets itself", "hole meets boundary", "holes meet", "hole outside", "hole in hole"
]


class OutlineProblem(Struct, frozen=True):
    """One thing that makes an outline impossible to cut: what, and a point (x, y) in mm where it shows.

    ``holes`` are the numbers (from 0) of the holes that have to do with it, the inner one first. A touch counts as a
    meeting: what is left between has no width.
    """

    fault: Fault
    at: tuple[float, float]
    holes: tuple[int, ...] = ()


class Outline(Struct, frozen=True, eq=False, dict=True):
    """A closed boundary, counter-clockwise, and the holes in it, clockwise. What runs otherwise is turned round.

    Raises ValueError if the boundary or a hole doesn't end where it starts.
    """

    boundary: Curve
    holes: tuple[Curve, ...] = ()

    def __post_init__(self) -> None:
        for curve in (self.boundary, *self.holes):
            if not curve.is_closed:
                raise ValueError("an outline's boundary and holes must end where they start")
        force_setattr(self, "boundary", _turned(self.boundary, counter_clockwise=True))
        force_setattr(self, "holes", tuple(_turned(hole, counter_clockwise=False) for hole in self.holes))

    @property
    def curves(self) -> tuple[Curve, ...]:
        """The boundary, then the holes."""
        return (self.boundary, *self.holes)

    @cached_property
    def area(self) -> float:
        """The area in mm², holes taken off."""
        return sum(signed_area(curve) for curve in self.curves)

    @cached_property
    def centroid(self) -> tuple[float, float]:
        """The centre of area (mm): where a board of even thickness balances. Raises ValueError if there is no area."""
        if self.area <= 0.0:
            raise ValueError("an outline without area has no centroid")
        origin = self.boundary.start
        moments = sum((_moments(curve, origin) for curve in self.curves), np.zeros(3))
        x, y = origin + moments[1:] / moments[0]
        return float(x), float(y)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(least x, least y, greatest x, greatest y) in mm."""
        return self.boundary.bounds

    @property
    def perimeter(self) -> float:
        """The length of the boundary in mm, without the holes."""
        return self.boundary.length

    def transformed(self, affine: Affine) -> Outline:
        """The outline under an affine map; one that turns things over turns the curves' direction back."""
        return Outline(self.boundary.transformed(affine), tuple(hole.transformed(affine) for hole in self.holes))

    def contains(self, points: Points) -> NDArray[np.bool_]:
        """Whether each of the points (..., 2), in mm, is inside the boundary and in no hole.

        By winding numbers from exact roots. A point on the line itself may go either way: ask :meth:`clearance`.
        """
        inside: NDArray[np.bool_] = self._windings[0].around(points) != 0
        for hole in self._windings[1:]:
            inside &= hole.around(points) == 0
        return inside

    def clearance(self, points: Points) -> Points:
        """How far each of the points (..., 2) is from the nearest line of the outline, in mm; negative outside."""
        points = np.asarray(points, dtype=np.float64)
        flat = points.reshape(-1, 2)
        distance = np.min([crossings.nearest_to_each(curve, flat)[1] for curve in self.curves], axis=0)
        signed: Points = np.where(self.contains(flat), distance, -distance).reshape(points.shape[:-1])
        return signed

    def within(self, bounds: tuple[float, float, float, float], tolerance_mm: float = 1e-6) -> bool:
        """Whether none of it leaves the box (least x, least y, greatest x, greatest y) by more than the tolerance."""
        low, high = np.array(bounds[:2]) - tolerance_mm, np.array(bounds[2:]) + tolerance_mm
        mine = np.array(self.bounds)
        return bool((mine[:2] >= low).all() and (mine[2:] <= high).all())

    @cached_property
    def _windings(self) -> tuple[Winding, ...]:
        return tuple(Winding.of(curve) for curve in self.curves)

    # ---------------------------------------------------------------- whether it is sound

    def problems(self) -> tuple[OutlineProblem, ...]:
        """Everything that makes it impossible to cut; empty for a sound outline."""
        boundary = self.boundary
        found = [_problem("boundary meets itself", boundary, t) for t, _ in crossings.self_crossings(boundary)]
        for k, hole in enumerate(self.holes):
            found += [_problem("hole meets itself", hole, t, k) for t, _ in crossings.self_crossings(hole)]
            meets = [_problem("hole meets boundary", hole, t, k) for t, _ in crossings.between(hole, boundary)]
            if not meets and self._windings[0].around(hole.start) == 0:
                meets = [_problem("hole outside", hole, 0.0, k)]
            found += meets
        for j, first in enumerate(self.holes):
            for k in range(j + 1, len(self.holes)):
                found += self._between_holes(first, j, k)
        return tuple(found)

    def _between_holes(self, first: Curve, j: int, k: int) -> list[OutlineProblem]:
        second = self.holes[k]
        if not _boxes_touch(first.bounds, second.bounds):
            return []
        meets = [_problem("holes meet", first, t, j, k) for t, _ in crossings.between(first, second)]
        if meets:
            return meets
        if self._windings[1 + k].around(first.start) != 0:
            return [_problem("hole in hole", first, 0.0, j, k)]
        if self._windings[1 + j].around(second.start) != 0:
            return [_problem("hole in hole", second, 0.0, k, j)]
        return []


@kept
def signed_area(curve: Curve) -> float:
    """The area enclosed by a closed curve (mm²): positive where it runs counter-clockwise. Exact: ½∮(x dy - y dx).

    An open curve is taken as closed by its chord.
    """
    return float(_moments(curve, curve.start)[0])


def _moments(curve: Curve, origin: Points) -> NDArray[np.float64]:
    """Area (mm²) and its first moments about ``origin`` (mm³) by Green's theorem.

    They are ∮½(x dy - y dx), ∮½x² dy and -∮½y² dx.
    """
    points = curve.beziers - origin
    if not curve.is_closed:
        points = np.concatenate([points, np.linspace(points[-1, 3], points[0, 0], 4)[None]])
    value, slope = value_and_slope(points.swapaxes(1, 2)[:, None], _NODES[None, :, None])
    x, y, dx, dy = value[..., 0], value[..., 1], slope[..., 0], slope[..., 1]
    integrands = np.stack([0.5 * (x * dy - y * dx), 0.5 * x * x * dy, -0.5 * y * y * dx])
    totals: NDArray[np.float64] = (integrands @ _WEIGHTS).sum(axis=1)
    return totals


def _turned(curve: Curve, counter_clockwise: bool) -> Curve:
    area = signed_area(curve)
    return curve.reversed() if (area < 0.0 if counter_clockwise else area > 0.0) else curve


def _problem(fault: Fault, curve: Curve, t: float, *holes: int) -> OutlineProblem:
    x, y = curve.point(t)
    return OutlineProblem(fault, (float(x), float(y)), holes)


def _boxes_touch(first: tuple[float, ...], second: tuple[float, ...]) -> bool:
    return all(first[k] <= second[k + 2] and second[k] <= first[k + 2] for k in (0, 1))
