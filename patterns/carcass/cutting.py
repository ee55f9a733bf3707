"""How each board lies on the table saw for each of its cuts: which face is up, which edge is at the gauge, what is kept.

The saw is seen from where one stands to feed it: X to the right, Y ahead, Z up. The blade cuts the table in X = 0 and leans
to one side, as the shop's does. A cut is then a rigid motion of the board, after which the plane of its edge is the blade's.
For an edge that leans there are two such motions of a board that lies flat: one keeps what is left of the blade, one what is
right; which face is up follows. Set-ups are counted by what is set: the tilt, and how far the gauge is swung.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from patterns.carcass.board import Board, Side
from patterns.carcass.planes import Plane, angle_between, cross, dot, plus, scaled, unit
from patterns.carcass.settings import SQUARE, board_of, is_curved, outward
from patterns.hands import OPPOSITE
from patterns.part import Board as GluedBoard
from patterns.part import Part
from patterns.shop import Shop

Face = Literal["outside", "inside"]
Hand = Literal["left", "right"]
Way = Literal["fence", "gauge", "taper", "on edge"]

MOST_SWING = math.radians(60)
"""No gauge swings further; what is flatter is cut along a straight edge. Common practice, no source."""

ORDER: tuple[Way, ...] = ("fence", "taper", "gauge", "on edge")
"""Long edges are bevelled before a board is crosscut; what needs a tall fence comes last."""


BLANK_EDGE = "the blank's far edge"
"""What the first long edge is cut from: the straight edge that the blank still has across from it."""


class Cut(Struct, frozen=True):
    """One cut. ``board`` is the part's name, with the number of the board where it is glued up from several.

    ``tilt`` and ``swing`` in radians: the blade's lean, and how far the gauge is turned counter-clockwise from square, seen
    from above. ``keep`` is the side of the blade that stays. ``against`` is the edge at the gauge or the fence, ``mark`` how
    far along it from its start (mm, outside arris) the blade passes; ``is_far``: the gauge is turned round in its groove and
    runs ahead of the board. ``face_up`` is of a board that lies flat; of one on edge it is the face at the tall fence.
    """

    board: str
    edge: str
    way: Way
    tilt: float
    swing: float
    face_up: Face
    keep: Hand
    against: str
    mark: float
    is_far: bool = False
    quantity: int = 1


class SetUp(Struct, frozen=True):
    """Cuts that are made with one tilt and one angle of the gauge (radians), swung to either side."""

    way: Way
    tilt: float
    gauge: float
    cuts: tuple[Cut, ...]


def set_ups(parts: Sequence[Part], shop: Shop) -> tuple[SetUp, ...]:
    """All cuts of all parts by set-up, in a sensible order: never more set-ups than distinct settings."""
    groups: dict[tuple[int, int, int], list[Cut]] = {}
    for part in parts:
        for name, board, quantity in boards_to_cut(part):
            for cut in cuts_of(board, name, quantity, shop):
                if is_curved(part, cut.edge) and cut.way != "fence":
                    continue  # it is sawn to the line of the pattern
                key = (ORDER.index(cut.way), round(cut.tilt * 1e7), round(abs(cut.swing) * 1e7))
                groups.setdefault(key, []).append(cut)
    return tuple(
        SetUp(ORDER[way], cuts[0].tilt, abs(cuts[0].swing), tuple(cuts)) for (way, _, _), cuts in sorted(groups.items())
    )


def boards_to_cut(part: Part) -> list[tuple[str, Board, int]]:
    """The boards of a part as they are sawn, with how many: one, or those that it is glued up from; those of the opposite
    hand by themselves."""
    boards, spec = [(name, board) for name, board in _drawn(part) if _has_corners(board)], part.spec
    found = [(name, board, spec.quantity - spec.opposite_hand) for name, board in boards]
    if spec.opposite_hand:
        found += [(f"{name}, {OPPOSITE}", mirrored(board), spec.opposite_hand) for name, board in boards]
    return found


def _has_corners(board: Board) -> bool:
    """Whether its straight edges go round it; one that is mostly curves is sawn to its pattern."""
    try:
        return len(board.sides) > 2 and len(board.outside_corners) == len(board.inside_corners)
    except ValueError:
        return False


def mirrored(board: Board) -> Board:
    """The mirror image of a board; its edges keep their names, as in the drawing of the opposite hand."""
    first, *others = (Side(side.edge, _reflected(side.plane), side.kind, side.meets) for side in board.sides)
    return Board(board.name, _reflected(board.outside), board.thickness, (first, *reversed(others)))


def _reflected(plane: Plane) -> Plane:
    x, y, z = plane.normal
    return Plane((-x, y, z), plane.offset)


def _drawn(part: Part) -> list[tuple[str, Board]]:
    whole = board_of(part)
    sides = tuple(_straightened(whole, k) if is_curved(part, one.edge) else one for k, one in enumerate(whole.sides))
    whole = Board(whole.name, whole.outside, whole.thickness, sides)
    if not part.boards:
        return [(part.name, whole)]
    return [(f"{part.name}, board {one.number}", _of_glued(whole, one, part)) for one in part.boards]


def _straightened(board: Board, number: int) -> Side:
    """An edge that becomes a curve: the blank is ripped square to its line first, and the curve is sawn from it."""
    side = board.sides[number]
    return replace(side, plane=Plane.through(board.outside_corners[number], outward(board, number)))


def _of_glued(whole: Board, board: GluedBoard, part: Part) -> Board:
    """A board of a glued part: its own edges of the whole, and glue edges square to the faces."""
    sides: list[Side] = []
    frame = whole.frame
    across = abs(math.cos(part.grain)) < 0.5
    for stretch in board.stretches:
        if stretch.kind == "glue":
            x, y = stretch.curve.end - stretch.curve.start
            out = unit(plus(scaled(frame.x, float(y)), frame.y, -float(x)))
            at = frame.to_space((float(stretch.curve.start[0]), float(stretch.curve.start[1])))
            name = "glue_right" if across and dot(out, frame.x) > 0 else "glue_left" if across else "glue_top"
            name = "glue_bottom" if not across and dot(out, frame.y) < 0 else name
            side = Side(name, Plane.through(at, out))
        else:
            found = next((one for one in whole.sides if one.edge == stretch.edge), None)
            if found is None:
                continue
            side = found
        if not sides or (sides[-1].edge != side.edge and sides[0].edge != side.edge):
            sides.append(side)
    sides = _without_parallel_neighbours(sides, whole.outside)
    first = min(range(len(sides)), key=lambda k: dot(outward_of(sides[k].plane, whole.outside), frame.y))
    return Board(f"{whole.name}", whole.outside, whole.thickness, (*sides[first:], *sides[:first]))


def _without_parallel_neighbours(sides: Sequence[Side], face: Plane) -> list[Side]:
    """The edges, less those that only go on in the line of a glue edge: that one is jointed square over its whole length
    first, and the bevel beside it is planed by hand."""
    count = len(sides)
    kept = []
    for k, side in enumerate(sides):
        beside = [sides[k - 1], sides[(k + 1) % count]]
        out = outward_of(side.plane, face)
        along_glue = any(
            one.edge.startswith("glue") and dot(outward_of(one.plane, face), out) > 1.0 - SQUARE for one in beside
        )
        if side.edge.startswith("glue") or not along_glue:
            kept.append(side)
    return kept


def by_hand(parts: Sequence[Part], shop: Shop) -> list[tuple[str, str, float]]:
    """Straight bevelled edges that no set-up makes, with their tilt (radians): those in an inside corner, and those that go
    on in the line of a glue edge."""
    made = {(cut.board.split(",")[0], cut.edge) for one in set_ups(parts, shop) for cut in one.cuts}
    found = []
    for part in parts:
        board = board_of(part)
        for number, side in enumerate(board.sides):
            if (part.name, side.edge) not in made and not is_curved(part, side.edge):
                found.append((part.name, side.edge, board.tilt_of(number)))
    return found


def outward_of(plane: Plane, face: Plane) -> tuple[float, float, float]:
    """The direction square to an edge's line in a face, out of the wood."""
    return unit(plus(plane.normal, face.normal, -dot(plane.normal, face.normal)))


