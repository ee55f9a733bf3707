"""The arrow along the grain, inside the outline."""

from __future__ import annotations

import math

import numpy as np

from patterns.freespace import Point
from patterns.outline import Outline
from patterns.pattern import Role
from patterns.sketch import Place, Sketch, turned

GRAIN_MM = 60.0
"""Length of the grain arrow where there is room; at least a quarter of it where there is not."""

Box = tuple[float, float, float, float]


def draw_grain(sketch: Sketch, outline: Outline, wood: Box, grain: float, words: str = "grain") -> None:
    """An arrow along the grain, inside the outline, at the first of a few fixed places of the wood that is clear.

    ``grain`` is its direction in radians; ``words`` stand beside it.
    """
    for length in (GRAIN_MM, GRAIN_MM / 2, GRAIN_MM / 4):
        for centre in _grain_places(wood):
            if _fits(sketch, outline, centre, length, grain):
                _draw_arrow(sketch, centre, length, grain, words)
                return
    x0, y0, x1, y1 = outline.bounds
    _draw_arrow(sketch, ((x0 + x1) / 2, (y0 + y1) / 2), GRAIN_MM / 4, grain, words)


def _grain_places(wood: Box) -> list[Point]:
    x0, y0, x1, y1 = wood
    shares = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)
    return [(x0 + a * (x1 - x0), y0 + b * (y1 - y0)) for b in shares for a in (0.35, 0.65, 0.2, 0.8, 0.5, 0.1, 0.9)]


def _fits(sketch: Sketch, outline: Outline, centre: Point, length: float, angle: float) -> bool:
    if sketch.space.covered(centre, length + 6.0, 14.0, angle):
        return False
    ends = [turned(centre, angle, step * length / 2) for step in (-1, 0, 1)]
    return bool(outline.contains(np.array(ends)).all())


def _draw_arrow(sketch: Sketch, centre: Point, length: float, angle: float, words: str) -> None:
    ends = turned(centre, angle, -length / 2), turned(centre, angle, length / 2)
    sketch.arrow(Role.GRAIN, *ends, "grain")
    tilt = math.remainder(angle, math.pi)
    tilt = tilt if tilt > -math.pi / 2 + 1e-9 else tilt + math.pi
    places: list[Place] = [(turned(centre, tilt + math.pi / 2, step), tilt) for step in (4.0, -4.0)]
    sketch.label("grain", words, places)
