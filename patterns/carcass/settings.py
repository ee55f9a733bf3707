"""What a saw is set to for each straight edge of a part, and every length that may be marked there.

All of it is read off the planes: the tilt is the angle between an edge's plane and a square one, the gauge that between
two lines on the outside face. A part that is no panel is a board with square edges.

For a box with splays ``a`` (the board's own) and ``b`` (its neighbour's) the planes give what carpentry texts have for the
hopper joint: tan(gauge) = cos(a) tan(b), and for a butt sin(tilt) = sin(a) sin(b). With outward normals
n = (cos a, 0, -sin a) and m = (0, cos b, -sin b) the tilt's sine is n . m; the corner line n x m makes with the level line
in the face the angle whose cotangent is cos(a) tan(b).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from patterns.carcass.board import Board, Side
from patterns.carcass.innerface import edge_shift
from patterns.carcass.panel import Panel
from patterns.carcass.planes import Plane, Vector, angle_between, common_direction, cross, dot, plus, scaled, unit
from patterns.crossings import nearest
from patterns.gluelines import ON_LINE_MM
from patterns.part import GlueRun, Part
from patterns.shop import Shop

Face = Literal["outside", "inside"]
PointKind = Literal["long point", "short point", "square"]
Way = Literal["along the fence", "mitre gauge", "straight edge", "band-saw"]

SQUARE = math.radians(1e-7)
"""Less than this is square: rounding, and nothing that is set on a machine."""

ERROR = math.radians(0.1)
"""How well a machine is set by an angle gauge. Common practice, no source."""


class EdgeSetting(Struct, frozen=True):
    """One edge of a part; angles in radians, lengths in millimetres.

    ``tilt`` is from square, positive where the outside face is the short one. ``gauge`` is from a cut square to
    ``reference``, positive where the board grows wider away from it; None for an edge that is ripped along the fence.
    ``taper`` is then the angle that such an edge makes with the reference. ``dihedral`` is that inside the piece; None
    where no board meets it. ``on_edge``: the saw can't lean so far, and the board stands against a tall fence.
    ``points`` says for the outside face what its two ends are. ``face_line`` and ``edge_line`` are for hand work: the
    angle of the line on the outside face to the reference edge, and of that across the reference edge to its arris.
    ``feather`` is how far the thin edge reaches beyond the other face. ``gauge_opens`` and ``tilt_opens`` are what an
    error of a tenth of a degree in either opens at the joint.
    """

    part: str
    edge: str
    number: int
    reference: str | None
    tilt: float
    gauge: float | None
    taper: float | None
    dihedral: float | None
    meets: str
    on_edge: bool
    way: Way
    long_face: Face | None
    length_outside: float
    length_inside: float
    points: tuple[PointKind, PointKind]
    face_line: float | None
    edge_line: float | None
    feather: float
    gauge_opens: float
    tilt_opens: float
    is_curved: bool = False


def settings_of(part: Part, shop: Shop) -> tuple[EdgeSetting, ...]:
    """The settings of each edge, in the order of the blank."""
    board = board_of(part)
    return tuple(_setting(part, board, number, shop) for number in range(len(board.sides)))


def board_of(part: Part) -> Board:
    """The part's board in space; for a part that is no panel, one with square edges."""
    panel = part.spec.panel
    if panel is not None:
        return panel.board
    sides = []
    corners = part.blank.vertices
    for k, (x, y) in enumerate(corners):
        ex, ey = corners[(k + 1) % len(corners)]
        size = math.hypot(ex - x, ey - y)
        out = ((ey - y) / size, (x - ex) / size, 0.0)
        sides.append(Side(part.blank.spec.edge_names[k], Plane(out, out[0] * x + out[1] * y)))
    thickness = part.spec.thickness.value if part.spec.thickness is not None else 0.0
    return Board(part.name, Plane((0.0, 0.0, 1.0), 0.0), thickness, tuple(sides))


