"""A small picture of the piece with one board hatched: where it sits. It is the same whatever the sizes are."""

from __future__ import annotations

import math

import numpy as np

from patterns.carcass.panel import Panel
from patterns.carcass.shown import Shown
from patterns.freespace import Point
from patterns.pattern import Role
from patterns.sketch import Sketch, moved

PICTURE = (36.0, 34.0)
"""Width and height of the picture of the piece (mm)."""

_SLANT = (0.5, 0.35)
"""What a step to the back is in the picture, across and up."""

Line = tuple[Point, Point]
Space = tuple[float, float, float]

WALLS = ("foot_board", "right_side", "head_board", "left_side")
_BOTTOM, _TOP, _EAVES, _BREAK, _RIDGE = -10.0, 1.0, 7.0, 11.0, 13.0
_FRONT = 2.0
"""Heights in the picture, and how far back a hood's front stands (mm)."""


def draw_place(sketch: Sketch, shown: Shown) -> None:
    """The picture, where there is room for it inside the outline."""
    place = _free_place(sketch, shown)
    if place is None:
        return
    lines, hatched = _picture(shown.panel)
    for number, (start, end) in enumerate([*lines, *hatched]):
        sketch.line(Role.SKETCH, moved(place, start, 1.0), moved(place, end, 1.0), f"place[{number}]")


def _free_place(sketch: Sketch, shown: Shown) -> Point | None:
    """The middle of a free box of the picture's size inside the outline."""
    x0, y0, x1, y1 = shown.outline.bounds
    width, height = PICTURE
    for b in (0.5, 0.3, 0.7, 0.2, 0.8):
        for a in (0.75, 0.25, 0.5, 0.15, 0.85):
            x, y = x0 + a * (x1 - x0), y0 + b * (y1 - y0)
            corners = [(x + i * width / 2, y + j * height / 2) for i in (-1, 0, 1) for j in (-1, 1)]
            if shown.outline.contains(np.array(corners)).all() and not sketch.space.covered((x, y), width, height):
                return x, y
    return None


def _picture(panel: Panel) -> tuple[list[Line], list[Line]]:
    """The lines of the picture about its middle, and the hatching of this board."""
    faces = _vessel(panel.count) if panel.carcass == "staved" else _hooded(panel.roofs) if panel.roofs else _box()
    lines = [line for face in faces.values() for line in _round(face)]
    here = panel.stands[0] if panel.stands[0] in faces else next(iter(faces))
    return list(dict.fromkeys(lines)), _hatching(faces[here])


def _box() -> dict[str, list[Space]]:
    """The four walls and the base, each as the corners that it has, going round."""
    plan = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
    bottom = [(x * 9.0, y * 9.0, _BOTTOM) for x, y in plan]
    top = [(x * 11.0, y * 11.0, _TOP) for x, y in plan]
    faces = {name: [bottom[k], bottom[(k + 1) % 4], top[(k + 1) % 4], top[k]] for k, name in enumerate(WALLS)}
    return {**faces, "base": bottom}


def _vessel(count: int) -> dict[str, list[Space]]:
    turn = math.pi / count
    angles = [-math.pi / 2 - turn + 2 * math.pi * k / count for k in range(count)]
    plan = [(math.cos(a) / math.cos(turn), math.sin(a) / math.cos(turn)) for a in angles]
    bottom = [(x * 9.0, y * 9.0, _BOTTOM) for x, y in plan]
    top = [(x * 11.0, y * 11.0, _TOP) for x, y in plan]
    faces = {f"stave {k + 1}": [bottom[k], bottom[(k + 1) % count], top[(k + 1) % count], top[k]] for k in range(count)}
    return {**faces, "base": bottom}


def _hooded(roofs: tuple[str, ...]) -> dict[str, list[Space]]:
    """The box with a hood at its far end, in as many slopes as the roof has boards."""
    faces = _box()
    gable = _gable(roofs)
    front = [(x, _FRONT, z) for x, z in gable]
    back = [(x, 11.5, z) for x, z in gable]
    for name, x, corner in (("left_side", -11.0, 0), ("right_side", 11.0, -1)):
        rail = [point for point in faces[name] if point[2] == _TOP]
        near = min(rail, key=lambda point: point[1])
        low = sorted((point for point in faces[name] if point[2] == _BOTTOM), key=lambda point: point[1])
        faces[name] = [low[0], low[1], back[corner], front[corner], (x, _FRONT, _TOP), near]
    low = [point for point in faces["head_board"] if point[2] == _BOTTOM]
    faces["head_board"] = [*low, *back] if low[0][0] > 0 else [*reversed(low), *back]
    faces["front_board"] = [(gable[-1][0], _FRONT, _EAVES - 1.5), (gable[0][0], _FRONT, _EAVES - 1.5), *front]
    for k, name in enumerate(roofs):
        a, b = (k, k + 1) if len(gable) > 2 else (0, 1)
        faces[name] = [front[a], front[b], back[b], back[a]]
    return faces


def _gable(roofs: tuple[str, ...]) -> list[Point]:
    """x and z of the roof's line from the left eaves to the right."""
    left, right = (-11.5, _EAVES), (11.5, _EAVES)
    if len(roofs) == 1:
        return [left, right]
    inner = {2: [(0.0, _RIDGE)], 3: [(-4.0, _RIDGE), (4.0, _RIDGE)]}.get(len(roofs))
    if inner is None:
        top = [(0.0, _RIDGE + 2.0)] if len(roofs) == 4 else [(-3.5, _RIDGE + 1.0), (3.5, _RIDGE + 1.0)]
        inner = [(-9.0, _BREAK), *top, (9.0, _BREAK)]
    return [left, *inner, right]


def _round(face: list[Space]) -> list[Line]:
    """The face's outline as it is seen, each line from left to right so that none is drawn twice."""
    seen = [_seen(*point) for point in face]
    pairs = zip(seen, [*seen[1:], seen[0]], strict=True)
    return [(min(a, b), max(a, b)) for a, b in pairs]


def _seen(x: float, y: float, z: float) -> Point:
    return x + _SLANT[0] * y, z + _SLANT[1] * y


def _hatching(face: list[Space], apart: float = 1.8) -> list[Line]:
    """Upright lines over the face."""
    seen = [_seen(*point) for point in face]
    low, high = min(x for x, _ in seen), max(x for x, _ in seen)
    found = []
    count = max(3, int((high - low) / apart))
    for k in range(1, count):
        x = low + (high - low) * k / count
        ys = []
        for (x0, y0), (x1, y1) in zip(seen, [*seen[1:], seen[0]], strict=True):
            if (x0 - x) * (x1 - x) < 0.0:
                ys.append(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
        ys.sort()
        found += [((x, a), (x, b)) for a, b in zip(ys[::2], ys[1::2], strict=False)]
    return found
