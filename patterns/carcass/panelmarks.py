"""What a panel's pattern shows beside a part's: the inside face, the fingers, each bevel, and where the board sits."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from patterns.affine import Affine
from patterns.blank import Edge
from patterns.carcass.bevelmarks import draw_bevels
from patterns.carcass.board import Board, Point
from patterns.carcass.innerface import InnerFace, inner_face
from patterns.carcass.panel import EndJoint, Panel
from patterns.carcass.placepicture import draw_place
from patterns.carcass.shown import Shown
from patterns.curve import Curve
from patterns.display import Display
from patterns.part import Part
from patterns.pattern import Role
from patterns.sketch import FIGURE_MM, SMALL_MM, Place, Sketch, moved, readable

HIDDEN_WORDS = "inside face: do not cut"
STANDING_WORDS = "walls stand here: do not cut"
LEAST_SHOWN_MM = 0.5
"""An inside line nearer to the cut line than this would be one line with it."""


def draw_inside(sketch: Sketch, shown: Shown) -> None:
    """The inside face where it differs from the cut line, dashed, and words along its longest line."""
    face = _placed(shown.panel, shown.part)
    apart = [
        (key, piece) for key, curve in face.curves if _is_apart(curve, shown.part) for piece in shown.of_strip(curve)
    ]
    for key, curve in apart:
        sketch.stroke(Role.HIDDEN, curve, f"inside.{key}")
    if apart:
        _, longest = max(apart, key=lambda each: each[1].length)
        sketch.label("inside", HIDDEN_WORDS, list(_beside(longest)), needed=False, height=SMALL_MM)


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


def _beside(curve: Curve) -> Iterator[Place]:
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


def draw_fingers(sketch: Sketch, shown: Shown, display: Display) -> None:
    """The cheeks and the roots on the outside face, for setting a jig by, and how they are cut."""
    part, panel = shown.part, shown.panel
    over = Affine.reflection_x(part.blank.middle_x) if panel.mirrored else Affine()
    for joint in panel.joints:
        edge = part.blank.edge(joint.edge)
        run = shown.straight_run(edge) if edge is not None else None
        if joint.comb is None or edge is None or run is None:
            continue
        for number, (start, end) in enumerate(joint.finger_lines):
            for piece in shown.of_strip(Curve.line(over.point(*start), over.point(*end))):
                sketch.stroke(Role.MARK, piece, f"fingers.{joint.edge}[{number}]")
        deep = part.spec.thickness.value + 8.0 if part.spec.thickness is not None else 24.0
        for number, text in enumerate(finger_words(joint, display)):
            places = list(_along(edge, run, [deep + 6.5 * number + more for more in (0.0, 6.5, 13.0)]))
            height = SMALL_MM if number else FIGURE_MM
            sketch.label(f"fingers.{joint.edge}.words[{number}]", text, places, needed=False, height=height)


def draw_rabbets(sketch: Sketch, shown: Shown, display: Display) -> None:
    """The shoulder of each rabbet on the inside face, dashed as all that is behind, and its width and depth in words."""
    part, panel = shown.part, shown.panel
    board = panel.board
    over = Affine.reflection_x(part.blank.middle_x) if panel.mirrored else Affine()
    for joint in panel.joints:
        edge = part.blank.edge(joint.edge)
        run = shown.straight_run(edge) if edge is not None else None
        if not joint.rabbet or edge is None or run is None:
            continue
        for piece in shown.of_strip(Curve.line(*(over.point(*end) for end in _shoulder(board, joint)))):
            sketch.stroke(Role.HIDDEN, piece, f"rabbet.{joint.edge}")
        size = f"{display.length(joint.rabbet_width)} wide, {display.length(joint.rabbet)} deep"
        places = list(_along(edge, run, [joint.rabbet_width + more for more in (6.0, 10.0, 14.0)]))
        text = f"rabbet in the inside face, {size}"
        sketch.label(f"rabbet.{joint.edge}.words", text, places, needed=False, height=SMALL_MM)


def _shoulder(board: Board, joint: EndJoint) -> list[Point]:
    """The line beside an end's inside arris, as far from it as the rabbet is wide, from one neighbouring edge's to the
    other's."""
    number, count = board.number_of(joint.edge), len(board.sides)
    corners = [board.inside_outline[(number + k) % count] for k in (-1, 0, 1, 2)]
    a, b = np.array(corners[1]), np.array(corners[2])
    inward = np.array([a[1] - b[1], b[0] - a[0]]) / math.dist(a, b)
    ends = []
    for start, far in ((a, np.array(corners[0])), (b, np.array(corners[3]))):
        x, y = start + (far - start) * joint.rabbet_width / float(inward @ (far - start))
        ends.append((float(x), float(y)))
    return ends


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


def _along(edge: Edge, run: tuple[float, float], depths: Sequence[float]) -> Iterator[Place]:
    for depth in depths:
        for share in (0.5, 0.35, 0.65, 0.25, 0.75):
            start = moved(edge.start, edge.direction, run[0] + share * (run[1] - run[0]))
            yield moved(start, edge.inward, depth), readable(edge.direction)


def draw_panel(sketch: Sketch, shown: Shown, display: Display) -> None:
    """The lines that have a place of their own."""
    draw_inside(sketch, shown)
    if shown.strip is None:
        _draw_standing(sketch, shown.part, shown.panel)
    draw_fingers(sketch, shown, display)
    draw_rabbets(sketch, shown, display)


def draw_panel_sketches(sketch: Sketch, shown: Shown) -> None:
    """The sketches, once everything that has a place of its own is drawn."""
    draw_bevels(sketch, shown)
    draw_place(sketch, shown)