# -------------------------------------------------------------------- the cuts of one board


def cuts_of(board: Board, name: str, quantity: int, shop: Shop) -> list[Cut]:
    """A cut for each edge, but for those in an inside corner, which no saw table reaches."""
    return [
        _cut(board, number, name, quantity, shop) for number in range(len(board.sides)) if not is_hollow(board, number)
    ]


def is_hollow(board: Board, number: int) -> bool:
    """Whether the edge's plane runs through the board: wood stands beyond it."""
    plane = board.sides[number].plane
    corners = (*board.outside_corners, *board.inside_corners)
    return any(plane.height_of(corner) > 1e-6 for corner in corners)


def _cut(board: Board, number: int, name: str, quantity: int, shop: Shop) -> Cut:
    tilt = board.tilt_of(number)
    tilt = 0.0 if abs(tilt) < SQUARE else tilt
    if abs(tilt) > shop.table_saw.most_tilt + 1e-12:
        return _on_edge(board, number, tilt, name, quantity, shop)
    choices = [
        _posed(board, number, tilt, face, keep, name, quantity) for face, keep in _poses(tilt, shop.table_saw.tilts)
    ]
    return min(choices, key=lambda cut: _preference(cut, shop.table_saw.tilts))


def _poses(tilt: float, tilts: Hand) -> list[tuple[Face, Hand]]:
    """Which face may be up with which side kept, so that the blade leans as the edge does."""
    faces: tuple[Face, ...] = ("outside", "inside")
    hands: tuple[Hand, ...] = ("left", "right")
    found = []
    for face in faces:
        up = math.copysign(1.0, tilt) * (1.0 if face == "outside" else -1.0)  # whether the upper face is the short one
        for keep in hands:
            wanted = 1.0 if keep == tilts else -1.0
            if tilt == 0.0 or up == wanted:
                found.append((face, keep))
    return found


