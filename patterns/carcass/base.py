"""The board that closes the bottom of a ring of walls. Its lower face is its outside."""

from __future__ import annotations

import math
from collections.abc import Sequence

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import Plane, Vector
from patterns.carcass.ring import BOTTOM, LEFT, RIGHT, TOP, Wall

_DOWN: Vector = (0.0, 0.0, -1.0)


def base_under(walls: Sequence[Wall], thickness: float, overhangs: Sequence[float]) -> Board:
    """A flat board under the walls, its edges square, so many mm beyond the outside of each where it stands."""
    planes = []
    for wall, overhang in zip(walls, overhangs, strict=True):
        x, y, _ = wall.outside.normal
        level = math.hypot(x, y)
        planes.append(Plane((x / level, y / level, 0.0), wall.outside.offset / level + overhang))
    return _board(walls, planes, thickness, Plane(_DOWN, thickness), meets=False)


def base_inside(walls: Sequence[Wall], thickness: float) -> Board:
    """A board that fills the walls at the bottom, flush with it, its edges leaning as they do."""
    return _board(walls, [wall.inside for wall in walls], thickness, Plane(_DOWN, 0.0), meets=True)


def _board(walls: Sequence[Wall], planes: Sequence[Plane], thickness: float, outside: Plane, meets: bool) -> Board:
    """Seen from below the walls run the other way round. The second wall, which is a side of a box, is along the bottom of
    the drawing, so that the grain runs along the piece."""
    count = len(walls)
    order = [(1 - k) % count for k in range(count)]
    names = (BOTTOM, RIGHT, TOP, LEFT) if len(walls) == 4 else [f"edge_{k + 1}" for k in range(len(walls))]
    kind = "joint" if meets else "free"
    sides = tuple(
        Side(name, planes[k], kind, walls[k].name if meets else "")  # type: ignore[arg-type]
        for name, k in zip(names, order, strict=True)
    )
    return Board("base", outside, thickness, sides)