def _setting(part: Part, board: Board, number: int, shop: Shop) -> EdgeSetting:
    side = board.sides[number]
    panel = part.spec.panel
    joint = panel.joint_at(side.edge) if panel is not None else None
    curved = is_curved(part, side.edge)
    tilt = _curve_tilt(part, board, number) if curved else board.tilt_of(number)
    reference = _reference(board, number)
    parallel = reference is None or _is_parallel(board, number, reference)
    gauge = taper = None
    if reference is not None and not curved:
        if not parallel and len(board.sides) == 4 and not _are_neighbours(board, number, reference):
            taper = _taper(board, reference, number)
        elif not parallel:
            gauge = _turn(board, reference, number)
    lengths = [math.dist(*board.ends_of(number, face)) for face in ("outside", "inside")]
    is_wide = (
        gauge is not None
        and number in (1, len(board.sides) - 1)
        and _width(board, reference or 0) > shop.table_saw.crosscut_capacity
    )
    thickness = board.thickness
    edge_line = _edge_line(board, number, reference) if gauge is not None and reference is not None else None
    return EdgeSetting(
        part.name,
        side.edge,
        number,
        board.sides[reference].edge if reference is not None else None,
        0.0 if abs(tilt) < SQUARE else tilt,
        None if gauge is None else (0.0 if abs(gauge) < SQUARE else gauge),
        taper,
        joint.dihedral if joint is not None else _base_dihedral(side, board),
        joint.other if joint is not None else side.meets,
        abs(tilt) > shop.table_saw.most_tilt + 1e-12,
        "band-saw"
        if curved
        else "straight edge"
        if is_wide
        else "mitre gauge"
        if gauge is not None
        else "along the fence",
        None if abs(tilt) < SQUARE else ("inside" if tilt > 0.0 else "outside"),
        lengths[0],
        lengths[1],
        _points(board, number),
        None if gauge is None else math.pi / 2 + gauge,
        edge_line,
        thickness * math.tan(abs(tilt)),
        lengths[0] * math.sin(ERROR) if gauge is not None else 0.0,
        thickness / math.cos(tilt) ** 2 * math.tan(ERROR) if joint is not None else 0.0,
        curved,
    )


def wood_of(board: Board) -> tuple[float, float]:
    """Length and width (mm) of the wood that holds both faces, along and across the bottom edge of the drawing."""
    points = [*board.outline, *board.inside_outline]
    wide, high = (max(p[axis] for p in points) - min(p[axis] for p in points) for axis in (0, 1))
    return wide, high


class GlueLength(Struct, frozen=True):
    """A glue line's run through the wood: its length on either face (mm), and what its ends are on the outside one."""

    key: str
    outside: float
    inside: float
    points: tuple[PointKind, PointKind]


def glue_lengths(part: Part) -> tuple[GlueLength, ...]:
    """Of each run of each glue line. A glue line is square to the faces, so it lies alike on both; only its ends lean."""
    panel = part.spec.panel
    found = []
    for run in part.glue:
        ends = [_end_shift(part, panel, point, run) for point in (run.start, run.end)]
        points = tuple("square" if abs(away) < 1e-9 else "short point" if away > 0.0 else "long point" for away in ends)
        found.append(GlueLength(run.key, run.length, run.length + sum(ends), points))  # type: ignore[arg-type]
    return tuple(found)


def _end_shift(part: Part, panel: Panel | None, point: tuple[float, float], run: GlueRun) -> float:
    """How much further a glue line reaches on the inside face at one of its ends (mm): nothing, where a curve, a cut or a
    hole is there, which go through square."""
    if panel is None:
        return 0.0
    board = panel.board
    away = run.end if point == run.start else run.start
    out = (point[0] - away[0], point[1] - away[1])
    size = math.hypot(*out)
    for stretch in part.stretches:
        if stretch.kind != "straight" or nearest(stretch.curve, point)[1] > ON_LINE_MM:
            continue
        number = board.number_of(stretch.edge)
        x, y = edge_shift(board, number)
        if panel.mirrored:
            x = -x
        along = math.hypot(x, y)
        if along < 1e-12:
            return 0.0
        slant = (out[0] * x + out[1] * y) / size / along  # the edge runs at a slant to the glue line
        return along / slant if abs(slant) > 1e-6 else 0.0
    return 0.0


def is_curved(part: Part, edge: str) -> bool:
    """Whether nothing straight is left of an edge."""
    return not any(stretch.edge == edge and stretch.kind == "straight" for stretch in part.stretches)


def _curve_tilt(part: Part, board: Board, number: int) -> float:
    """A curve is cut square to the face, unless it is said to be level: then it leans as the edge's level plane does."""
    panel = part.spec.panel
    if panel is None or dict(panel.curves).get(board.sides[number].edge) != "level":
        return 0.0
    return level_lean(board, number)


