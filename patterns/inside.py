"""What of a drawing lies on the wood: the stretches of a curve inside an outline, and whether words do."""

from __future__ import annotations

import math

import numpy as np

from patterns import crossings
from patterns.curve import Curve
from patterns.lettering import shape
from patterns.outline import Outline
from patterns.pattern import Label

CLEAR_MM = 0.05
"""What stays nearer than this to the outline runs along it."""

SHORTEST_MM = 0.05
"""Of a stretch; what is shorter is what rounding leaves at a crossing."""

LOOKED_AT = (0.25, 0.5, 0.75)
"""Between two crossings a stretch is inside or outside throughout; one that runs along the outline is near it everywhere."""


def inside(curve: Curve, outline: Outline) -> list[Curve]:
    """The stretches of a curve that lie inside an outline, without those that run along it, in their order."""
    cuts = {t for boundary in outline.curves for t, _ in crossings.between(curve, boundary)}
    pieces = curve.split_at(sorted(t for t in cuts if 0.0 < t < len(curve)))
    return [piece for piece in pieces if piece.length > SHORTEST_MM and _is_inside(piece, outline)]


def _is_inside(piece: Curve, outline: Outline) -> bool:
    points = np.array([piece.point(share * len(piece)) for share in LOOKED_AT])
    clearance = outline.clearance(points)
    return bool((clearance > 0.0).all() and clearance.max() > CLEAR_MM)


def is_inside(label: Label, outline: Outline) -> bool:
    """Whether a label lies on the wood, all four corners of it and its middle."""
    half = shape(label.text, label.height).width / 2, label.height / 2
    cos, sin = math.cos(label.angle), math.sin(label.angle)
    places = [(0.0, 0.0), *((i * half[0], j * half[1]) for i in (-1, 1) for j in (-1, 1))]
    x, y = label.at
    points = [(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in places]
    return bool(outline.contains(np.array(points)).all())
