"""A zoo of curves that the geometry must cope with, the degenerate ones among them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patterns.affine import Affine
from patterns.curve import Curve


def bezier(*points: tuple[float, float]) -> Curve:
    return Curve(np.array([points], dtype=np.float64))


ZOO: dict[str, Curve] = {
    "line": Curve.line((0, 0), (300, 40)),
    "line of unequal handles": bezier((0, 0), (0, 0), (300, 40), (300, 40)),
    "line with a point in it": Curve(
        np.array([[[0, 0], [10, 0], [20, 0], [30, 0]], [[30, 0]] * 4, [[30, 0], [40, 0], [50, 0], [60, 0]]])
    ),
    "tiny": bezier((0, 0), (1e-3, 2e-3), (2e-3, 2e-3), (3e-3, 0)),
    "ten metres": bezier((0, 0), (3000, 900), (7000, 900), (10000, 0)),
    "arc": Curve.arc((20, -300), 500, 2.0, 1.1),
    "circle": Curve.circle((5, 6), 80),
    "clockwise circle": Curve.circle((5, 6), 80).reversed(),
    "ellipse": Curve.circle((0, 0), 1).transformed(Affine.rotation(0.3) @ Affine.scaling(400, 60)),
    "wave": bezier((0, 0), (50, 100), (50, -100), (100, 0)),
    "cusp": bezier((0, 0), (100, 100), (0, 100), (100, 0)),
    "loop": bezier((0, 0), (150, 100), (-50, 100), (100, 0)),
    "handle on its end": bezier((0, 0), (0, 0), (50, 100), (100, 0)),
    "drop": bezier((0, 0), (90, 100), (-90, 100), (0, 0)),
    "square": Curve.polyline([(0, 0), (60, 0), (60, 60), (0, 60)], closed=True),
    "ogee": Curve.chain([Curve.arc((0, 0), 50, math.pi, math.pi / 2), Curve.arc((0, 100), 50, -math.pi / 2, 0)]),
}


@pytest.fixture(params=sorted(ZOO))
def any_curve(request: pytest.FixtureRequest) -> Curve:
    return ZOO[request.param]


@pytest.fixture
def zoo() -> dict[str, Curve]:
    return ZOO
