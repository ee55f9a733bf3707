"""Hoods as solids of an independent library, and the closed forms of a sloped upper edge."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
from solids import Solid, overlap, prism, union

from patterns.carcass.board import Board, signed_area
from patterns.carcass.box import SIDES, WALLS, Box
from patterns.carcass.fingers import Layout, boards_with_fingers
from patterns.carcass.hood import Hood
from patterns.carcass.ring import Joint
from patterns.carcass.soundness import trouble
from patterns.display import Display

DEGREE = math.radians(1.0)


def random_hood(seed: int) -> Box:
    """One or two slopes a side, a flat top or a ridge, leaning or upright in front, its own splays and thicknesses."""
    pick = random.Random(seed)
    rail = pick.uniform(120.0, 200.0)
    eaves = rail + pick.uniform(60.0, 160.0)
    two = pick.random() < 0.5
    slopes = (pick.uniform(50, 65) * DEGREE, pick.uniform(15, 35) * DEGREE) if two else (pick.uniform(15, 50) * DEGREE,)
    if pick.random() < 0.06:
        two, slopes = False, (0.0,)
    hood = Hood(
        pick.uniform(150.0, 250.0),
        eaves,
        slopes,
        pick.uniform(8.0, 14.0),
        pick.uniform(10.0, 16.0),
        eaves - pick.uniform(0.0, 30.0),
        pick.uniform(45.0, 70.0) if two else 0.0,
        None if slopes == (0.0,) else pick.choice([None, pick.uniform(30.0, 90.0)]),
        pick.choice([None, 0.0, 3.0 * DEGREE]),
        pick.uniform(0.0, 20.0),
        pick.uniform(0.0, 15.0),
        pick.uniform(0.0, 15.0),
        pick.choice(["mitre", "lap"]),
        pick.uniform(2.0, 8.0),
        pick.choice([0.0, 2.0]),
    )
    return Box(
        pick.uniform(450.0, 800.0),
        pick.uniform(260.0, 400.0),
        {
            "left_side": (rail + 10.0, rail),
            "right_side": (rail, rail + 10.0),
            "foot_board": (rail, rail),
            "head_board": (rail, rail),
        },
        {name: pick.uniform(-2.0, 12.0) * DEGREE for name in WALLS},
        {name: pick.uniform(10.0, 18.0) for name in WALLS},
        Joint(pick.choice(["butt", "mitre", "finger"])),
        pick.choice(("sides", "ends")),
        hood=hood,
    )


def every_board(box: Box) -> list[Board]:
    walls = box.boards
    if box.joint.kind == "finger":
        plan = [Layout("this" if name in SIDES else "next", 18.0) for name in WALLS]
        walls = boards_with_fingers(box.walls, box.joints, plan)
    return [*walls, *box.hood_boards]


def solid_of(board: Board) -> Solid:
    solid = prism(np.array(board.outside_corners), np.array(board.inside_corners))
    for trim in board.trims:
        solid = solid.trim_by_plane([-v for v in trim.normal], -trim.offset)
    return solid


def test_a_hundred_hoods_meet_and_do_not_overlap() -> None:
    sound = 0
    for seed in range(130):
        box = random_hood(seed)
        if trouble(box, Display("mm")):
            continue
        sound += 1
        boards = every_board(box)
        assert all(signed_area(board.outline) > 0.0 for board in boards)
        solids = [solid_of(board) for board in boards]
        assert overlap(solids) <= 1e-6, seed
        assert union(solids).volume() == pytest.approx(sum(solid.volume() for solid in solids), rel=1e-9)
        _carried(box)
        for board, solid in zip(boards, solids, strict=True):
            _tilts_as_on_the_solid(board, solid)
    assert sound >= 100


def _carried(box: Box) -> None:
    """Each sloped upper edge lies against the roof boards over it, and the roof boards against each other."""
    by_name = {board.name: board for board in (*box.boards, *box.hood_boards)}
    roofs = [board for board in box.hood_boards if "roof" in board.name]
    for name in ("head_board", "front_board", "left_side", "right_side"):
        board = by_name[name]
        under = [side for side in board.sides if side.meets == "roof"]
        assert under, name
        for side in under:
            number = board.sides.index(side)
            ends = [*board.ends_of(number), *board.ends_of(number, "inside")]
            apart = min(max(abs(roof.inside.height_of(end)) for end in ends) for roof in roofs)
            assert apart <= 1e-6, (name, side.edge)
    hood = box.hood
    assert hood is not None
    for one, other in itertools.pairwise(roofs):
        if hood.joint == "mitre" or abs(one.outside.normal[0]) == abs(other.outside.normal[0]):
            mine, theirs = _shared(one, other), _shared(other, one)
            assert np.abs(np.array(mine) + np.array(theirs)).max() <= 1e-9, "one plane, seen from either side"


def _tilts_as_on_the_solid(board: Board, solid: Solid) -> None:
    """Each tilt against the angle between two faces of the mesh."""
    mesh = solid.to_mesh64()
    corners, triangles = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    size = np.linalg.norm(normals, axis=1)
    normals = normals[size > 1e-6] / size[size > 1e-6, None]
    out = np.array(board.outside.normal)
    for number, side in enumerate(board.sides):
        face = normals[(normals @ np.array(side.plane.normal)).argmax()]
        tilt = math.degrees(math.asin(float(np.clip(face @ out, -1.0, 1.0))))
        assert tilt == pytest.approx(math.degrees(board.tilt_of(number)), abs=0.01)


def _shared(one: Board, other: Board) -> tuple[float, ...]:
    """The plane of the edge of ``one`` that faces ``other``, as a row."""
    towards = np.array(other.outside.normal) - np.array(one.outside.normal)
    side = max((one.sides[0], one.sides[2]), key=lambda side: float(np.array(side.plane.normal) @ towards))
    return (*side.plane.normal, side.plane.offset)


@pytest.mark.parametrize("lean_deg", [2.0, 5.0, 12.0])
@pytest.mark.parametrize("slope_deg", [15.0, 35.0, 60.0])
def test_a_sloped_upper_edge_against_the_closed_forms(lean_deg: float, slope_deg: float) -> None:
    """sin(tilt) = sin(lean) cos(slope); tan(line on the face) = tan(slope) / cos(lean), ridge level. Derivation: in the
    module's docstring; the backing of hip and valley rafters in roof-framing handbooks is the same problem."""
    box = random_hood(1)
    lean, slope = lean_deg * DEGREE, slope_deg * DEGREE
    hood = Hood(200.0, 300.0, (slope,), 10.0, 12.0, 290.0)
    box = Box(
        600.0, 300.0, box.heights, dict.fromkeys(WALLS, lean), dict.fromkeys(WALLS, 12.0), Joint("butt"), hood=hood
    )
    head = next(board for board in box.boards if board.name == "head_board")
    for edge in ("slope_right", "slope_left"):
        number = head.number_of(edge)
        tilt = head.tilt_of(number)
        assert math.degrees(abs(tilt)) == pytest.approx(
            math.degrees(math.asin(math.sin(lean) * math.cos(slope))), abs=1e-9
        )
        (x0, y0), (x1, y1) = (head.frame.to_part(point) for point in head.ends_of(number))
        line = math.degrees(math.atan(abs(y1 - y0) / abs(x1 - x0)))
        assert line == pytest.approx(math.degrees(math.atan(math.tan(slope) / math.cos(lean))), abs=1e-9)


