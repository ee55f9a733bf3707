"""Finger joints as solids of an independent library: they fill the corner without overlap, and the gap is the one told."""

from __future__ import annotations

import math
import random

import manifold3d
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from solids import Solid, hull, overlap, prism, union

from patterns.carcass.board import Board
from patterns.carcass.box import SIDES, WALLS, Box
from patterns.carcass.fingers import (
    LEAST_SHARE,
    CutWay,
    Layout,
    Remainder,
    boards_with_fingers,
    comb_of,
    square_gap,
)
from patterns.carcass.ring import Joint, corner_of

DEGREE = math.radians(1.0)


def a_box(seed: int, proud: float = 0.0, level: bool = True) -> Box:
    """A box whose splays and thicknesses are all its own."""
    pick = random.Random(seed)
    high = pick.uniform(150.0, 300.0)
    heights = dict.fromkeys(WALLS, (high, high))
    if not level:
        head, foot = high + pick.uniform(5, 60), high - pick.uniform(5, 40)
        heights = {"head_board": (head, head), "foot_board": (foot, foot), "left_side": (high, high - 25.0)}
        heights["right_side"] = (high - 25.0, high)
    return Box(
        pick.uniform(300.0, 600.0),
        pick.uniform(250.0, 400.0),
        heights,
        {name: pick.uniform(-4.0, 14.0) * DEGREE for name in WALLS},
        {name: pick.uniform(10.0, 22.0) for name in WALLS},
        Joint("finger", proud=proud),
    )


def layouts(
    width: float, cut: CutWay = "tilted", play: float = 0.0, remainder: Remainder = "both ends"
) -> list[Layout]:
    """The sides have the finger at the bottom."""
    return [Layout("this" if name in SIDES else "next", width, 0, remainder, play, cut) for name in WALLS]


def solid_of(board: Board) -> Solid:
    return prism(np.array(board.outside_corners), np.array(board.inside_corners))


def hollow(box: Box) -> float:
    """The volume of walls of one height: the hull of the corners outside less that of those inside."""
    outer, inner = [], []
    for k, wall in enumerate(box.walls):
        after = box.walls[(k + 1) % 4]
        for edge in ("bottom", "top_right"):
            plane = getattr(wall, edge)
            rows = np.array([wall.outside.normal, after.outside.normal, plane.normal])
            outer.append(np.linalg.solve(rows, [wall.outside.offset, after.outside.offset, plane.offset]))
            inner.append(np.linalg.solve(rows, [wall.inside.offset, after.inside.offset, plane.offset]))
    return hull(outer).volume() - hull(inner).volume()


@pytest.mark.parametrize("remainder", ["both ends", "top", "bottom"])
def test_tilt_cut_fingers_fill_the_corners_and_do_not_overlap(remainder: Remainder) -> None:
    for seed in range(12):
        box = a_box(seed)
        boards = boards_with_fingers(box.walls, box.joints, layouts(12.0 + seed, remainder=remainder))
        solids = [solid_of(board) for board in boards]
        total = sum(solid.volume() for solid in solids)
        assert overlap(solids) <= 1e-6
        assert union(solids).volume() == pytest.approx(total, rel=1e-9)
        assert total == pytest.approx(hollow(box), rel=1e-9), "no gap anywhere"


def test_boards_of_different_heights_meet_as_far_as_both_stand() -> None:
    for seed in range(12):
        box = a_box(seed, level=False)
        solids = [solid_of(one) for one in boards_with_fingers(box.walls, box.joints, layouts(16.0))]
        assert overlap(solids) <= 1e-6
        assert union(solids).volume() == pytest.approx(sum(s.volume() for s in solids), rel=1e-9)


def test_proud_fingers_stand_out_and_play_lets_them_in() -> None:
    box, snug = a_box(3, proud=0.8), a_box(3)
    proud = [solid_of(one) for one in boards_with_fingers(box.walls, box.joints, layouts(15.0))]
    flush = [solid_of(one) for one in boards_with_fingers(snug.walls, snug.joints, layouts(15.0))]
    loose = [solid_of(one) for one in boards_with_fingers(snug.walls, snug.joints, layouts(15.0, play=0.2))]
    assert overlap(proud) <= 1e-6 and sum(s.volume() for s in proud) > sum(s.volume() for s in flush)
    assert overlap(loose) <= 1e-9 and sum(s.volume() for s in loose) < sum(s.volume() for s in flush)
    gaps = [(one.min_gap(other, 1.0)) for one, other in ((loose[0], loose[1]), (loose[1], loose[2]))]
    assert gaps == pytest.approx([0.0, 0.0], abs=1e-9), "roots still touch tips"


