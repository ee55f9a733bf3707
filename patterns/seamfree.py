"""The places of a part through which no seam between two sheets of paper should run."""

from __future__ import annotations

from collections.abc import Sequence

from patterns.stretch import GlueRun, Hole, Stretch
from patterns.tightest import tightest_of_each

TIGHT_MM = 75.0
"""A curve of a larger radius is cut true across a seam, too (common practice, no source)."""

_SAME_ALL_ALONG = 0.02
"""A curve whose least radius is found where it starts or ends is taken to be as tight all along."""

Places = tuple[tuple[float, float], ...]


def hole_centres(holes: Sequence[Hole]) -> Places:
    """The middles of the holes' boxes (mm)."""
    boxes = [hole.curve.bounds for hole in holes]
    return tuple(((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes)


def joints(glue: Sequence[GlueRun]) -> Places:
    """Where glue lines begin and end (mm)."""
    return tuple(end for run in glue for end in (run.start, run.end))


def tight_places(stretches: Sequence[Stretch]) -> Places:
    """Of every curve under ``TIGHT_MM`` its tightest place to either side (mm); the middle of one that is an arc."""
    curves = [stretch.curve for stretch in stretches]
    found: list[tuple[float, float]] = []
    for curve, radii in zip(curves, tightest_of_each(curves), strict=True):
        for tightest in radii.values():
            if tightest.radius > TIGHT_MM:
                continue
            at_end = min(tightest.t, len(curve) - tightest.t) < _SAME_ALL_ALONG
            x, y = curve.point(len(curve) / 2) if at_end else tightest.at
            found.append((float(x), float(y)))
    return tuple(found)
