"""A ring of walls put together again in space, from flat outlines, thicknesses and tilts alone, wall by wall.

Each wall is set up by the tilt of its bottom edge, which stands level, and pushed against the one before it. That the last
one meets the first is then no assumption: it is measured.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray
from solids import Solid, flat_solid, inside_corners, placed, prism

Reals = NDArray[np.float64]


class Flat(Struct, frozen=True, eq=False):
    """What is on paper of a wall: the outside outline from its lower left corner, the thickness, the tilts of bottom, right,
    top and left (radians, positive where the outside face is the short one), and whether it reaches the outside at its
    right and its left."""

    outline: tuple[tuple[float, float], ...]
    thickness: float
    tilts: tuple[float, ...]
    long_right: bool
    long_left: bool
    rabbet_right: float = 0.0
    """How deep the rabbet is that this wall has at its right, for the next one to stand in; likewise at its left."""
    rabbet_left: float = 0.0


class Stood(Struct, frozen=True, eq=False):
    """A wall in space: corners of its outside and its inside face, its outward normal, and the solid."""

    outside: Reals
    inside: Reals
    normal: Reals
    solid: Solid


def stood_up(walls: Sequence[Flat], joint: str, turns: Sequence[float] | None = None) -> list[Stood]:
    """The walls in space, the first with its lower left corner at the origin, facing -y; each next one is turned by its
    share of a full turn (``turns``, radians; equal ones if left out)."""
    count = len(walls)
    steps = list(turns) if turns is not None else [2 * math.pi / count] * count
    yaw, at = -math.pi / 2, np.zeros(3)
    found: list[Stood] = []
    for k, wall in enumerate(walls):
        if k:
            yaw += steps[k - 1]
            at = _lower_left(found[-1], walls[k - 1], wall, yaw, joint)
        found.append(_stood(wall, at, yaw))
    return found


def _stood(wall: Flat, at: Reals, yaw: float) -> Stood:
    inner = inside_corners(wall.outline, wall.thickness, wall.tilts)
    lean = wall.tilts[0]
    outside = placed(np.c_[np.array(wall.outline), np.zeros(4)], at, yaw, lean)
    inside = placed(np.c_[inner, np.full(4, -wall.thickness)], at, yaw, lean)
    flat_solid(wall.outline, inner, wall.thickness)  # a board of its own, before it is set up
    normal = np.array([math.cos(yaw) * math.cos(lean), math.sin(yaw) * math.cos(lean), -math.sin(lean)])
    return Stood(outside, inside, normal, prism(outside, inside))


def _lower_left(before: Stood, flat: Flat, wall: Flat, yaw: float, joint: str) -> Reals:
    """Where the lower left corner of the next wall's outside comes to lie, pushed against the one before it at z = 0."""
    lean = wall.tilts[0]
    normal = np.array([math.cos(yaw) * math.cos(lean), math.sin(yaw) * math.cos(lean), -math.sin(lean)])
    corner = before.outside[1]  # lower right of the one before
    if joint in ("mitre", "finger"):
        return corner
    if (
        flat.long_right
    ):  # it reaches the next one's outside; the next one's left end lies on its inside, or in its rabbet
        deep = flat.thickness - flat.rabbet_right
        return _on_floor([(normal, normal @ corner), (before.normal, before.normal @ corner - deep)])
    # The one before ends at the next one's inside, or in its rabbet; that one's left end is on its outside.
    deep = wall.thickness - wall.rabbet_left
    return _on_floor([(normal, normal @ corner + deep), (before.normal, before.normal @ corner)])


def _on_floor(planes: list[tuple[Reals, float]]) -> Reals:
    rows = np.array([*(normal for normal, _ in planes), [0.0, 0.0, 1.0]])
    return np.linalg.solve(rows, [*(offset for _, offset in planes), 0.0])


def closing_error(stood: Sequence[Stood], walls: Sequence[Flat], joint: str, yaw: float) -> float:
    """How far (mm) the first wall is from where the last one would put it."""
    return float(np.linalg.norm(_lower_left(stood[-1], walls[-1], walls[0], yaw, joint) - stood[0].outside[0]))
