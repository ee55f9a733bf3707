"""A sloped edge under a roof is the same problem as the backing of a hip rafter: roof-framing tables."""

from __future__ import annotations

import math

import pytest

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import Plane, unit

BACKING_DEG = {6: 18.43, 8: 23.09, 12: 30.00}
"""Rise in 12 of run of the common rafters, to the backing angle of a regular hip (the plan corner is square): hip and valley
rafter tables of roof-framing handbooks, from memory. The figures follow from tan(backing) = sin(slope of the hip)."""


@pytest.mark.parametrize(("rise", "backing"), BACKING_DEG.items())
def test_the_backing_of_a_hip_rafter(rise: int, backing: float) -> None:
    """A board set upright along the hip, its upper edge planed to the roof beside it."""
    slope = math.atan2(rise, 12)
    face = Plane.through((0.0, 0.0, 0.0), unit((1.0, -1.0, 0.0)))
    roof = Plane.through((0.0, 0.0, 0.0), (math.sin(slope), 0.0, math.cos(slope)))
    hip = Board(
        "hip",
        face,
        38.0,
        (
            Side("bottom", Plane((0.0, 0.0, -1.0), 300.0)),
            Side("right", Plane.through((500.0, 500.0, 0.0), (1.0, 1.0, 0.0))),
            Side("top", roof),
            Side("left", Plane.through((-500.0, -500.0, 0.0), (-1.0, -1.0, 0.0))),
        ),
    )
    assert math.degrees(abs(hip.tilt_of(2))) == pytest.approx(backing, abs=0.005)
