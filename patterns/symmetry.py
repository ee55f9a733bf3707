"""Whether an outline mirrors in an upright line."""

from __future__ import annotations

import numpy as np

from patterns.affine import Affine
from patterns.crossings import nearest_to_each
from patterns.outline import Outline

ALIKE_MM = 0.02
"""Two halves that differ by less are cut alike: a tenth of the line's width."""


def mirror_line(outline: Outline, blank_middle: float) -> float | None:
    """x (mm) of the upright line that the outline and its holes mirror in, or None.

    ``blank_middle`` is taken where it serves, so that float noise of the outline does not move the line.
    """
    x0, _, x1, _ = outline.bounds
    middle = (x0 + x1) / 2
    if abs(middle - blank_middle) <= ALIKE_MM:
        middle = blank_middle
    over = Affine.reflection_x(middle)
    if abs(outline.centroid[0] - middle) > ALIKE_MM:
        return None
    samples = over.apply(np.vstack([_samples(curve.beziers) for curve in outline.curves]))
    nearest = np.min([nearest_to_each(curve, samples)[1] for curve in outline.curves], axis=0)
    return float(middle) if float(nearest.max()) <= ALIKE_MM else None


def _samples(beziers: np.ndarray) -> np.ndarray:
    """The ends and the middle of each Bézier."""
    middle = (beziers[:, 0] + 3 * beziers[:, 1] + 3 * beziers[:, 2] + beziers[:, 3]) / 8
    return np.vstack([beziers[:, 0], middle])
