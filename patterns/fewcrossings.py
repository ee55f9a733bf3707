"""Where two Béziers cross, one number at a time: the arithmetic of ``meetings`` to the last bit, for few pairs."""

from __future__ import annotations

import math

from patterns.fewroots import value_and_slope_at

STEPS = 8
"""Steps of Newton's method; they double the figures that are right each time."""

Corners = list[list[float]]
"""The four control points of a Bézier (mm)."""


def few_crossing(a: Corners, b: Corners) -> tuple[float, float]:
    """The places on both where Newton's method for A(x) = B(y) arrives from the middle of both."""
    (ax, ay), (bx, by) = ([list(row) for row in zip(*corners, strict=True)] for corners in (a, b))
    x = y = 0.5
    for _ in range(STEPS):
        (px, dpx), (py, dpy) = value_and_slope_at(ax, x), value_and_slope_at(ay, x)
        (qx, dqx), (qy, dqy) = value_and_slope_at(bx, y), value_and_slope_at(by, y)
        gap_x, gap_y, det = qx - px, qy - py, dpx * dqy - dpy * dqx
        if det == 0.0:
            break
        before = x, y
        x = _stepped(x, (gap_x * dqy - gap_y * dqx) / det)
        y = _stepped(y, (gap_x * dpy - gap_y * dpx) / det)
        if (x, y) == before:
            break
    return x, y


def _stepped(place: float, step: float) -> float:
    return min(max(place + step, -1.0), 2.0) if math.isfinite(step) else place
