"""Packing rectangles on a sheet: each goes where it lies lowest, in one of the largest rectangles that are still free.

The free room is kept as all maximal free rectangles (they overlap one another), so that whatever fits between what lies
there already is found (the maximal-rectangles rule of the packing literature, from memory).
"""

from __future__ import annotations

Rectangle = tuple[int, int, int, int]
"""(x0, y0, x1, y1)"""


class Packing:
    """A sheet that is being filled; whole units, origin at its lower left corner."""

    def __init__(self, width: int, height: int) -> None:
        self.free: list[Rectangle] = [(0, 0, width, height)]

    def lowest(self, width: int, height: int) -> tuple[int, int] | None:
        """The lower left corner of the lowest place for a rectangle, of several the leftmost; None if there is no room."""
        found = [(y0, x0) for x0, y0, x1, y1 in self.free if width <= x1 - x0 and height <= y1 - y0]
        y, x = min(found, default=(-1, -1))
        return (x, y) if found else None

    def take(self, taken: Rectangle) -> None:
        """Nothing else will lie there."""
        left = dict.fromkeys(part for free in self.free for part in _without(free, taken))
        self.free = [one for one in left if not any(_holds(other, one) for other in left if other != one)]


def _without(free: Rectangle, taken: Rectangle) -> list[Rectangle]:
    """The largest rectangles of ``free`` that keep clear of ``taken``."""
    fx0, fy0, fx1, fy1 = free
    x0, y0, x1, y1 = taken
    if x0 >= fx1 or x1 <= fx0 or y0 >= fy1 or y1 <= fy0:
        return [free]
    strips = [(fx0, fy0, x0, fy1), (x1, fy0, fx1, fy1), (fx0, fy0, fx1, y0), (fx0, y1, fx1, fy1)]
    return [(a, b, c, d) for a, b, c, d in strips if a < c and b < d]


def _holds(outer: Rectangle, inner: Rectangle) -> bool:
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]
