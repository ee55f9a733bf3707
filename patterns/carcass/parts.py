"""The parts that a carcass makes: a panel for each wall, one for walls that are alike, with what the file says of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from patterns.carcass.board import Board, Point
from patterns.carcass.box import WALLS, Box
from patterns.carcass.figures import MOST_FINGERS, FingerFigures, in_words
from patterns.carcass.fingers import Comb, Layout, comb_of, fingered_end, square_gap
from patterns.carcass.model import CarcassTable, PanelTable
from patterns.carcass.panel import EndJoint, Panel
from patterns.carcass.planes import Plane, angle_between, dot, meet, plus
from patterns.carcass.resolve import PLACE, Figures, base_of, figures_of, layouts_of
from patterns.carcass.ring import LEFT, RIGHT, Joint, Wall, corner_of
from patterns.carcass.roundlimits import limited
from patterns.carcass.soundness import trouble
from patterns.carcass.spec import Carcass
from patterns.carcass.vessel import Vessel
from patterns.display import Display
from patterns.partmodel import EdgeTable
from patterns.piece import BlankSpec, Given, PartSpec
from patterns.resolve_blank import CORNERS, SIDES
from patterns.resolve_features import resolve_features
from patterns.values import Values
from patterns.wording import inside, named_place

SAME_MM = 1e-7
"""Corners nearer than this are the same: far above what rounding does, far below what a rule shows."""

LYING = math.sin(math.radians(5))
"""A board less out of level than this lies: no level cut comes through it."""

CHAMFER_NOTE = "Chamfer its upper edges by {0} before it goes {1} the walls."
BELOW_NOTE = "The outside face of the base is the lower one."
TRIM_NOTE = "Plane the thin arris of its upper edge, on the inside face, to a flat of {0}: the board above covers it."
FIT_NOTE = "Measure the finished walls first, and fit this board to them; the drawing is what they should come to."


def carcass_of(table: CarcassTable, values: Values) -> tuple[Carcass, tuple[PartSpec, ...]] | None:
    """The carcass and its parts; None where there is a mistake, which is told."""
    figures = figures_of(table, values)
    if figures is None:
        return None
    display = Display(values.units)
    before = values.mistakes.marks
    for key, what in trouble(figures.shape, display):
        values.mistakes.add(inside(PLACE, key) if key else PLACE, what)
    if values.mistakes.marks != before:
        return None
    layouts = layouts_of(figures)
    if layouts and not _fingers_fit(figures, layouts, values, display):
        return None
    base = base_of(figures)
    groups = _groups(table, figures, layouts, base, values)
    parts = [_part(group, table, figures, values) for group in groups]
    if values.mistakes.marks != before:
        return None
    panels = tuple((part.name, part.panel) for part in parts if part.panel is not None)
    return Carcass(figures.shape, panels, layouts, base, figures.residuals), tuple(parts)


def _fingers_fit(figures: Figures, layouts: Sequence[Layout], values: Values, display: Display) -> bool:
    walls = figures.shape.walls
    lengths: list[float] = []
    combs: list[Comb] = []
    for k, wall in enumerate(walls):
        try:
            combs.append(comb_of(wall, walls[(k + 1) % len(walls)], layouts[k]))
        except ValueError:
            corner = corner_of(wall, walls[(k + 1) % len(walls)])
            after = walls[(k + 1) % len(walls)]
            tops = [meet(wall.outside, after.outside, top) for top in (wall.top_right, after.top_left)]
            lengths.append(min(dot(plus(top, corner.start, -1.0), corner.direction) for top in tops))
    fingers = figures.fingers
    if fingers is None:
        return True
    if not lengths:
        return _fingers_are_sound(fingers, combs, min(wall.thickness for wall in walls), values, display)
    said = fingers.spacing.written if fingers.spacing is not None else f"{fingers.count} fingers and gaps"
    place = fingers.spacing.place if fingers.spacing is not None else inside(fingers.place, "count")
    most = display.at_most(min(lengths))
    values.mistakes.add(
        place, f"{said}: there is no room for a finger and a gap on a corner {most} long; {most} is the most"
    )
    return False


def _fingers_are_sound(
    fingers: FingerFigures, combs: Sequence[Comb], thinnest: float, values: Values, display: Display
) -> bool:
    """Whether there are fingers that can be cut one by one, and that play leaves something of."""
    before = values.mistakes.marks
    width, longest = min(comb.width for comb in combs), max(comb.length for comb in combs)
    if max(len(comb.cheeks) for comb in combs) >= MOST_FINGERS and fingers.spacing is not None:
        least = display.at_least(2 * longest / MOST_FINGERS)
        what = f"{fingers.spacing.written} makes more than {MOST_FINGERS} fingers and gaps; {least} is the least"
        values.mistakes.add(fingers.spacing.place, what)
    elif fingers.play >= width:
        what = f"{display.length(fingers.play)} leaves nothing to hold of fingers {display.length(width)} wide"
        values.mistakes.add(inside(fingers.place, "play"), f"{what}; a hair more than none is usual")
    if fingers.proud > thinnest:
        what = f"fingers would stand out {display.length(fingers.proud)} from boards {display.length(thinnest)} thick"
        values.mistakes.add(inside(fingers.place, "proud"), f"{what}; it is what is planed off after the glue is dry")
    return values.mistakes.marks == before


# -------------------------------------------------------------------- which walls are one part


class _Group(Struct, frozen=True):
    """Walls that one part stands for: its name, the keys under which the file may speak of it, and how many there are."""

    name: str
    keys: tuple[str, ...]
    stands: tuple[str, ...]
    board: Board
    joints: tuple[EndJoint, ...]
    quantity: int = 1
    opposite_hand: int = 0


def _groups(
    table: CarcassTable, figures: Figures, layouts: Sequence[Layout], base: Board | None, values: Values
) -> list[_Group]:
    shape = figures.shape
    boards = shape.boards
    joints = [_joints(board, k, shape.walls, shape.joints, layouts) for k, board in enumerate(boards)]
    if isinstance(shape, Box):
        found = [*_of_box(table, boards, joints, values), *_of_hood(shape.hood_boards)]
    else:
        names = tuple(wall.name for wall in shape.walls)
        found = [_Group("stave", ("stave",), names, replace(boards[0], name="stave"), joints[0], len(boards))]
    if base is not None:
        found.append(_Group("base", ("base",), ("base",), base, ()))
    return found


def _check_both(table: CarcassTable, values: Values) -> None:
    """Tells what the file says of both sides at once where they are no mirror images: for one of them the stations would
    be counted from the other end."""
    said = table.panels.get("sides")
    if said is None:
        return
    swept = [edge for edge, one in said.edges.items() if edge in ("left", "right") or _is_placed(one)]
    placed = [key for key in ("hole", "cut", "corners", "mark") if getattr(said, key)]
    for key in [*(f"edges.{edge}" for edge in swept), *placed]:
        where = inside(named_place(inside(PLACE, "panels"), "sides"), key)
        what = "the sides are no mirror images of each other, so this would come at different ends of them"
        values.mistakes.add(where, f"{what}; describe left_side and right_side each by itself")


def _is_placed(said: EdgeTable | list[EdgeTable]) -> bool:
    """Whether an edge has a sweep, or a round-over between stations."""
    if isinstance(said, list):
        return True
    ends = (said.from_, said.to, *((said.round_over.from_, said.round_over.to) if said.round_over else ()))
    is_swept = said.arch or said.points or said.heights or said.measured
    return bool(is_swept) or any(end is not None for end in ends)


def _of_box(
    table: CarcassTable, boards: Sequence[Board], joints: Sequence[tuple[EndJoint, ...]], values: Values
) -> list[_Group]:
    by_name = dict(zip(WALLS, zip(boards, joints, strict=True), strict=True))
    found = []
    (left, _), (right, of_right) = by_name["left_side"], by_name["right_side"]
    apart = {"left_side", "right_side"} & set(table.panels)
    if not apart and _are_twins(left, right):
        found.append(_Group("side", ("sides",), ("right_side", "left_side"), right, of_right, 2, 1))
    else:
        found += [_single(name, "sides", by_name) for name in ("left_side", "right_side")]
        _check_both(table, values)
    (foot, of_foot), (head, of_head) = by_name["foot_board"], by_name["head_board"]
    apart = {"foot_board", "head_board"} & set(table.panels)
    alike = _alike(foot.outline, head.outline) and _alike(foot.inside_outline, head.inside_outline)
    if not apart and alike and all(map(_same_joint, of_foot, of_head)):
        found.append(_Group("end board", ("ends",), ("foot_board", "head_board"), foot, of_foot, 2))
    else:
        found += [_single(name, "ends", by_name) for name in ("head_board", "foot_board")]
    return found


def _of_hood(boards: Sequence[Board]) -> list[_Group]:
    """The front board, and the roof boards of either side together where they are alike."""
    by_name = {board.name: board for board in boards}
    found = []
    for board in boards:
        twin = by_name.get(board.name.replace("_left", "_right"))
        key = board.name.removesuffix("_left").removesuffix("_right")
        if board.name in ("front_board", "roof_top") or twin is None:
            found.append(_Group(in_words(board.name), (key,), (board.name,), board, ()))
        elif board.name.endswith("_left"):
            words = f"{in_words(key)} board"
            if _are_twins(board, twin):
                found.append(_Group(words, (key,), (twin.name, board.name), twin, (), 2, 1))
            else:
                found += [_Group(f"left {words}", (key,), (board.name,), board, ())]
                found += [_Group(f"right {words}", (key,), (twin.name,), twin, ())]
    return found


def _single(name: str, both: str, by_name: Mapping[str, tuple[Board, tuple[EndJoint, ...]]]) -> _Group:
    board, joints = by_name[name]
    return _Group(in_words(name), (name, both), (name,), board, joints)


def _alike(one: Sequence[Point], other: Sequence[Point]) -> bool:
    return len(one) == len(other) and all(math.dist(a, b) <= SAME_MM for a, b in zip(one, other, strict=True))


def _same_joint(one: EndJoint, other: EndJoint) -> bool:
    """Whether two ends of boards are alike within their outlines, however thick the boards are that they meet."""
    ends = [[point for line in joint.finger_lines for point in line] for joint in (one, other)]
    return abs(one.rabbet_width - other.rabbet_width) <= SAME_MM and _alike(*ends)


def _are_twins(one: Board, other: Board) -> bool:
    """Whether each is the other's mirror image."""
    across = one.outline[1][0]
    return all(
        _alike(_turned(mine, across), theirs)
        for mine, theirs in ((one.outline, other.outline), (one.inside_outline, other.inside_outline))
    )


