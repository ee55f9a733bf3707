"""Many stretches of many Béziers at once."""

from __future__ import annotations

import numpy as np

from patterns.affine import Points


def stretches(beziers: Points, start: Points, end: Points) -> Points:
    """The stretch of each Bézier (n, 4, 2) between its parameters ``start`` and ``end`` (n,), by its blossom.

    A Bézier asked for whole comes back as it is, to the last bit. See Ramshaw, "Blossoms are polar forms" (1989).
    """
    differences = np.diff(beziers, axis=1)

    def blossom(u: Points, v: Points, w: Points) -> Points:
        u, v, w = u[:, None], v[:, None], w[:, None]
        p0, p1, p2 = (beziers[:, k] + differences[:, k] * u for k in range(3))
        q0, q1 = p0 + (p1 - p0) * v, p1 + (p2 - p1) * v
        result: Points = q0 + (q1 - q0) * w
        return result

    cut = np.stack(
        [blossom(start, start, start), blossom(start, start, end), blossom(start, end, end), blossom(end, end, end)],
        axis=1,
    )
    whole = (start == 0.0) & (end == 1.0)
    cut[whole] = beziers[whole]
    return cut
