"""What a panel's pattern shows beside a part's: the inside face, the fingers, each bevel, and where the board sits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from patterns.affine import Affine
from patterns.blank import Edge
from patterns.carcass.innerface import SAME_MM, InnerFace, inner_face
from patterns.carcass.panel import EndJoint, Panel
from patterns.carcass.settings import SQUARE
from patterns.curve import Curve
from patterns.display import Display
from patterns.freespace import Point
from patterns.part import Part
from patterns.pattern import Role
from patterns.sketch import FIGURE_MM, SMALL_MM, Place, Sketch, moved, readable, text_width

HIDDEN_WORDS = "inside face: do not cut"
STANDING_WORDS = "walls stand here: do not cut"
LEAST_SHOWN_MM = 0.5
"""An inside line nearer to the cut line than this would be one line with it."""

SECTION = (22.0, 13.0)
"""Room (mm) along an edge and square to it that the sketch of a bevel takes, its words aside."""
_HALF_LONG, _HALF_THICK, _ARROW = 8.0, 2.5, 6.0


def draw_inside(sketch: Sketch, part: Part, panel: Panel) -> InnerFace:
    """The inside face where it differs from the cut line, dashed, and words along its longest line."""
    face = _placed(panel, part)
    shown = [(key, curve) for key, curve in face.curves if _is_apart(curve, part)]
    for key, curve in shown:
        sketch.stroke(Role.HIDDEN, curve, f"inside.{key}")
    if shown:
        _, longest = max(shown, key=lambda each: each[1].length)
        sketch.label("inside", HIDDEN_WORDS, list(_beside(longest, part)), needed=False, height=SMALL_MM)
    return face


def _placed(panel: Panel, part: Part) -> InnerFace:
    """The inside face in the part's coordinates, which are the board's own or their mirror image."""
    if not panel.mirrored:
        return inner_face(panel, part.stretches)
    over = Affine.reflection_x(part.blank.middle_x)
    stretches = [stretch.transformed(over).turned_round() for stretch in reversed(part.stretches)]
    face = inner_face(panel, stretches)
    return InnerFace(tuple((key, curve.transformed(over)) for key, curve in face.curves), face.steps)


def _is_apart(curve: Curve, part: Part) -> bool:
    """Whether any of it is off the cut line."""
    points = np.array([curve.point(share * len(curve)) for share in (0.25, 0.5, 0.75)])
    return bool((np.abs(part.outline.clearance(points)) > LEAST_SHOWN_MM).any())


def _beside(curve: Curve, part: Part) -> Iterator[Place]:
    """Along a line, on the side where the wood is."""
    for away in (3.0, 6.0, 9.0):
        for share in (0.5, 0.35, 0.65, 0.2, 0.8):
            t = share * len(curve)
            dx, dy = (float(v) for v in curve.tangent(t))
            yield moved(curve.point(t), (-dy, dx), away), readable((dx, dy))


def _draw_standing(sketch: Sketch, part: Part, panel: Panel) -> None:
    """Where the walls stand on the upper face of a base."""
    over = Affine.reflection_x(part.blank.middle_x) if panel.mirrored else Affine()
    for number, corners in enumerate(panel.standing):
        curve = Curve.polyline([over.point(*corner) for corner in corners], closed=True)
        sketch.stroke(Role.HIDDEN, curve, f"walls[{number}]")
    if panel.standing:
        xs, ys = zip(*panel.standing[-1], strict=True)
        middle = (min(xs) + max(xs)) / 2
        places = [((middle + away, min(ys) + 4.0), 0.0) for away in (0.0, -60.0, 60.0, -110.0, 110.0)]
        sketch.label("walls", STANDING_WORDS, places, needed=False, height=SMALL_MM)


def draw_fingers(sketch: Sketch, part: Part, panel: Panel, display: Display) -> None:
    """The cheeks and the roots on the outside face, for setting a jig by, and how they are cut."""
    for joint in panel.joints:
        if joint.comb is None:
            continue
        over = Affine.reflection_x(part.blank.middle_x) if panel.mirrored else Affine()
        for number, (start, end) in enumerate(joint.finger_lines):
            sketch.line(Role.MARK, over.point(*start), over.point(*end), f"fingers.{joint.edge}[{number}]")
        edge = _edge_of(part, panel, joint.edge)
        deep = part.spec.thickness.value + 8.0 if part.spec.thickness is not None else 24.0
        for number, text in enumerate(finger_words(joint, display)):
            places = list(_along(edge, part, 0.5, [deep + 6.5 * number + more for more in (0.0, 6.5, 13.0)]))
            height = SMALL_MM if number else FIGURE_MM
            sketch.label(f"fingers.{joint.edge}.words[{number}]", text, places, needed=False, height=height)


def finger_words(joint: EndJoint, display: Display) -> list[str]:
    """What stands beside the fingers of an end."""
    comb = joint.comb
    if comb is None:
        return []
    first = "finger" if joint.owns_first else "gap"
    words = [
        f"{first} first; edge at {display.length(comb.cheeks[0])}, fingers {display.length(comb.width)}",
    ]
    proud = f"; {display.length(joint.proud)} proud" if joint.proud else ""
    if joint.cut == "square":
        words.append(f"square jig: roots stand off {display.amount(joint.gap)}{proud}")
    else:
        words.append(f"cut with the stock tilted{proud}")
    return words


def _edge_of(part: Part, panel: Panel, name: str) -> Edge:
    """The blank's edge of that name; the mirror image has kept the names with the edges."""
    edge = part.blank.edge(name)
    return edge if edge is not None else part.blank.edges[0]