def _turned(corners: Sequence[Point], across: float) -> list[Point]:
    """The mirror image of corners, in the order of the corners as drawn; x becomes ``across`` less x."""
    first, second, *others = ((across - x, y) for x, y in corners)
    return [second, first, *reversed(others)]


# -------------------------------------------------------------------- joints


def _joints(
    board: Board, number: int, walls: Sequence[Wall], joints: Sequence[Joint], layouts: Sequence[Layout]
) -> tuple[EndJoint, ...]:
    """The joints at the left and the right end of a wall."""
    wall, before, after = walls[number], walls[number - 1], walls[(number + 1) % len(walls)]
    left, right = joints[number - 1], joints[number]
    of_left, of_right = (layouts[number - 1], layouts[number]) if layouts else (None, None)
    return (
        _joint(board, wall, before, left, LEFT, left.long == "next", of_left),
        _joint(board, wall, after, right, RIGHT, right.long == "this", of_right),
    )


def _joint(
    board: Board, wall: Wall, other: Wall, joint: Joint, edge: str, is_long: bool, layout: Layout | None
) -> EndJoint:
    this, following = (wall, other) if edge == RIGHT else (other, wall)
    corner = corner_of(this, following)
    tops = [meet(this.outside, following.outside, top) for top in (this.top_right, following.top_left)]
    heights = [dot(plus(top, corner.start, -1.0), corner.direction) for top in tops]
    found = EndJoint(
        edge,
        joint.kind,
        in_words(other.name),
        math.pi - angle_between(wall.outside.normal, other.outside.normal),
        min(heights),
        heights[0] if edge == RIGHT else heights[1],
        is_long,
    )
    if joint.kind == "rabbet" and is_long:
        across = Plane(corner.direction, 0.0)
        ends = [meet(wall.inside, plane, across) for plane in (other.outside, other.inside)]
        return replace(found, rabbet=joint.rabbet, rabbet_width=math.dist(*ends))
    if layout is None:
        return found
    comb = comb_of(this, following, layout)
    own = "this" if edge == RIGHT else "next"
    return replace(
        found,
        comb=comb,
        owns_first=comb.first == own,
        cut=layout.cut,
        proud=joint.proud,
        play=layout.play,
        gap=square_gap(wall, other) if layout.cut == "square" else 0.0,
        finger_lines=_finger_lines(board, wall, other, joint, layout, edge),
    )


