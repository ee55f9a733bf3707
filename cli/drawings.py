"""The files that a pattern is drawn in: SVG, a picture of it, DXF for machines, SVG for a laser cutter."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal

from patterns.pattern import Pattern

Kind = Literal["svg", "png", "dxf", "laser"]
ENDINGS: dict[Kind, str] = {"svg": ".svg", "png": ".png", "dxf": ".dxf", "laser": ".laser.svg"}
"""Of the file's name, after the pattern's slug, which holds no dot."""

PICTURE_DPI = 100.0
PICTURE_SIDE_PX = 3000
"""A picture is for looking at: a long part is drawn smaller than ``PICTURE_DPI`` would have it."""


def drawings_of(pattern: Pattern, kinds: Collection[Kind]) -> dict[Kind, bytes]:
    """The files of these kinds. Raises MachineError where a library that one needs is missing."""
    made: dict[Kind, bytes] = {}
    if "svg" in kinds or "png" in kinds:
        from patterns.svg import svg_text  # late, as are the others: few command lines ask for all kinds

        made["svg"] = svg_text(pattern).encode("utf-8")
    if "png" in kinds:
        made["png"] = _picture(made["svg"], pattern)
    if "dxf" in kinds:
        from patterns.dxf import dxf_bytes

        made["dxf"] = dxf_bytes(pattern)
    if "laser" in kinds:
        from patterns.laser import laser_svg

        made["laser"] = laser_svg(pattern).encode("utf-8")
    return {kind: made[kind] for kind in ENDINGS if kind in kinds}


def file_name(pattern: Pattern, kind: Kind) -> str:
    """The name of a file of this kind."""
    return pattern.slug + ENDINGS[kind]


def _picture(drawing: bytes, pattern: Pattern) -> bytes:
    import cairosvg  # late: only a picture needs it

    x0, y0, x1, y1 = pattern.bounds
    longest_px = max(x1 - x0, y1 - y0) / 25.4 * PICTURE_DPI
    scale = PICTURE_DPI / 96.0 * min(1.0, PICTURE_SIDE_PX / longest_px)
    picture: bytes = cairosvg.svg2png(bytestring=drawing, scale=scale, background_color="white")
    return picture
