"""Aids for the shop, drawn full size: a card for every angle in the settings, and blocks that let a clamp pull square.

A bevel card is a right angle with one long leg that leans: the angle is set by the leg's length and how far it leans over
that, both of which can be measured on the print. A clamp block lies between a clamp's jaw and a bevelled edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from patterns.carcass.settings import EdgeSetting, settings_of
from patterns.curve import Curve
from patterns.dimensions import draw_dimension
from patterns.display import Display
from patterns.freespace import Point
from patterns.outline import Outline
from patterns.part import Part
from patterns.pattern import Dimension, Pattern, Role
from patterns.shop import Shop
from patterns.sketch import FIGURE_MM, Sketch, text_width

LEGS_MM = {"in": 177.8, "mm": 180.0, "cm": 180.0}
"""The long leg of a card: 7 in or 180 mm."""
FOOT_MM = 70.0
"""Its base is so much longer than it leans: room for words, and for the bevel gauge's stock."""
SAME_DEG = 0.02
"""Angles nearer than this are one card: no gauge is set finer."""
LEAST_DEG = 0.3
"""Smaller ones are not worth a card."""

CLAMP_EVERY_MM = 200.0
"""A clamp and a pair of blocks for each such stretch of a glued edge. Common practice, no source."""
BLOCK_LONG_MM = 60.0
BLOCK_HIGH_MM = 30.0

PART = "shop aids"


class Angle(Struct, frozen=True):
    """An angle to set (degrees from square), and what it is for."""

    degrees: float
    uses: tuple[str, ...]


class Block(Struct, frozen=True):
    """A clamp block for a bevelled edge: its angle (radians), as wide as the board is thick (mm), and how many."""

    part: str
    edge: str
    tilt: float
    width: float
    count: int


def angles_in(settings: Sequence[EdgeSetting]) -> tuple[Angle, ...]:
    """Every angle of blade and gauge, from the smallest; those past half a right angle as what is left of it."""
    found: dict[float, list[str]] = {}
    for one in settings:
        for value, what in ((one.tilt, "tilt"), (one.gauge or 0.0, "gauge")):
            degrees = abs(math.degrees(value))
            degrees = 90.0 - degrees if degrees > 45.0 + 1e-9 else degrees
            if degrees < LEAST_DEG:
                continue
            near = next((known for known in found if abs(known - degrees) <= SAME_DEG), degrees)
            found.setdefault(near, []).append(f"{one.part} {one.edge}, {what}".replace("_", " "))
    return tuple(Angle(degrees, tuple(dict.fromkeys(uses))) for degrees, uses in sorted(found.items()))


def blocks_of(part: Part) -> tuple[Block, ...]:
    """Of a panel that is glued up from boards, for each of its bevelled long edges."""
    panel = part.spec.panel
    if panel is None or not part.glue:
        return ()
    longest = max(run.length for run in part.glue)
    count = max(2, math.ceil(longest / CLAMP_EVERY_MM))
    found = []
    for number, side in enumerate(panel.board.sides):
        tilt = panel.board.tilt_of(number)
        if side.kind == "free" and side.edge in ("bottom", "top", "roof") and abs(tilt) > math.radians(LEAST_DEG):
            found.append(Block(part.name, side.edge, tilt, panel.board.thickness, count * part.spec.quantity))
    return tuple(found)


def aids_of(parts: Sequence[Part], title: str, shop: Shop, display: Display) -> tuple[Pattern, ...]:
    """The cards, then the blocks."""
    settings = [one for part in parts for one in settings_of(part, shop)]
    cards = [_card(angle, title, display) for angle in angles_in(settings)]
    blocks = [_block(block, title, display) for part in parts for block in blocks_of(part)]
    return (*cards, *blocks)


# -------------------------------------------------------------------- drawn


def _card(angle: Angle, title: str, display: Display) -> Pattern:
    leg = LEGS_MM[display.units]
    lean = leg * math.tan(math.radians(angle.degrees))
    corners: list[Point] = [(0.0, 0.0), (FOOT_MM + lean, 0.0), (FOOT_MM, leg), (0.0, leg)]
    sketch = _outlined(corners)
    draw_dimension(sketch, "dimension.leg", display.both(leg), corners[0], corners[3], (-1.0, 0.0))
    draw_dimension(sketch, "dimension.lean", display.both(lean), (FOOT_MM, 0.0), corners[1], (0.0, -1.0))
    sketch.line(Role.MARK, (FOOT_MM, 0.0), corners[2], "square")
    dimensions = (
        Dimension("dimension.leg", display.both(leg), corners[0], corners[3]),
        Dimension("dimension.lean", display.both(lean), (FOOT_MM, 0.0), corners[1]),
    )
    check = f"over {_exact(leg, display)} it leans {_exact(lean, display)}"
    sketch.write("check", check, ((FOOT_MM - 5.0, leg / 2), math.pi / 2), FIGURE_MM)
    name = f"bevel card {_degrees(angle.degrees)}"
    uses = angle.uses[:4] + ((f"and {len(angle.uses) - 4} more",) if len(angle.uses) > 4 else ())
    return _pattern(name, corners, sketch, (title, name, "off square", *uses), dimensions)


def _exact(mm: float, display: Display) -> str:
    """A figure for checking, finer than a rule: the card's print is measured by it."""
    return f"{mm:.1f} mm" if display.units != "in" else f"{mm / 25.4:.3f} in"


def _block(block: Block, title: str, display: Display) -> Pattern:
    rise = block.width * math.tan(abs(block.tilt))
    corners: list[Point] = [
        (0.0, 0.0),
        (BLOCK_LONG_MM, 0.0),
        (BLOCK_LONG_MM, BLOCK_HIGH_MM),
        (0.0, BLOCK_HIGH_MM),
    ]
    section: list[Point] = [
        (0.0, 0.0),
        (block.width, 0.0),
        (block.width, BLOCK_HIGH_MM),
        (0.0, BLOCK_HIGH_MM + rise),
    ]
    sketch = _outlined(section)
    angle = _degrees(abs(math.degrees(block.tilt)))
    name = f"clamp block {angle}, {block.part} {block.edge}"
    told = (
        title,
        name,
        f"make {block.count}: {display.length(block.width)} wide, {display.length(corners[1][0])} long",
    )
    places = [((block.width / 2, BLOCK_HIGH_MM / 2), math.pi / 2)]
    if text_width(angle, FIGURE_MM) < BLOCK_HIGH_MM - 4.0:
        sketch.label("angle", angle, places)
    return _pattern(name, section, sketch, told, ())


def _outlined(corners: Sequence[Point]) -> Sketch:
    sketch = Sketch()
    for k, corner in enumerate(corners):
        sketch.stroke(Role.CUT, Curve.line(corner, corners[(k + 1) % len(corners)]), f"side[{k}]")
    return sketch


def _pattern(
    name: str, corners: Sequence[Point], sketch: Sketch, block: tuple[str, ...], dimensions: tuple[Dimension, ...]
) -> Pattern:
    from patterns.slug import slug

    outline = Outline(Curve.polyline(corners, closed=True))
    return Pattern(
        name,
        slug(name.replace(".", "_").replace("°", "_deg")),
        PART,
        outline,
        tuple(sketch.strokes),
        tuple(sketch.labels),
        block,
        0.0,
        (),
        dimensions,
    )


def _degrees(degrees: float) -> str:
    return f"{round(degrees, 2):g}°"
