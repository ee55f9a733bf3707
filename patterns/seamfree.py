"""The places of a part through which no seam between two sheets of paper should run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from patterns.curvature import LeastRadius, Turning, signed_curvature
from patterns.curve import Curve
from patterns.stretch import GlueRun, Hole, Stretch

TIGHT_MM = 75.0
"""A curve of a larger radius is cut true across a seam, too (common practice, no source)."""

_AS_TIGHT = 1.01
"""A curve that nowhere is flatter than its tightest place by more is an arc, as tight all along."""

Places = tuple[tuple[float, float], ...]


def hole_centres(holes: Sequence[Hole]) -> Places:
    """The middles of the holes' boxes (mm)."""
    boxes = [hole.curve.bounds for hole in holes]
    return tuple(((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in boxes)


def joints(glue: Sequence[GlueRun]) -> Places:
    """Where glue lines begin and end (mm)."""
    return tuple(end for run in glue for end in (run.start, run.end))


def tight_places(stretches: Sequence[Stretch], tightest: Sequence[Mapping[Turning, LeastRadius]]) -> Places:
    """Of every curve under ``TIGHT_MM`` its tightest place to either side (mm); the middle of one that is an arc.

    ``tightest`` are those places of each stretch.
    """
    found: list[tuple[float, float]] = []
    for stretch, radii in zip(stretches, tightest, strict=True):
        for place in radii.values():
            if place.radius <= TIGHT_MM:
                curve = stretch.curve
                x, y = curve.point(len(curve) / 2) if _is_arc(curve, place.radius) else place.at
                found.append((float(x), float(y)))
    return tuple(found)


def is_tight(radii: Mapping[Turning, LeastRadius]) -> bool:
    """Whether a curve with these tightest places has one under ``TIGHT_MM``."""
    return any(place.radius <= TIGHT_MM for place in radii.values())


def _is_arc(curve: Curve, least: float) -> bool:
    """Whether a curve is about as tight as its tightest place all along, looked at in nine places."""
    bends = np.abs(signed_curvature(curve, np.linspace(0.0, len(curve), 9)))
    return bool((bends * least * _AS_TIGHT >= 1.0).all())
