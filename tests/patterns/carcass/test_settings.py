"""Saw settings against closed forms, and against angles measured on solids of an independent library."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping

import numpy as np
import pytest
from solids import prism

from patterns import part as parts
from patterns import patternfile, shopfile
from patterns.carcass.box import SIDES, WALLS, Box
from patterns.carcass.ring import Joint, JointKind
from patterns.carcass.settings import EdgeSetting, settings_of
from patterns.carcass.vessel import Vessel
from patterns.display import Display
from patterns.filetext import NamedText

SHOP = shopfile.default()
NEARLY = 1e-9
"""Degrees."""


def settings_in(text: str) -> dict[str, dict[str, EdgeSetting]]:
    """The settings of a pattern file by part and edge."""
    head = 'curvewright = 1\ntitle = "A box"\nunits = "mm"\n'
    piece = patternfile.load(NamedText(head + text, "box.toml")).piece
    display = Display(piece.units)
    return {spec.name: {one.edge: one for one in settings_of(parts.build(spec, display), SHOP)} for spec in piece.parts}


def of_box(
    splays: Mapping[str, float], kind: JointKind, long_boards: str = "sides"
) -> dict[str, dict[str, EdgeSetting]]:
    said = ", ".join(f'{name} = "{value:.12f} deg"' for name, value in splays.items())
    thick = ", ".join(f'{name} = "{12 + 3 * k}"' for k, name in enumerate(WALLS))
    fingers = 'fingers = { spacing = "40" }\n' if kind == "finger" else ""
    return settings_in(
        f'[carcass]\nplan = {{ length = "600", width = "320" }}\nheight = "240"\nsplay = {{ {said} }}\n'
        f'thickness = {{ {thick} }}\ncorner_joint = "{kind}"\nlong_boards = "{long_boards}"\n{fingers}'
    )


def degrees(radians: float | None) -> float:
    assert radians is not None
    return math.degrees(radians)


@pytest.mark.parametrize("kind", ["butt", "finger", "rabbet"])
def test_unequal_splays_against_the_closed_forms(kind: JointKind) -> None:
    """tan(gauge) = cos(own splay) tan(neighbour's); sin(tilt of a butt) = product of the sines. Derivation: in the module's
    docstring; the same relations are in carpentry texts under "hopper joint"."""
    for seed in range(70):
        pick = random.Random(seed)
        splays = {name: pick.uniform(-10.0, 25.0) for name in WALLS}
        found = of_box(splays, kind)
        for k, name in enumerate(WALLS):
            own = math.radians(splays[name])
            for edge, other in (("right", WALLS[(k + 1) % 4]), ("left", WALLS[k - 1])):
                beside = math.radians(splays[other])
                one = found[name.replace("_", " ")][edge]
                gauge = math.degrees(math.atan(math.cos(own) * math.tan(beside)))
                tilt = math.degrees(math.asin(math.sin(own) * math.sin(beside)))
                assert degrees(one.gauge) == pytest.approx(gauge, abs=NEARLY)
                assert degrees(one.tilt) == pytest.approx(tilt, abs=NEARLY)
                assert degrees(one.dihedral) == pytest.approx(90.0 + tilt, abs=NEARLY)


@pytest.mark.parametrize("count", range(3, 13))
def test_regular_vessels_against_the_closed_forms(count: int) -> None:
    """tan M = tan(180/n) sin s; sin B = sin(180/n) cos s for a mitre; 90 - 2 B for a butt (hopper joint)."""
    for splay in (-7.0, 0.0, 4.0, 10.0, 27.5, 45.0):
        for kind in ("mitre", "butt"):
            text = (
                f'[carcass]\nkind = "staved"\nsides = {count}\nacross = "400"\nheight = "150"\nsplay = "{splay} deg"\n'
                f'thickness = "15"\ncorner_joint = "{kind}"\n'
            )
            stave = settings_in(text)["stave"]
            share, lean = math.pi / count, math.radians(splay)
            gauge = math.degrees(math.atan(math.tan(share) * math.sin(lean)))
            mitre = math.degrees(math.asin(math.sin(share) * math.cos(lean)))
            tilt = -mitre if kind == "mitre" else 90.0 - 2.0 * mitre
            for edge in ("left", "right"):
                assert degrees(stave[edge].gauge) == pytest.approx(gauge, abs=NEARLY)
                assert degrees(stave["right" if kind == "butt" else edge].tilt) == pytest.approx(tilt, abs=NEARLY)
                assert degrees(stave[edge].dihedral) == pytest.approx(180.0 - 2.0 * mitre, abs=NEARLY)


def test_tilts_and_gauges_measured_on_the_solid() -> None:
    """The angle between two faces of the solid, and between two of its edges, from the mesh alone."""
    for seed in range(40):
        pick = random.Random(1000 + seed)
        kind = pick.choice(["mitre", "butt"])
        box = Box(
            500.0,
            300.0,
            dict.fromkeys(WALLS, (200.0, 200.0)),
            {name: math.radians(pick.uniform(-8, 20)) for name in WALLS},
            {name: pick.uniform(10, 25) for name in WALLS},
            Joint(kind),
        )
        found = of_box({name: math.degrees(box.splays[name]) for name in WALLS}, "butt")
        for board in box.boards:
            solid = prism(np.array(board.outside_corners), np.array(board.inside_corners))
            mesh = solid.to_mesh64()
            corners = np.asarray(mesh.vert_properties)[:, :3]
            normals = _normals(corners, np.asarray(mesh.tri_verts))
            out = np.array(board.outside.normal)
            for number, side in enumerate(board.sides):
                wanted = np.array(side.plane.normal)
                face = normals[(normals @ wanted).argmax()]
                tilt = math.degrees(math.asin(np.clip(face @ out, -1.0, 1.0)))
                assert tilt == pytest.approx(math.degrees(board.tilt_of(number)), abs=0.01)
            a, b, c = (np.array(board.outside_corners[n]) for n in (3, 0, 1))
            along, up = (b - a) / np.linalg.norm(b - a), (c - b) / np.linalg.norm(c - b)
            gauge = 90.0 - math.degrees(math.acos(along @ up))
            if kind == "butt":
                assert gauge == pytest.approx(degrees(found[board.name.replace("_", " ")]["right"].gauge), abs=0.01)


def _normals(corners: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    found = np.cross(b - a, c - a)
    size = np.linalg.norm(found, axis=1)
    return found[size > 1e-9] / size[size > 1e-9, None]


def test_which_face_is_long_and_what_its_points_are() -> None:
    found = of_box({"sides": 8.0, "ends": 5.0}, "butt")
    side = found["side"] if "side" in found else found["right side"]
    assert side["bottom"].long_face == "inside" and side["top"].long_face == "outside"
    assert side["bottom"].points == ("short point", "short point"), "the ends lean in over the board"
    end = found["end board"] if "end board" in found else found["foot board"]
    assert end["right"].long_face == "inside"
    assert end["right"].length_outside == pytest.approx(
        240.0 * math.hypot(1.0, math.tan(math.radians(5)), math.tan(math.radians(8)))
    )


def test_lengths_are_those_of_both_faces() -> None:
    """A mitred vessel: a stave's inside is narrower by twice the thickness times the tangent of the tilt."""
    text = (
        '[carcass]\nkind = "staved"\nsides = 8\nacross = "300"\nheight = "200"\nsplay = "0 deg"\nthickness = "20"\n'
        'corner_joint = "mitre"\n'
    )
    bottom = settings_in(text)["stave"]["bottom"]
    assert bottom.length_outside == pytest.approx(300.0 * math.tan(math.pi / 8))
    assert bottom.length_outside - bottom.length_inside == pytest.approx(2 * 20.0 * math.tan(math.pi / 8))


def test_a_tilt_past_the_saw_is_cut_on_edge_and_a_wide_board_along_a_straight_edge() -> None:
    text = (
        '[carcass]\nkind = "staved"\nsides = 3\nacross = "600"\nheight = "700"\nsplay = "2 deg"\nthickness = "20"\n'
        'corner_joint = "mitre"\n'
    )
    stave = settings_in(text)["stave"]
    assert stave["right"].on_edge and abs(degrees(stave["right"].tilt)) > 45.0
    assert stave["right"].feather == pytest.approx(20.0 * math.tan(abs(stave["right"].tilt or 0.0)))
    assert stave["right"].way == "straight edge", "700 mm is more than the gauge of the default shop takes"
    assert not stave["bottom"].on_edge


def test_a_plain_part_has_settings_too() -> None:
    text = '[[part]]\nname = "end"\nthickness = "18"\nblank = { bottom = "300", top = "360", height = "200" }\n'
    end = settings_in(text)["end"]
    assert degrees(end["right"].gauge) == pytest.approx(math.degrees(math.atan2(30.0, 200.0)))
    assert end["right"].tilt == 0.0 and end["right"].dihedral is None and end["bottom"].gauge is None


def test_a_base_inside_leans_as_its_walls() -> None:
    text = (
        '[carcass]\nplan = { length = "500", width = "300" }\nheight = "200"\nsplay = { sides = "9 deg", ends = "4 deg" }\n'
        'thickness = "18"\nbase = { thickness = "15", place = "inside" }\n'
    )
    base = settings_in(text)["base"]
    assert sorted(round(degrees(one.tilt), 9) for one in base.values()) == [4.0, 4.0, 9.0, 9.0]
    assert {one.long_face for one in base.values()} == {"inside"}, "its upper face is the wide one"


def test_vessels_of_one_size_by_flats_and_by_corners() -> None:
    flats = Vessel(6, 400.0, 100.0, 0.1, 15.0, Joint("mitre"))
    corners = Vessel(6, 400.0 / math.cos(math.pi / 6), 100.0, 0.1, 15.0, Joint("mitre"), "corners")
    assert np.allclose(flats.boards[0].outline, corners.boards[0].outline)
    assert len(SIDES) == 2