def _posed(board: Board, number: int, tilt: float, face: Face, keep: Hand, name: str, quantity: int) -> Cut:
    """The cut in one of its poses, with the best of its reference edges."""
    own = board.sides[number].edge
    cut = Cut(name, own, "fence", abs(tilt), 0.0, face, keep, BLANK_EDGE, 0.0, False, quantity)
    parallel = _parallel_to(board, number)
    if number == 0:  # the first: against the edge that the blank still has
        return cut
    if parallel == 0:
        return replace(cut, against=board.sides[0].edge, mark=_apart(board, number))
    references = [0, *([other] if (other := _parallel_to(board, 0)) is not None else [])]
    choices = []
    for reference in references:
        swing, is_far = _swing(board, number, reference, face, keep)
        is_taper = (len(board.sides) == 4 and number == 2) or abs(swing) > MOST_SWING
        choices.append(
            replace(
                cut,
                way="taper" if is_taper else "gauge",
                swing=swing,
                against=board.sides[reference].edge,
                mark=_mark(board, number, reference),
                is_far=is_far,
            )
        )
    return min(choices, key=lambda one: (one.is_far, one.against != board.sides[0].edge))


def _mark(board: Board, number: int, reference: int) -> float:
    """Where on the reference edge's outside arris the blade passes (mm from its start)."""
    start, end = board.ends_of(reference)
    way = unit(plus(end, start, -1.0))
    plane = board.sides[number].plane
    steep = dot(plane.normal, way)
    return (plane.offset - dot(plane.normal, start)) / steep if abs(steep) > 1e-12 else 0.0


def _apart(board: Board, number: int) -> float:
    """How far an edge's outside arris is from that of the bottom, which is parallel to it (mm)."""
    away = plus(board.outside_corners[number], board.outside_corners[0], -1.0)
    return dot(away, outward(board, number))


def _parallel_to(board: Board, number: int) -> int | None:
    """The edge across from an edge, if it is parallel to it on the faces."""
    mine = outward(board, number)
    for other in range(len(board.sides)):
        if (
            other != number
            and math.sin(angle_between(mine, outward(board, other))) <= SQUARE
            and dot(mine, outward(board, other)) < 0.0
        ):
            return other
    return None


def _swing(board: Board, number: int, reference: int, face: Face, keep: Hand) -> tuple[float, bool]:
    """How far the gauge is swung counter-clockwise (radians), and whether it runs ahead of the board.

    The edge that is cut lies along Y, its waste to the right where the left side is kept. Seen from above a board with its
    inside face up is the mirror image of the drawing.
    """
    out, beside = outward(board, number), outward(board, reference)
    normal = board.outside.normal
    turn = math.atan2(dot(cross(out, beside), normal), dot(out, beside))  # from the cut's way out to the reference's
    if face == "inside":
        turn = -turn
    heading = (0.0 if keep == "left" else math.pi) + turn  # of the reference edge's way out, from X
    is_far = math.sin(heading) > 0.0
    along = heading + (-math.pi / 2 if is_far else math.pi / 2)
    return math.remainder(along, math.pi), is_far


def _on_edge(board: Board, number: int, tilt: float, name: str, quantity: int, shop: Shop) -> Cut:
    """The board stands on the edge that is cut, with a face at a tall fence on the side away from which the blade leans."""
    face: Face = "inside" if tilt > 0.0 else "outside"
    keep: Hand = "right" if shop.table_saw.tilts == "left" else "left"
    edge = board.sides[number].edge
    mark = _mark(board, number, 0) if number else 0.0
    return Cut(name, edge, "on edge", math.pi / 2 - abs(tilt), 0.0, face, keep, edge, mark, False, quantity)


def _preference(cut: Cut, tilts: Hand) -> tuple[bool, bool, bool, bool]:
    """The gauge behind the board, the blade leaning away from what lies at the fence, the bottom edge, the outside up."""
    towards_fence = cut.way in ("fence", "taper") and cut.keep == tilts
    return cut.is_far, towards_fence, cut.against != "bottom", cut.face_up == "inside"


def moved_between(before: Cut, after: Cut) -> str:
    """What is done with a board, and with the gauge, between two of its cuts in one set-up."""
    at = "fence" if after.way == "fence" else "gauge"
    words = []
    if before.face_up != after.face_up:
        words.append("turn it over")
    if before.against != after.against:
        words.append(f"turn it end for end, the {after.against} edge to the {at}")
    if before.swing * after.swing < 0.0:
        words.append("swing the gauge to the other side of square")
    if before.keep != after.keep and after.way == "gauge":
        words.append(f"use the {after.keep} groove")
    if after.is_far and not before.is_far:
        words.append("turn the gauge round in its groove, ahead of the board")
    return ", then ".join(words)
