"""Every cutting card is replayed in space on a rectangular board, and has to give the part back."""

from __future__ import annotations

import math
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from sawn import Line, sawn
from solids import Solid, flat_solid, inside_corners

from cli.card_json import of_cut
from patterns import part as parts
from patterns import patternfile, shopfile
from patterns.carcass.board import Board
from patterns.carcass.box import WALLS, Box
from patterns.carcass.cutting import boards_to_cut, cuts_of, is_hollow, mirrored, set_ups
from patterns.carcass.ring import Joint
from patterns.carcass.vessel import Vessel
from patterns.shop import Shop

from .test_hood import random_hood
from .test_reassembled import random_box

SHOP = shopfile.default()


def right_tilting() -> Shop:
    from msgspec.structs import replace

    return replace(SHOP, table_saw=replace(SHOP.table_saw, tilts="right"))


def lines_of(board: Board) -> dict[str, Line]:
    """The edges as drawn: where each begins, and its direction out of the board."""
    corners = np.array(board.outline)
    found = {}
    for k, side in enumerate(board.sides):
        along = corners[(k + 1) % len(corners)] - corners[k]
        along /= np.linalg.norm(along)
        found[side.edge] = (corners[k], np.array([along[1], -along[0]]))
    return found


def replayed(board: Board, shop: Shop) -> tuple[Solid, Solid]:
    """The rectangular board after all cuts of the card, and the board as it should be."""
    tilts = [board.tilt_of(k) for k in range(len(board.sides))]
    inner = inside_corners(board.outline, board.thickness, tilts)
    wanted = flat_solid(board.outline, inner, board.thickness)
    every = np.vstack([np.array(board.outline), inner])
    low, high = every.min(axis=0) - 30.0, every.max(axis=0) + 30.0
    blank = manifold3d.Manifold.cube([*(high - low), board.thickness]).translate([*low, -board.thickness])
    lines = lines_of(board)
    for cut in cuts_of(board, board.name, 1, shop):
        blank = sawn(blank, of_cut(cut), lines, shop.table_saw.tilts)
    return blank, wanted


def _are_the_same(found: Solid, wanted: Solid) -> bool:
    """Each corner of the one is a corner of the other within a millionth of a millimetre."""
    if abs(found.volume() - wanted.volume()) > 1e-6 * max(1.0, wanted.volume() / 1e4):
        return False
    mine, theirs = (np.asarray(one.to_mesh64().vert_properties)[:, :3] for one in (found, wanted))
    apart = np.linalg.norm(mine[:, None] - theirs[None], axis=2)
    return bool(apart.min(axis=1).max() <= 1e-6 and apart.min(axis=0).max() <= 1e-6)


@pytest.mark.parametrize("shop", [SHOP, right_tilting()], ids=["tilts left", "tilts right"])
def test_a_hundred_carcasses(shop: Shop) -> None:
    for seed in range(50):
        for kind in ("butt", "mitre"):
            box = random_box(seed, kind, level=seed % 2 == 0)
            for board in box.boards:
                found, wanted = replayed(board, shop)
                assert _are_the_same(found, wanted), (seed, kind, board.name)


@pytest.mark.parametrize("shop", [SHOP, right_tilting()], ids=["tilts left", "tilts right"])
def test_hoods_and_vessels(shop: Shop) -> None:
    boards = [board for seed in range(20) for board in (*random_hood(seed).boards, *random_hood(seed).hood_boards)]
    boards += [Vessel(n, 300.0, 150.0, math.radians(9), 15.0, Joint("mitre")).boards[0] for n in range(3, 13)]
    looked_at = 0
    for board in boards:
        if any(is_hollow(board, k) for k in range(len(board.sides))):
            continue  # an inside corner is sawn by hand; its boards are cut before they are glued
        looked_at += 1
        for one in (board, mirrored(board)):
            found, wanted = replayed(one, shop)
            assert _are_the_same(found, wanted), board.name
    assert looked_at > 100


def test_no_more_set_ups_than_settings() -> None:
    box = Box(
        500.0,
        300.0,
        dict.fromkeys(WALLS, (200.0, 200.0)),
        dict.fromkeys(WALLS, 0.1),
        dict.fromkeys(WALLS, 15.0),
        Joint("butt"),
    )
    for board in box.boards:
        cuts = cuts_of(board, board.name, 1, SHOP)
        settings = {(round(cut.tilt, 9), round(abs(cut.swing), 9), cut.way) for cut in cuts}
        ends = [cut for cut in cuts if cut.way == "gauge"]
        assert len({(round(cut.tilt, 9), round(abs(cut.swing), 9)) for cut in ends}) == 1, "both ends are one set-up"
        assert len(settings) == 2
        assert not any(cut.is_far for cut in ends), "the long edges are parallel: the gauge stays behind the board"


@pytest.mark.parametrize("name", ["wren-cradle", "heron-planter", "dolls-cradle", "hall-rack"])
def test_every_card_of_the_demo_pieces(name: str) -> None:
    """From the pattern file, boards that are glued up and both hands too."""
    path = Path(__file__).resolve().parents[3] / "demo" / f"{name}.toml"
    piece = patternfile.open_file(path).piece
    display = SHOP.display(piece.units)
    boards = [one for spec in piece.parts for one in boards_to_cut(parts.build(spec, display))]
    for label, board, _ in boards:
        if not any(is_hollow(board, k) for k in range(len(board.sides))):
            found, wanted = replayed(board, SHOP)
            assert _are_the_same(found, wanted), label
    ups = set_ups([parts.build(spec, display) for spec in piece.parts], SHOP)
    settings = {(one.way, round(one.tilt, 9), round(one.gauge, 9)) for one in ups}
    assert len(ups) == len(settings), "one set-up a setting"