def _finger_lines(
    board: Board, wall: Wall, other: Wall, joint: Joint, layout: Layout, edge: str
) -> tuple[tuple[Point, Point], ...]:
    """The cheeks and roots of one end on the outside face, in the board's coordinates."""
    this, following = (wall, other) if edge == RIGHT else (other, wall)
    comb = comb_of(this, following, layout)
    sides = fingered_end(wall, other, joint, layout, comb, "this" if edge == RIGHT else "next")
    loop = [wall.bottom, *(side.plane for side in sides), wall.top_right if edge == RIGHT else wall.top_left]
    corners = [board.frame.to_part(meet(wall.outside, a, b)) for a, b in pairwise(loop)]
    return tuple((corners[k], corners[k + 1]) for k, side in enumerate(sides) if side.kind != "tip")


# -------------------------------------------------------------------- the part


def _part(group: _Group, table: CarcassTable, figures: Figures, values: Values) -> PartSpec:
    key = next((key for key in group.keys if key in table.panels), group.keys[0])
    place = named_place(inside(PLACE, "panels"), key)
    said = table.panels.get(key, PanelTable())
    blank = _blank(group.board, place)
    usual = "across" if group.name == "stave" else "along"
    features = resolve_features(said, (blank.edge_names, blank.corner_names), place, values, usual)  # type: ignore[arg-type]
    if said.thickness is not None:
        values.mistakes.add(inside(place, "thickness"), "is that of the carcass; say it in its own thickness or base")
    thickness = group.board.thickness
    panel = Panel(
        group.board,
        group.stands,
        "box" if isinstance(figures.shape, Box) else "staved",
        len(figures.shape.walls),
        group.joints,
        tuple(said.curves.items()),
        roofs=_roofs(figures.shape),
    )
    notes: tuple[str, ...] = features.pop("notes")
    base = figures.base
    if group.name == "base" and base is not None:
        display = Display(values.units)
        if base.chamfer:
            notes = (*notes, CHAMFER_NOTE.format(display.length(base.chamfer), base.table.place))
        if base.table.fit:
            notes = (*notes, FIT_NOTE)
        standing = _standing(group.board, figures.shape.walls) if base.table.place == "under" else ()
        panel = replace(panel, fit=base.table.fit, chamfer=base.chamfer, standing=standing)
        notes = (BELOW_NOTE, *notes)
    if group.board.trims and isinstance(figures.shape, Box) and figures.shape.hood is not None:
        flat = Display(values.units).length(figures.shape.hood.lap_flat)
        notes = (*notes, TRIM_NOTE.format(flat))
    for edge in said.curves:
        if edge not in blank.edge_names:
            values.mistakes.add(
                named_place(inside(place, "curves"), edge),
                f"the panel has no edge of that name; its edges are {', '.join(blank.edge_names)}",
            )
        elif said.curves[edge] == "level" and math.hypot(*group.board.outside.normal[:2]) < LYING:
            where = named_place(inside(place, "curves"), edge)
            values.mistakes.add(
                where, "the board lies level, and a level cut would never come through it; cut it square"
            )
    if said.bevels and not set(group.stands) & {*WALLS, *(f"stave {k + 1}" for k in range(panel.count))}:
        where = inside(place, "bevels")
        values.mistakes.add(
            where, "only walls have them; the edges of this board follow from what it meets; leave it out"
        )
    features["edges"] = limited(features["edges"], blank, group.joints, group.board.thickness)
    features |= {"thickness": Given(thickness, f"{thickness:g} mm", place), "wood": features["wood"] or table.wood}
    return PartSpec(
        name=group.name,
        place=place,
        blank=blank,
        quantity=group.quantity,
        opposite_hand=group.opposite_hand,
        notes=notes,
        panel=panel,
        **features,
    )


