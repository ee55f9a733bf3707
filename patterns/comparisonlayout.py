"""How a picture of two versions of a part lies on its page: at which scale, and whether a detail is drawn larger."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from patterns.affine import Affine

Box = tuple[float, float, float, float]
Point = tuple[float, float]

REDUCTIONS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100)
"""1 : n; a part is drawn as large as its place allows, and no larger than it is."""

ENLARGEMENTS = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""n : 1, the series of ISO 5455 with its reductions."""

PLAIN_MM = 3.0
"""A distance shorter than this on the page is hard to see beside the lines' own width: it gets a detail."""

DETAIL_RADIUS_MM = 29.0
DETAIL_SHOWS_MM = 14.0
"""In the detail the distance is drawn as long as it can be without going over this."""

DETAIL_ROOM_MM = 2 * DETAIL_RADIUS_MM + 12.0
"""What is kept free for the detail and its name."""

LEAST_RING_MM = 2.5
"""The ring that marks the place of the detail is no smaller than this."""

AIR_MM = 14.0
"""Round the part, for arrows and their figures."""


class Detail(Struct, frozen=True):
    """A place drawn larger: its middle on the page, how much larger than the part, and the radius of the ring round it."""

    centre: Point
    scale: float
    ring: float


class Layout(Struct, frozen=True):
    """Where the part lies on the page: ``to_page`` maps its mm to the page's. ``scale`` is page over part."""

    to_page: Affine
    scale: float
    detail: Detail | None = None


def lay_out(bounds: Box, area: Box, distance: float | None) -> Layout:
    """The layout of a part with these bounds (mm) in an area of the page; ``distance`` is the one to be shown (mm)."""
    scale, place = _fitted(bounds, area)
    if distance is None or distance * scale >= PLAIN_MM:
        return Layout(place, scale)
    x0, y0, x1, y1 = area
    beside = (x0, y0, x1 - DETAIL_ROOM_MM, y1)
    above = (x0, y0 + DETAIL_ROOM_MM, x1, y1)
    options = [_fitted(bounds, one) for one in (above, beside)]
    scale, place = max(options, key=lambda one: one[0])
    is_above = options[0][0] == scale
    larger = max((one for one in ENLARGEMENTS if one * distance <= DETAIL_SHOWS_MM), default=ENLARGEMENTS[0])
    middle = ((x0 + x1) / 2, y0 + DETAIL_ROOM_MM / 2) if is_above else (x1 - DETAIL_ROOM_MM / 2, (y0 + y1) / 2)
    ring = max(DETAIL_RADIUS_MM / larger * scale, LEAST_RING_MM)
    return Layout(place, scale, Detail(middle, larger, ring))


def _fitted(bounds: Box, area: Box) -> tuple[float, Affine]:
    """The scale at which the part fits the area, and the map that lays it in its middle."""
    width, height = bounds[2] - bounds[0], bounds[3] - bounds[1]
    room = area[2] - area[0] - 2 * AIR_MM, area[3] - area[1] - 2 * AIR_MM
    wanted = max(width / room[0], height / room[1])
    reduction = next((one for one in REDUCTIONS if one >= wanted), wanted)
    scale = 1.0 / reduction
    x = (area[0] + area[2]) / 2 - (bounds[0] + bounds[2]) / 2 * scale
    y = (area[1] + area[3]) / 2 - (bounds[1] + bounds[3]) / 2 * scale
    return scale, Affine.translation(x, y) @ Affine.scaling(scale)


def in_words(scale: float) -> str:
    """A scale as drawings give it: 1:6 or 2:1."""
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:.3g}"


def union(boxes: Sequence[Box]) -> Box:
    """The box round several."""
    low = [min(box[k] for box in boxes) for k in (0, 1)]
    high = [max(box[k] for box in boxes) for k in (2, 3)]
    return low[0], low[1], high[0], high[1]