def _along(edge: Edge, part: Part, share: float, depths: Sequence[float]) -> Iterator[Place]:
    for depth in depths:
        for at in (share, 0.35, 0.65, 0.25, 0.75):
            start = moved(edge.start, edge.direction, at * edge.length)
            yield moved(start, edge.inward, depth), readable(edge.direction)


# -------------------------------------------------------------------- each bevel


def draw_bevels(sketch: Sketch, part: Part, panel: Panel) -> None:
    """At every bevelled edge a section through it: the outside face, the slope of the cut, and an arrow to the waste."""
    tilts = [panel.board.tilt_of(number) for number in range(len(panel.board.sides))]
    if max(tilts) - min(tilts) < SQUARE and abs(tilts[0]) > SQUARE and panel.stands[0] == "base":
        _draw_bevel(sketch, part, part.blank.edges[0], tilts[0], "every edge: ")
        return
    for number, side in enumerate(panel.board.sides):
        tilt = tilts[number]
        is_straight = any(s.edge == side.edge and s.kind == "straight" for s in part.stretches)
        if abs(tilt) < max(SQUARE, math.radians(0.05)) or not is_straight or side.edge in _done(panel, number):
            continue
        edge = part.blank.edge(side.edge)
        if edge is not None:
            _draw_bevel(sketch, part, edge, tilt)


def _done(panel: Panel, number: int) -> set[str]:
    return {side.edge for side in panel.board.sides[:number]}


def _draw_bevel(sketch: Sketch, part: Part, edge: Edge, tilt: float, lead: str = "") -> None:
    degrees = f"{lead}{round(abs(math.degrees(tilt)), 1):g}° bevel, {'outside' if tilt > 0 else 'inside'} face short"
    out = (-edge.inward[0], -edge.inward[1])
    key = f"bevel.{edge.name}"
    for depth in (14.0, 24.0, 34.0, 46.0):
        for share in (0.3, 0.7, 0.2, 0.8, 0.4, 0.6, 0.5):
            at = moved(moved(edge.start, edge.direction, share * edge.length), edge.inward, depth)
            angle = readable(edge.direction)
            words_at = moved(at, edge.inward, _HALF_LONG + 4.0)
            width = text_width(degrees, SMALL_MM)
            if not _is_inside(part, at, words_at, angle, width):
                continue
            if sketch.space.covered(at, 2 * _HALF_THICK + 2.0, 2 * _HALF_LONG + 2 * _ARROW, angle):
                continue
            if sketch.space.covered(words_at, width, SMALL_MM, angle):
                continue
            _draw_section(sketch, at, out, tilt, key)
            sketch.write(key, degrees, (words_at, angle), SMALL_MM)
            return
    places = list(_along(edge, part, 0.5, (5.0, 9.5, 14.0, 20.0)))
    sketch.label(key, degrees, places, needed=False, height=SMALL_MM)


def _is_inside(part: Part, at: Point, words_at: Point, angle: float, width: float) -> bool:
    along = (math.cos(angle), math.sin(angle))
    points = [moved(at, along, k * (_HALF_THICK + 1.0)) for k in (-1, 1)]
    points += [moved(words_at, along, k * (width / 2 + 1.0)) for k in (-1, 0, 1)]
    return bool(part.outline.contains(np.array(points)).all())


def _draw_section(sketch: Sketch, at: Point, out: Point, tilt: float, key: str) -> None:
    """The outside face is the line with a short stroke across it; the arrow points to the waste."""
    across = (-out[1], out[0])
    lean = 2 * _HALF_THICK * math.tan(max(-math.radians(60), min(math.radians(60), tilt))) / 2
    outside = [moved(moved(at, out, r), across, _HALF_THICK) for r in (-_HALF_LONG, -lean)]
    inside = [moved(moved(at, out, r), across, -_HALF_THICK) for r in (lean, -_HALF_LONG)]
    sketch.stroke(Role.SKETCH, Curve.polyline([*outside, *inside]), key)
    tick = moved(outside[0], out, 2.0)
    sketch.line(Role.SKETCH, moved(tick, across, -0.8), moved(tick, across, 0.8), f"{key}.outside")
    start, tip = moved(at, out, abs(lean) + 1.0), moved(at, out, abs(lean) + 1.0 + _ARROW)
    sketch.line(Role.SKETCH, start, tip, f"{key}.waste")
    barbs = [moved(moved(tip, out, -2.0), across, k * 0.8) for k in (-1, 1)]
    sketch.stroke(Role.SKETCH, Curve.polyline([barbs[0], tip, barbs[1]]), f"{key}.waste")


