"""What a panel has behind its outline that a mirror image has to have too: inside arrises, fingers, rabbets, walls.

A rectangle whose top and bottom lean, or whose fingers begin at the bottom, is no mirror image of itself in the level line,
although its outline is.
"""

from __future__ import annotations

from collections.abc import Iterator

from patterns.affine import Affine
from patterns.carcass.innerface import level_shift
from patterns.carcass.panel import Panel
from patterns.part import Part
from patterns.pattern import Behind


def behind(part: Part, panel: Panel) -> tuple[Behind, ...]:
    """All of it, in the part's coordinates."""
    over = Affine.reflection_x(part.blank.middle_x) if panel.mirrored else Affine()
    return tuple(Behind(one.key, one.kind, over.point(*one.start), over.point(*one.end)) for one in _lines(panel))


def _lines(panel: Panel) -> Iterator[Behind]:
    """In the coordinates of the board."""
    board = panel.board
    count = len(board.sides)
    of = {}
    for k, side in enumerate(board.sides):
        start, end = board.inside_outline[k], board.inside_outline[(k + 1) % count]
        yield Behind(f"edges.{side.edge}", "inside arris", start, end)
        of[side.edge] = board.outline[k], board.outline[(k + 1) % count]
    for joint in panel.joints:
        for start, end in joint.finger_lines:
            yield Behind(f"edges.{joint.edge}", "finger", start, end)
        if joint.rabbet:
            yield Behind(f"edges.{joint.edge}", f"rabbet {joint.rabbet:.2f} {joint.rabbet_width:.2f}", *of[joint.edge])
    for edge, cut in panel.curves:
        if cut == "level" and edge in of:
            dx, dy = level_shift(board)
            (x0, y0), (x1, y1) = of[edge]
            yield Behind(f"edges.{edge}", "level curve", (x0 + dx, y0 + dy), (x1 + dx, y1 + dy))
    for corners in panel.standing:
        for k, corner in enumerate(corners):
            yield Behind("walls", "wall", corner, corners[(k + 1) % len(corners)])
