"""Centre lines: the lines that an outline may mirror in."""

from __future__ import annotations

from typing import Literal

import numpy as np
from msgspec import Struct

from patterns.affine import Affine
from patterns.crossings import nearest_to_each
from patterns.outline import Outline

ALIKE_MM = 0.02
"""Two halves that differ by less are cut alike: a tenth of the line's width."""


AT_ONCE = 100
"""Points that are held against all others together; keeps the memory of a large outline small."""


class CentreLine(Struct, frozen=True):
    """An upright line at x = ``at`` (``axis`` 0), or a level one at y = ``at`` (``axis`` 1), in mm."""

    axis: Literal[0, 1]
    at: float

    @property
    def over(self) -> Affine:
        """The reflection in it."""
        return Affine.reflection_y(self.at) if self.axis else Affine.reflection_x(self.at)

    @property
    def lie(self) -> str:
        """How it lies, in a word."""
        return "level" if self.axis else "upright"

    def point(self, along: float, off: float = 0.0) -> tuple[float, float]:
        """The point at a coordinate along the line, and so far (mm) beyond it."""
        return (along, self.at + off) if self.axis else (self.at + off, along)


def middle_line(outline: Outline, axis: Literal[0, 1], blank_middle: float | None = None) -> CentreLine:
    """The line through the middle of the outline's box; through the blank's where that is as good as the same."""
    middle = (outline.bounds[axis] + outline.bounds[axis + 2]) / 2
    near = blank_middle is not None and abs(middle - blank_middle) <= ALIKE_MM
    return CentreLine(axis, blank_middle if near and blank_middle is not None else middle)


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
    samples = np.vstack([_samples(curve.beziers) for curve in outline.curves])
    twins = over.apply(samples)
    lone = twins[~_are_near(twins, samples, ALIKE_MM / 2)]
    if not len(lone):
        return float(middle)
    nearest = np.min([nearest_to_each(curve, lone)[1] for curve in outline.curves], axis=0)
    return float(middle) if float(nearest.max()) <= ALIKE_MM else None


def _are_near(points: np.ndarray, others: np.ndarray, distance: float) -> np.ndarray:
    """Which points have one of the others within a square of that half side (mm)."""
    batches = (points[k : k + AT_ONCE] for k in range(0, len(points), AT_ONCE))
    return np.concatenate([(np.abs(batch[:, None] - others).max(axis=2) <= distance).any(axis=1) for batch in batches])


def _samples(beziers: np.ndarray) -> np.ndarray:
    """The ends and the middle of each Bézier."""
    middle = (beziers[:, 0] + 3 * beziers[:, 1] + 3 * beziers[:, 2] + beziers[:, 3]) / 8
    return np.vstack([beziers[:, 0], middle])
