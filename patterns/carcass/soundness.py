"""Whether the walls of a carcass make boards at all, and what would have to be other where they do not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from patterns.carcass.board import Board
from patterns.carcass.box import ENDS, SIDES, WALLS, Box, WallName
from patterns.carcass.figures import MOST_BEVEL
from patterns.carcass.hoodfigures import hood_trouble
from patterns.carcass.planes import cross, dot, plus
from patterns.carcass.vessel import Vessel
from patterns.display import Display

LEAST_MM = 1.0
"""An edge shorter than this is no edge that can be sawn."""

LEAST_BELOW_MM = 0.05
"""Walls that reach further than this into the floor rock on it."""


def trouble(shape: Box | Vessel, display: Display) -> list[tuple[str, str]]:
    """What makes the carcass impossible: (the key that it is about, what is wrong and which limit would work)."""
    found = list(_of_box(shape, display) if isinstance(shape, Box) else _of_vessel(shape, display))
    if not found and isinstance(shape, Box) and shape.hood is not None:
        found = [(f"hood, {key}", what) for key, what in hood_trouble(shape, shape.hood, display)]
    found = found or list(_steep_edges(shape))
    found = found or list(_below_the_bottom(shape, display))
    if isinstance(shape, Box) and shape.hood is None:
        found = found or list(_apart_from_neighbours(shape, display))
    if found:
        return found
    try:
        boards = shape.boards + (shape.hood_boards if isinstance(shape, Box) else ())
        wrong = [board.name for board in boards if turned_edge(board) is not None]
    except ValueError:
        return [("", "two of its walls do not meet at a corner: they are parallel there, or all but")]
    return (
        [("", f"the {wrong[0].replace('_', ' ')} has an edge that is turned inside out: the walls pass each other")]
        if wrong
        else []
    )


def turned_edge(board: Board) -> int | None:
    """The first edge that runs backwards on a face, or is shorter than can be sawn; None where all are sound."""
    for corners in (board.outside_corners, board.inside_corners):
        for k, side in enumerate(board.sides):
            along = cross(board.outside.normal, side.plane.normal)
            if dot(plus(corners[k], corners[k - 1], -1.0), along) < LEAST_MM:
                return k
    return None


def _steep_edges(shape: Box | Vessel) -> Iterator[tuple[str, str]]:
    """Free edges that would run almost along the face."""
    try:
        walls = shape.walls[:1] if isinstance(shape, Vessel) else shape.walls
    except ValueError:
        return
    for wall in walls:
        for edge, plane in (*((side.edge, side.plane) for side in wall.over), ("bottom", wall.bottom)):
            lean = abs(math.asin(max(-1.0, min(1.0, dot(plane.normal, wall.outside.normal)))))
            if lean > MOST_BEVEL:
                name = "stave" if isinstance(shape, Vessel) else wall.name.replace("_", " ")
                yield (
                    "panels",
                    f"the {edge} edge of the {name} would run almost along the face, {math.degrees(lean):.1f} degrees from "
                    f"square; {math.degrees(MOST_BEVEL):g} is the most, so say another bevel",
                )


def _below_the_bottom(shape: Box | Vessel, display: Display) -> Iterator[tuple[str, str]]:
    """Walls that lean in and whose bottoms are not cut level: the inside arris would stand lower than the outside one."""
    try:
        boards = shape.boards[:1] if isinstance(shape, Vessel) else shape.boards
    except ValueError:  # planes that do not meet are told by those who look for them
        return
    for board in boards:
        below = -min(board.inside_corners[k][2] for k in (-1, 0))
        if below > LEAST_BELOW_MM:
            name = "stave" if isinstance(shape, Vessel) else board.name.replace("_", " ")
            yield (
                "panels",
                f"the bottom edge of the {name}, as its bevel has it, would reach {display.amount(below)} below where the "
                "walls stand, at the inside face; cut it level",
            )


def _apart_from_neighbours(box: Box, display: Display) -> Iterator[tuple[str, str]]:
    """Tops that are to be cut in the plane of another wall's, which is not where their own height is."""
    try:
        for (name, edge), bevel in box.bevels.items():
            if edge == "top" and bevel in WALLS and (off := box.off_its_top(name)) > LEAST_MM:
                words, other = name.replace("_", " "), str(bevel).replace("_", " ")
                yield (
                    "height",
                    f"the {words} is to be cut in the plane of the {other}'s top (bevels), but its own height is "
                    f"{display.length(off)} off that plane; give it the height of the {other} there, or another bevel",
                )
    except ValueError:  # planes that do not meet are told by those who look for them
        return


def _of_box(box: Box, display: Display) -> Iterator[tuple[str, str]]:
    for names, words in ((SIDES, "sides"), (ENDS, "head board and the foot board")):
        low, top = _room(box, names, 0.0), max(max(box.heights[name]) for name in names)
        lean = sum(math.tan(box.splays[name]) for name in names)
        if low <= 0.0:
            taken = sum(box.thicknesses[name] / math.cos(box.splays[name]) for name in names)
            yield (
                "thickness",
                f"the {words} leave no room between them at the bottom: they take {display.length(taken)} of "
                f"{display.length(low + taken)}",
            )
        elif low + lean * top <= 0.0:
            where = low / -lean
            yield (
                "splay",
                f"the {words} lean in so far that their inside faces meet {display.length(where)} up; a height under "
                f"that would work, or a splay of more than {_degrees(-math.atan(low / (top * len(names))))}",
            )


def _room(box: Box, names: Sequence[WallName], z: float) -> float:
    """How far the inside faces of two walls across from each other are apart at a height (mm)."""
    plan = box.width if names == SIDES else box.length
    lean = sum(math.tan(box.splays[name]) for name in names) * z
    taken = sum(box.thicknesses[name] / math.cos(box.splays[name]) for name in names)
    return plan + lean - (taken if box.at == "outside" else 0.0)


def _of_vessel(vessel: Vessel, display: Display) -> Iterator[tuple[str, str]]:
    inside = vessel.apothem - vessel.thickness / math.cos(vessel.splay)
    lean = math.tan(vessel.splay)
    if inside <= 0.0:
        most = display.length(vessel.apothem * math.cos(vessel.splay))
        yield "thickness", f"the staves leave no room in the middle; less than {most} would"
    elif inside + lean * vessel.height <= 0.0:
        where = inside / -lean
        least = -math.atan(inside / vessel.height)
        yield (
            "splay",
            f"the staves lean in so far that they meet {display.length(where)} up; a height under that would work, or a "
            f"splay of more than {_degrees(least)}",
        )


def _degrees(radians: float) -> str:
    return f"{math.ceil(math.degrees(radians) * 10) / 10:g} degrees"
