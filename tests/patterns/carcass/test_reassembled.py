"""Boxes and vessels put together again in space from what is on paper, with an independent solid-modelling library."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

import numpy as np
import pytest
import reassembled
from reassembled import Flat, closing_error, stood_up
from solids import hull, overlap, union

from patterns.carcass.board import Board
from patterns.carcass.box import SIDES, WALLS, Box
from patterns.carcass.ring import Joint, JointKind
from patterns.carcass.vessel import Vessel

KINDS: tuple[JointKind, ...] = ("mitre", "butt", "rabbet", "finger")


def random_box(seed: int, kind: JointKind, level: bool = True) -> Box:
    """A box with four splays of its own, inward ones among them, and thicknesses of its own."""
    pick = random.Random(seed)
    thick = {name: pick.uniform(8.0, 25.0) for name in WALLS}
    high = pick.uniform(120.0, 320.0)
    heights = dict.fromkeys(WALLS, (high, high))
    if not level:
        head, foot = high * pick.uniform(1.0, 1.4), high * pick.uniform(0.6, 1.0)
        heights["head_board"], heights["foot_board"] = (head, head), (foot, foot)
    return Box(
        pick.uniform(250.0, 700.0),
        pick.uniform(200.0, 400.0),
        heights,
        {name: math.radians(pick.uniform(-6.0, 18.0)) for name in WALLS},
        thick,
        Joint(kind, rabbet=min(thick.values()) / 2 if kind == "rabbet" else 0.0),
        pick.choice(("sides", "ends")),
        pick.choice(("outside", "inside")),
        pick.choice(("outside", "inside")),
    )


def flats(boards: Sequence[Board], joints: Sequence[Joint]) -> list[Flat]:
    """What is on paper of each wall: numbers alone."""
    found = []
    for k, board in enumerate(boards):
        right, left = joints[k], joints[k - 1]
        long_right, long_left = right.long == "this", left.long == "next"
        found.append(
            Flat(
                board.outline,
                board.thickness,
                tuple(board.tilt_of(n) for n in range(4)),
                long_right,
                long_left,
                right.rabbet if long_right else 0.0,
                left.rabbet if long_left else 0.0,
            )
        )
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_two_hundred_boxes_close_and_meet(kind: JointKind) -> None:
    """Pushed against one another wall by wall, the last meets the first, and every end lies flat on its neighbour."""
    for seed in range(50):
        box = random_box(seed, kind, level=seed % 2 == 0)
        walls = flats(box.boards, box.joints)
        stood = stood_up(walls, kind)
        assert closing_error(stood, walls, kind, -math.pi / 2) <= 1e-6, seed
        for k, wall in enumerate(walls):
            _ends_meet(wall, stood[k], walls[(k + 1) % 4], stood[(k + 1) % 4], kind)


def _ends_meet(wall: Flat, one: reassembled.Stood, following: Flat, other: reassembled.Stood, kind: str) -> None:
    right_end = np.array([one.outside[1], one.outside[2], one.inside[1], one.inside[2]])
    left_end = np.array([other.outside[0], other.outside[3], other.inside[0], other.inside[3]])
    of_one, of_other = (
        lambda points, w=w, s=s: (points - s.outside[0]) @ s.normal for w, s in ((wall, one), (following, other))
    )
    if kind == "finger":
        assert np.abs(of_other(right_end)).max() <= 1e-6 and np.abs(of_one(left_end)).max() <= 1e-6
    elif kind == "mitre":  # both ends lie in one plane
        plane = np.cross(one.outside[2] - one.outside[1], one.inside[1] - one.outside[1])
        plane /= np.linalg.norm(plane)
        assert np.abs((left_end - one.outside[1]) @ plane).max() <= 1e-6
    elif wall.long_right:
        assert np.abs(of_other(right_end)).max() <= 1e-6
        assert np.abs(of_one(left_end) + wall.thickness - wall.rabbet_right).max() <= 1e-6
    else:
        assert np.abs(of_one(left_end)).max() <= 1e-6
        assert np.abs(of_other(right_end) + following.thickness - following.rabbet_left).max() <= 1e-6


@pytest.mark.parametrize("kind", ["mitre", "butt"])
def test_no_two_boards_overlap_and_nothing_is_open(kind: JointKind) -> None:
    for seed in range(30):
        box = random_box(seed, kind)
        stood = stood_up(flats(box.boards, box.joints), kind)
        solids = [one.solid for one in stood]
        whole = union(solids)
        assert overlap(solids) <= 1e-6
        total = sum(solid.volume() for solid in solids)
        assert whole.volume() == pytest.approx(total, rel=1e-9)
        assert total == pytest.approx(_hollow(box, stood), rel=1e-9), "no wood is missing at any corner"


def _hollow(box: Box, stood: Sequence[reassembled.Stood]) -> float:
    """What walls of one height hold: the hull of all their corners less the hollow between them, whose corners are those of
    the inside faces where boards end at one."""
    outer = hull([point for one in stood for point in one.outside])
    within = [
        k
        for k, name in enumerate(WALLS)
        if (name in SIDES) != (box.long_boards == "sides") or box.joint.kind == "mitre"
    ]
    return outer.volume() - hull([point for k in within for point in stood[k].inside]).volume()


@pytest.mark.parametrize("kind", ["mitre", "butt"])
@pytest.mark.parametrize("count", range(3, 13))
def test_regular_vessels_close(kind: JointKind, count: int) -> None:
    for splay in (-8.0, 0.0, 5.0, 17.0, 40.0):
        vessel = Vessel(count, 300.0, 120.0, math.radians(splay), 14.0, Joint(kind))
        walls = flats(vessel.boards, vessel.joints)
        stood = stood_up(walls, kind)
        assert closing_error(stood, walls, kind, -math.pi / 2) <= 1e-6
        solids = [one.solid for one in stood]
        assert overlap(solids) <= 1e-6
        assert union(solids).volume() == pytest.approx(sum(s.volume() for s in solids), rel=1e-9)


def test_a_splay_of_nothing_is_a_plain_square_box_exactly() -> None:
    thick = dict.fromkeys(WALLS, 18.0)
    box = Box(600.0, 300.0, dict.fromkeys(WALLS, (250.0, 250.0)), dict.fromkeys(WALLS, 0.0), thick, Joint("butt"))
    for board in box.boards:
        across = 600.0 if board.name in SIDES else 300.0 - 36.0
        assert board.outline == ((0.0, 0.0), (across, 0.0), (across, 250.0), (0.0, 250.0))
        assert [board.tilt_of(k) for k in range(4)] == [0.0] * 4


def test_rabbeted_boards_fill_their_corners() -> None:
    """The rabbet is cut out of the long board: what lies deeper than its floor and beyond the other board's inside face."""
    for seed in range(30):
        box = random_box(seed, "rabbet")
        walls = flats(box.boards, box.joints)
        stood = stood_up(walls, "rabbet")
        solids = []
        for k, (wall, one) in enumerate(zip(walls, stood, strict=True)):
            solid = one.solid
            for deep, other in ((wall.rabbet_right, (k + 1) % 4), (wall.rabbet_left, k - 1)):
                if deep:
                    floor = one.normal @ one.outside[0] - (wall.thickness - deep)
                    shoulder = stood[other].normal @ stood[other].outside[0] - walls[other].thickness
                    cut = solid.trim_by_plane(-one.normal, -floor).trim_by_plane(stood[other].normal, shoulder)
                    solid = solid - cut
            solids.append(solid)
        total = sum(solid.volume() for solid in solids)
        assert overlap(solids) <= 1e-6
        assert union(solids).volume() == pytest.approx(total, rel=1e-9)
        assert total == pytest.approx(_hollow_of_rabbets(box, stood), rel=1e-9)


def _hollow_of_rabbets(box: Box, stood: Sequence[reassembled.Stood]) -> float:
    outer = hull([point for one in stood for point in one.outside])
    inner = []
    for k, wall in enumerate(box.walls):
        after = box.walls[(k + 1) % 4]
        shift = stood[0].outside[0] - np.array(box.boards[0].outside_corners[3])
        for plane in (wall.bottom, wall.top_right):
            rows = np.array([wall.inside.normal, after.inside.normal, plane.normal])
            inner.append(np.linalg.solve(rows, [wall.inside.offset, after.inside.offset, plane.offset]) + shift)
    return outer.volume() - hull(inner).volume()