def test_the_gap_of_square_cut_fingers_is_the_one_that_is_told() -> None:
    """Between two cheeks the corner is cut out of the solids, and what is left open there is measured: two wedges, one at
    the root of the board with the gap and one at the tip of the other's finger."""
    for seed in range(8):
        box = a_box(seed)
        thick = dict.fromkeys(WALLS, 18.0)
        box = Box(box.length, box.width, box.heights, box.splays, thick, box.joint)
        plan = layouts(20.0, cut="square")
        boards = boards_with_fingers(box.walls, box.joints, plan)
        solids = [solid_of(one) for one in boards]
        assert overlap(solids) <= 1e-6
        exact = union([solid_of(one) for one in boards_with_fingers(box.walls, box.joints, layouts(20.0))])
        for k, wall in enumerate(box.walls):
            after = box.walls[(k + 1) % 4]
            corner, comb = corner_of(wall, after), comb_of(wall, after, plan[k])
            start = float(np.dot(corner.direction, corner.start))
            low, high = start + comb.cheeks[1], start + comb.cheeks[2]
            way = np.array(corner.direction)
            slab = _between(exact, way, low, high)
            near = _near(slab, np.array(corner.start) + way * (comb.cheeks[1] + comb.cheeks[2]) / 2, 80.0)
            open_ = (near - union([_between(s, way, low, high) for s in solids])).volume()
            area = open_ / (high - low)
            opening = area / 18.0  # two wedges, each half of a thickness times its opening along the face
            lean = math.asin(abs(float(np.dot(wall.outside.normal, after.outside.normal))))
            assert opening * math.cos(lean) == pytest.approx(square_gap(wall, after), abs=1e-5)


def _between(solid: Solid, way: np.ndarray, low: float, high: float) -> Solid:
    return solid.trim_by_plane(way, low).trim_by_plane(-way, -high)


def _near(solid: Solid, at: np.ndarray, reach: float) -> Solid:
    cube = manifold3d.Manifold.cube([2 * reach] * 3, True).translate(list(at))
    return solid ^ cube


@settings(max_examples=80, deadline=None)
@given(
    seed=st.integers(0, 400),
    width=st.floats(6.0, 60.0),
    remainder=st.sampled_from(["both ends", "top", "bottom"]),
)
def test_fingers_come_in_turn_and_none_is_thin(seed: int, width: float, remainder: Remainder) -> None:
    box = a_box(seed, level=False)
    for k, wall in enumerate(box.walls):
        after = box.walls[(k + 1) % 4]
        comb = comb_of(wall, after, Layout("this", width, 0, remainder))
        steps = np.diff([0.0, *comb.cheeks, comb.length])
        assert (np.diff(comb.cheeks) == pytest.approx(width)) if len(comb.cheeks) > 1 else True
        assert comb.thinnest >= LEAST_SHARE * width - 1e-9
        assert steps.min() >= LEAST_SHARE * width - 1e-9 and steps.max() <= 2.1 * width + box.thicknesses[wall.name]
        if remainder == "bottom":
            assert (
                comb.length - comb.cheeks[-1] == pytest.approx(width, rel=1e-9)
                or len(comb.cheeks) < 2
                or steps[-1] > width
            )


def test_by_count_all_are_alike() -> None:
    box = a_box(5)
    comb = comb_of(box.walls[0], box.walls[1], Layout("next", count=9))
    assert np.diff([0.0, *comb.cheeks, comb.length]) == pytest.approx(np.full(9, comb.length / 9))
    assert [comb.owner(k) for k in range(3)] == ["next", "this", "next"]


def test_cheeks_are_square_to_both_faces() -> None:
    """The corner line is their normal, and lies in both outside faces."""
    box = a_box(7)
    for board in boards_with_fingers(box.walls, box.joints, layouts(14.0)):
        cheeks = [side.plane.normal for side in board.sides if side.kind == "cheek"]
        assert cheeks and np.abs(np.array(cheeks) @ np.array(board.outside.normal)).max() <= 1e-12


def test_no_room_is_told() -> None:
    box = a_box(2)
    with pytest.raises(ValueError, match="no room"):
        comb_of(box.walls[0], box.walls[1], Layout("this", 400.0))