# -------------------------------------------------------------------- where the board sits

PICTURE = (36.0, 27.0)
"""Width and height of the picture of the piece (mm)."""

_SLANT = (0.5, 0.35)
"""What a step to the back is in the picture, across and up."""


def draw_place(sketch: Sketch, part: Part, panel: Panel) -> None:
    """A small picture of the piece with this board hatched, where there is room inside the outline; it is the same
    whatever the sizes are."""
    place = _free_place(sketch, part)
    if place is None:
        return
    lines, hatched = _picture(panel)
    for number, (start, end) in enumerate([*lines, *hatched]):
        sketch.line(Role.SKETCH, moved(place, start, 1.0), moved(place, end, 1.0), f"place[{number}]")


def _free_place(sketch: Sketch, part: Part) -> Point | None:
    """The middle of a free box of the picture's size inside the outline."""
    x0, y0, x1, y1 = part.blank.bounds
    width, height = PICTURE
    for b in (0.5, 0.3, 0.7, 0.2, 0.8):
        for a in (0.75, 0.25, 0.5, 0.15, 0.85):
            x, y = x0 + a * (x1 - x0), y0 + b * (y1 - y0)
            corners = [(x + i * width / 2, y + j * height / 2) for i in (-1, 0, 1) for j in (-1, 1)]
            if part.outline.contains(np.array(corners)).all() and not sketch.space.covered((x, y), width, height):
                return x, y
    return None


Line = tuple[Point, Point]


def _picture(panel: Panel) -> tuple[list[Line], list[Line]]:
    """The lines of the picture about its middle, and the hatching of this board."""
    bottom, top = _rings(panel)
    count = len(bottom)
    lines = [(bottom[k], bottom[(k + 1) % count]) for k in range(count)]
    lines += [(top[k], top[(k + 1) % count]) for k in range(count)]
    lines += [(bottom[k], top[k]) for k in range(count)]
    number = _wall_number(panel)
    if number is None:
        return lines, _hatching(bottom[0], bottom[1], bottom[3 % count], bottom[2])
    return lines, _hatching(bottom[number], bottom[(number + 1) % count], top[number], top[(number + 1) % count])


def _wall_number(panel: Panel) -> int | None:
    order = ("foot_board", "right_side", "head_board", "left_side")
    if panel.stands[0] == "base":
        return None
    return order.index(panel.stands[0]) if panel.stands[0] in order else 0


def _rings(panel: Panel) -> tuple[list[Point], list[Point]]:
    """The corners at the bottom and at the top, the foot board's left one first, going round counter-clockwise."""
    if panel.carcass == "box":
        plan = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
    else:
        turn = math.pi / panel.count
        angles = [-math.pi / 2 - turn + 2 * math.pi * k / panel.count for k in range(panel.count)]
        plan = [(math.cos(a) / math.cos(turn), math.sin(a) / math.cos(turn)) for a in angles]
    bottom = [_seen(x * 9.0, y * 9.0, -8.0) for x, y in plan]
    top = [_seen(x * 11.5, y * 11.5, 4.0) for x, y in plan]
    return bottom, top


def _seen(x: float, y: float, z: float) -> Point:
    return x + _SLANT[0] * y, z + _SLANT[1] * y


def _hatching(a: Point, b: Point, c: Point, d: Point, count: int = 9) -> list[Line]:
    """Lines from the edge a-b to the edge c-d."""
    shares = [k / count for k in range(1, count)]
    return [(_between(a, b, share), _between(c, d, share)) for share in shares]


def _between(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def draw_panel(sketch: Sketch, part: Part, display: Display) -> None:
    """All of it."""
    panel = part.spec.panel
    if panel is None:
        return
    draw_inside(sketch, part, panel)
    _draw_standing(sketch, part, panel)
    draw_fingers(sketch, part, panel, display)


def draw_panel_sketches(sketch: Sketch, part: Part) -> None:
    """The sketches, once everything that has a place of its own is drawn."""
    panel = part.spec.panel
    if panel is not None:
        draw_bevels(sketch, part, panel)
        draw_place(sketch, part, panel)


__all__ = ["SAME_MM", "draw_panel", "draw_panel_sketches", "finger_words"]