def level_lean(board: Board, number: int) -> float:
    """How far a level cut along an edge leans from square to the faces (radians): positive, as every tilt, where the
    outside face is the short one. Along a level edge it is as far as the board leans from plumb."""
    x, y, _ = board.outside.normal
    across = unit(cross(_direction(board, number), (x, y, 0.0)))
    lean = math.asin(max(-1.0, min(1.0, dot(across, board.outside.normal))))
    return lean if dot(across, outward(board, number)) > 0.0 else -lean


def _reference(board: Board, number: int) -> int | None:
    """The edge that is there before this one is cut: the bottom; of a bottom with as many sides as a vessel, the one
    before."""
    if number == 0:
        return None
    is_round = board.sides[0].edge != "bottom"
    return number - 1 if is_round and number != len(board.sides) - 1 else 0


def _are_neighbours(board: Board, number: int, other: int) -> bool:
    return abs(number - other) in (1, len(board.sides) - 1)


def _direction(board: Board, number: int) -> tuple[float, float, float]:
    """The way an edge runs on the outside face, counter-clockwise."""
    return cross(board.outside.normal, board.sides[number].plane.normal)


def _is_parallel(board: Board, number: int, reference: int) -> bool:
    a, b = _direction(board, number), _direction(board, reference)
    return math.sin(angle_between(a, b)) <= SQUARE


def _turn(board: Board, reference: int, number: int) -> float:
    """How far an edge is from a cut square to the reference edge, on the outside face: positive where the board grows wider
    away from that edge."""
    up = scaled(outward(board, reference), -1.0)
    return -math.asin(max(-1.0, min(1.0, dot(outward(board, number), up))))


def _taper(board: Board, reference: int, number: int) -> float:
    """The angle between two edges across from each other: positive where the one rises along the reference edge."""
    a, b = _direction(board, reference), scaled(_direction(board, number), -1.0)
    return math.copysign(angle_between(a, b), dot(cross(a, b), board.outside.normal))


def outward(board: Board, number: int) -> Vector:
    """The direction out of the board square to an edge, in its faces."""
    normal, face = board.sides[number].plane.normal, board.outside.normal
    return unit(plus(normal, face, -dot(normal, face)))


def _width(board: Board, reference: int) -> float:
    """How far a board reaches from its reference edge (mm): what the gauge has to take."""
    out = board.sides[reference].plane.normal
    in_face = plus(out, board.outside.normal, -dot(out, board.outside.normal))
    size = math.sqrt(dot(in_face, in_face))
    start = board.outside_corners[reference]
    return max(-dot(plus(corner, start, -1.0), in_face) / size for corner in board.outside_corners)


def _points(board: Board, number: int) -> tuple[PointKind, PointKind]:
    count = len(board.sides)
    tilts = board.tilt_of((number - 1) % count), board.tilt_of((number + 1) % count)
    first, last = ("square" if abs(t) < SQUARE else "short point" if t > 0.0 else "long point" for t in tilts)
    return first, last  # type: ignore[return-value]


def _edge_line(board: Board, number: int, reference: int) -> float:
    """On the reference edge's own surface the angle between its outside arris and the line that an end makes across."""
    arris = _direction(board, reference)
    across = common_direction(board.sides[number].plane, board.sides[reference].plane)
    if dot(across, board.outside.normal) > 0.0:
        across = scaled(across, -1.0)
    back = scaled(arris, -1.0) if number == (reference + 1) % len(board.sides) else arris
    return angle_between(across, back)


def _base_dihedral(side: Side, board: Board) -> float | None:
    """Inside the piece, between a board that stands inside the walls and the wall that it lies against; None where it lies
    against none."""
    if side.kind != "joint" or not side.meets:
        return None
    return math.pi - angle_between(side.plane.normal, board.outside.normal)


def most_needed(settings: Sequence[EdgeSetting]) -> Literal["gauge", "tilt", ""]:
    """Which of the two angles matters more at the joints, by what a tenth of a degree opens."""
    ends = [one for one in settings if one.gauge is not None and one.tilt_opens]
    if not ends:
        return ""
    return "gauge" if sum(e.gauge_opens for e in ends) >= sum(e.tilt_opens for e in ends) else "tilt"