def test_the_thin_arris_under_a_lap_keeps_its_flat() -> None:
    hood = Hood(
        200.0, 300.0, (60 * DEGREE, 25 * DEGREE), 10.0, 12.0, 290.0, 60.0, None, None, 10.0, 5.0, 5.0, "lap", 6.0, 2.0
    )
    box = random_hood(1)
    box = Box(
        600.0,
        340.0,
        box.heights,
        dict.fromkeys(WALLS, 5 * DEGREE),
        dict.fromkeys(WALLS, 12.0),
        Joint("butt"),
        hood=hood,
    )
    lower = next(board for board in box.hood_boards if board.name == "lower_roof_left")
    (trim,) = lower.trims
    bevel = lower.sides[2].plane
    across = np.array(trim.normal)
    assert abs(across @ np.array(lower.outside.normal)) <= 1e-12, "square to its faces"
    # The flat is what the trim plane shows between the underside and the bevel.
    rows = np.array([trim.normal, lower.inside.normal, (0.0, 1.0, 0.0)])
    low = np.linalg.solve(rows, [trim.offset, lower.inside.offset, 0.0])
    rows[1] = bevel.normal
    high = np.linalg.solve(rows, [trim.offset, bevel.offset, 0.0])
    assert np.linalg.norm(high - low) == pytest.approx(2.0, abs=1e-9)