def _roofs(shape: Box | Vessel) -> tuple[str, ...]:
    boards = shape.hood_boards if isinstance(shape, Box) else ()
    return tuple(board.name for board in boards if "roof" in board.name)


def _standing(base: Board, walls: Sequence[Wall]) -> tuple[tuple[Point, ...], ...]:
    """Where the walls stand on a base: the outlines of their outside and their inside faces on its upper face."""
    upper = base.inside
    found = []
    for faces in ([wall.outside for wall in walls], [wall.inside for wall in walls]):
        corners = [meet(face, faces[(k + 1) % len(faces)], upper) for k, face in enumerate(faces)]
        found.append(tuple(base.frame.to_part(corner) for corner in corners))
    return tuple(found)


def _blank(board: Board, place: str) -> BlankSpec:
    """The outside face as a blank, as far as the tips of fingers reach."""
    corners = board.outline
    names = tuple(side.edge for side in board.sides)
    if names != SIDES:
        count = len(names)
        shape: Literal["polygon", "panel"] = "polygon" if names[0] == "edge_1" else "panel"
        return BlankSpec(shape, corners, names, tuple(f"corner_{k + 1}" for k in range(count)), (), place)
    (_, _), (x1, y1), (x2, y2), (x3, y3) = corners
    given = {
        key: Given(value, f"{value:.4g} mm", place)
        for key, value in (("length", x1), ("width", y3), ("bottom", x1), ("top", x2 - x3), ("height", y3))
    }
    if abs(y2 - y3) > SAME_MM or abs(y1) > SAME_MM:
        return BlankSpec("panel", corners, SIDES, CORNERS, (), place)
    keys, kind = (("bottom", "top", "height"), "trapezoid")
    if abs(x3) <= SAME_MM and abs(x2 - x1) <= SAME_MM:
        keys, kind = ("length", "width"), "rectangle"  # type: ignore[assignment]
    return BlankSpec(kind, corners, SIDES, CORNERS, tuple((key, given[key]) for key in keys), place)  # type: ignore[arg-type]
