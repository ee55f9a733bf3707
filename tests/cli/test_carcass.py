"""Carcasses through the commands: settings, patterns, sheets, and every mistake told in words with its place."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cli import request

Command = Callable[..., Any]

DEMO = Path(__file__).resolve().parents[2] / "demo"

BOX = """\
curvewright = 1
title = "Chest"
units = "in"

[sizes]
lean = "8 deg"

[carcass]
plan = { length = "24", width = "12" }
height = "10"
splay = { sides = "lean", ends = "5 deg" }
thickness = "3/4"
corner_joint = "finger"
fingers = { spacing = "1 1/2" }
wood = "pine"
"""


@pytest.fixture
def box(tmp_path: Path) -> Path:
    path = tmp_path / "chest.toml"
    path.write_text(BOX, encoding="utf-8")
    return path


def said(curvewright: Command, path: Path, *changes: tuple[str, str]) -> str:
    """What ``check`` says of the box with some of its text changed; each change has to be one."""
    text = BOX
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    result = curvewright("check", path)
    assert result.status == 1 and not result.out, result.err
    return " ".join(result.err.split())


def test_the_settings_of_the_demo_piece(curvewright: Command) -> None:
    result = curvewright("settings", DEMO / "wren-cradle.toml", "--json")
    rows = {(one["part"], one["edge"]): one for one in result.json["settings"]}
    foot = rows["foot board", "right"]
    assert foot["mitre_gauge_deg"] == pytest.approx(7.96995, abs=1e-5), (
        "atan(cos 5° tan 8°) = atan(0.996195 x 0.140541)"
    )
    assert foot["blade_tilt_deg"] == pytest.approx(0.69499, abs=1e-5), (
        "asin(sin 5° sin 8°) = asin(0.0871557 x 0.139173)"
    )
    assert foot["reference_edge"] == "bottom" and foot["cut"] == "flat" and foot["long_face"] == "inside"
    assert foot["dihedral_deg"] == pytest.approx(90.69499, abs=1e-5)
    assert rows["base", "bottom"]["dihedral_deg"] is None and rows["side", "bottom"]["blade_tilt_deg"] == pytest.approx(
        8.0
    )
    text = curvewright("settings", DEMO / "wren-cradle.toml").out
    assert "8° off square; it widens from the bottom" in text and "the saw unplugged" in text


def test_a_gauge_that_reads_ninety_at_square(curvewright: Command, box: Path, tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('units = "in"\n[table_saw]\ngauge_at_square = 90\n', encoding="utf-8")
    assert "8° off square, 82° on this gauge" in curvewright("settings", box, "--shop", shop).out


def test_a_steep_tilt_is_told_on_edge_with_its_caution(curvewright: Command, tmp_path: Path) -> None:
    path = tmp_path / "tub.toml"
    path.write_text(
        'curvewright = 1\ntitle = "Tub"\nunits = "mm"\n[carcass]\nkind = "staved"\nsides = 3\nacross = "300"\n'
        'height = "200"\nsplay = "4 deg"\nthickness = "20"\ncorner_joint = "mitre"\n',
        encoding="utf-8",
    )
    out = " ".join(curvewright("settings", path).out.split())
    assert "30.2°, on edge" in out and "tall fence" in out and "hands out of the blade's line" in out


def test_every_panel_gets_a_pattern_and_sheets(curvewright: Command, tmp_path: Path) -> None:
    for name, parts in (
        ("wren-cradle", ["side", "head-board", "foot-board", "base"]),
        ("heron-planter", ["stave", "base"]),
    ):
        folder = tmp_path / name
        assert curvewright("patterns", DEMO / f"{name}.toml", "-o", folder, "--dxf", "--laser").status == 0
        assert sorted(path.stem for path in folder.glob("*.dxf")) == sorted(parts)
        assert curvewright("sheets", DEMO / f"{name}.toml", "-o", folder / "sheets.pdf").status == 0
    side = (tmp_path / "wren-cradle" / "side.svg").read_text(encoding="utf-8")
    assert 'id="hidden"' in side, "the inside face, where the top and bottom edges are bevelled"
    assert "first; edge at" in side and "8° bevel, inside face short" in side
    base = (tmp_path / "heron-planter" / "base.svg").read_text(encoding="utf-8")
    assert "every edge: 10° bevel, outside face short" in base


def test_packet_compare_reprint_and_solve_take_a_carcass(curvewright: Command, box: Path, tmp_path: Path) -> None:
    assert curvewright("packet", box, "-o", tmp_path / "chest.zip", "--paper", "letter").status == 0
    assert curvewright("sheets", box, "-o", tmp_path / "old.pdf").status == 0
    other = tmp_path / "other.toml"
    other.write_text(BOX.replace('"8 deg"', '"9 deg"'), encoding="utf-8")
    compared = curvewright("compare", box, other).out
    assert "Changed angles" in compared and "blade tilt" in compared
    again = curvewright("reprint", tmp_path / "old.pdf", other, "-o", tmp_path / "new.pdf", "--dry-run")
    assert again.status == 0 and "side" in again.out
    solved = curvewright(
        "solve", box, "--vary", "lean", "--wanted", "settings / end board / edges.right / mitre gauge = 10 deg"
    )
    assert solved.status == 0 and "lean" in solved.out, solved.err


def test_a_measured_box_names_the_misreading(curvewright: Command, tmp_path: Path) -> None:
    path = tmp_path / "antique.toml"
    path.write_text(
        'curvewright = 1\ntitle = "Antique"\nunits = "in"\n[carcass]\nthickness = "3/4"\nmeasured = [\n'
        '{ of = "bottom length", value = "24" }, { of = "bottom width", value = "12 1/2" },\n'
        '{ of = "top length", value = "25 3/4" }, { of = "top width", value = "14 13/16" },\n'
        '{ of = "height", value = "10" }, { of = "slant of sides", value = "10 3/32" },\n'
        '{ of = "slope of ends", value = "7/8 over 10" }, { of = "slope of sides", value = "1 13/32 over 10" },\n'
        '{ of = "bottom diagonal", value = "26 27/32" }, { of = "top diagonal", value = "29 23/32" },\n'
        '{ of = "bottom width", value = "10 1/2", at = "inside" }]\n',
        encoding="utf-8",
    )
    result = curvewright("check", path)
    assert result.status == 0, result.err
    assert "left out: likely misread" in result.out
    assert "bottom width: 12 1/2 is likely a misreading: the others say ~12 in" in " ".join(result.out.split())


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ([('splay = { sides = "lean"', 'splay = { sides = "-40"')], "lean in so far that their inside faces meet"),
        ([('thickness = "3/4"', 'thickness = "7"')], "leave no room between them at the bottom"),
        ([('spacing = "1 1/2"', 'spacing = "40"')], "there is no room for a finger and a gap"),
        ([('spacing = "1 1/2"', 'count = 1')], "must be from 2 to 400, not 1"),
        ([('{ spacing = "1 1/2" }', '{ spacing = "1", count = 9 }')], "needs either spacing"),
        ([("plan =", "across = \"3\"\nplan =")], 'belongs to a carcass of kind "staved"'),
        ([('sides = "lean", ends', 'left_side = "lean", ends')], "says nothing of the right side"),
        ([('height = "10"', 'height = { sides = "10", head_board = "-2" }')], "must be more than 0"),
        ([('"lean", ends = "5 deg"', '"lean", ends = "80 deg"')], "75 degrees is the most"),
        ([('wood = "pine"', '[carcass.panels.lid]\nwood = "pine"')], 'there is no panel "lid"'),
        (
            [('wood = "pine"', '[carcass.panels.ends]\nedges.left = { arch = "segmental", rise = "1" }')],
            "eats the joint",
        ),
        (
            [('wood = "pine"', '[carcass.panels.ends]\nhole = [{ circle = "1", at = ["0", "4"] }]')],
            "eats the joint with the",
        ),
        ([('wood = "pine"', '[carcass.panels.ends]\nbevels.left = "level"')], "the ends follow from the joints"),
        ([('wood = "pine"', '[carcass.panels.ends]\nbevels.top = "slanted"')], "must be level, square, plumb"),
        (
            [('wood = "pine"', '[[part]]\nname = "side"\nblank = { length = "3", width = "2" }')],
            "is the name of a part of the carcass",
        ),
    ],
)  # fmt: skip
def test_bad_input_is_told_with_its_place(
    curvewright: Command, box: Path, changes: list[tuple[str, str]], words: str
) -> None:
    told = said(curvewright, box, *changes)
    assert words in told and "chest.toml: " in told, told


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("sides = 2", "a vessel has from 3 to 12 staves, not 2"),
        ('sides = 6\ncorner_joint = "finger"\nfingers = { count = 5 }', 'staves meet as "mitre" or "butt"'),
        ("sides = 6\nmeasured = []", 'belongs to a carcass of kind "box"'),
        ('sides = 6\nsplay = "-50 deg"', "the staves lean in so far that they meet"),
    ],
)
def test_bad_vessels(curvewright: Command, tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "tub.toml"
    rest = "" if "splay" in text else 'splay = "5 deg"\n'
    rest += "" if "corner_joint" in text else 'corner_joint = "mitre"\n'
    path.write_text(
        f'curvewright = 1\ntitle = "Tub"\nunits = "mm"\n[carcass]\nkind = "staved"\n{text}\n{rest}across = "300"\n'
        'height = "200"\nthickness = "15"\n',
        encoding="utf-8",
    )
    result = curvewright("check", path)
    assert result.status == 1 and words in " ".join(result.err.split()), result.err


def test_contradictory_and_too_few_measurements(curvewright: Command, tmp_path: Path) -> None:
    path = tmp_path / "antique.toml"
    head = 'curvewright = 1\ntitle = "Antique"\nunits = "in"\n[carcass]\nthickness = "3/4"\nmeasured = [\n'
    path.write_text(
        head + '{ of = "bottom length", value = "24" }, { of = "height", value = "10" }]\n', encoding="utf-8"
    )
    err = " ".join(curvewright("check", path).err.split())
    assert "do not settle the box yet; measure" in err and "bottom width" in err
    path.write_text(
        head
        + '{ of = "bottom length", value = "24" }, { of = "bottom width", value = "12" }, { of = "height", value = "10" },\n'
        '{ of = "slope of sides", value = "1 over 10" }, { of = "slope of ends", value = "1 over 10" },\n'
        '{ of = "bottom diagonal", value = "31" }]\n',
        encoding="utf-8",
    )
    assert "contradict each other" in " ".join(curvewright("check", path).err.split())
    path.write_text(head + '{ of = "girth", value = "24" }]\n', encoding="utf-8")
    assert 'there is no measure "girth"' in curvewright("check", path).err


def test_warnings_of_a_carcass(curvewright: Command, box: Path, tmp_path: Path) -> None:
    text = BOX.replace('"8 deg"', '"20 deg"').replace('ends = "5 deg"', 'ends = "18 deg"')
    text = text.replace('spacing = "1 1/2"', 'spacing = "1/8", cut = "square"')
    text += '[carcass.panels.sides]\ngrain = "across"\n'
    dip = 'points = [["4", "0"], ["6", "1"], ["8", "0"]], from = "4", to = "8", ends = "clamped"'
    text += f"[carcass.panels.ends]\nedges.top = {{ {dip} }}\n"
    box.write_text(text, encoding="utf-8")
    out = " ".join(curvewright("check", box).out.split())
    assert "on a square jig the slope leaves a gap of" in out
    assert "slimmer than any cutter of this shop" in out
    assert "the grain runs along the fingers" in out
    assert "the inside face has a step of" in out


def test_glue_lines_have_a_length_on_either_face(curvewright: Command, box: Path) -> None:
    """By hand: butt ends of a box that leans 8° and 5° differ by thickness x tan(tilt) / cos(gauge) at each end."""
    text = BOX.replace('corner_joint = "finger"\nfingers = { spacing = "1 1/2" }', 'corner_joint = "butt"')
    box.write_text(text + '[carcass.panels.ends]\nglue_lines = ["4"]\n', encoding="utf-8")
    (run,) = curvewright("settings", box, "--json").json["glue_lines"]
    tilt = math.asin(math.sin(math.radians(5)) * math.sin(math.radians(8)))
    gauge = math.atan(math.cos(math.radians(5)) * math.tan(math.radians(8)))
    more = 2 * 19.05 * math.tan(tilt) / math.cos(gauge)
    assert run["length_inside_mm"] - run["length_outside_mm"] == pytest.approx(more, abs=1e-9)
    assert run["points_outside"] == ["short point", "short point"]
    assert "glue line 1: " in curvewright("settings", box).out


@pytest.mark.parametrize(
    ("bevel", "tilt"), [("level", -8.0), ("square", 0.0), ("12 deg", 12.0), ("head_board", -8.0), ("plumb", 82.0)]
)
def test_a_free_edge_is_cut_as_it_is_said(curvewright: Command, box: Path, bevel: str, tilt: float) -> None:
    """A side that leans 8°: level leaves its top's inside face short by that, plumb runs almost along the face."""
    box.write_text(BOX + f'[carcass.panels.sides]\nbevels.top = "{bevel}"\n', encoding="utf-8")
    result = curvewright("settings", box, "--json")
    if bevel == "plumb":
        assert result.status == 1 and "almost along the face" in result.err
        return
    rows = {(one["part"], one["edge"]): one for one in result.json["settings"]}
    assert rows["side", "top"]["blade_tilt_deg"] == pytest.approx(tilt, abs=1e-9)


def test_fingers_may_be_said_of_the_top(curvewright: Command, box: Path) -> None:
    box.write_text(BOX.replace('spacing = "1 1/2"', 'count = 8, start = "top"'), encoding="utf-8")
    joints = curvewright("settings", box, "--json").json["joints"]
    assert {one["fingers"]["first_is_finger"] for one in joints if one["part"] == "side"} == {False}
    box.write_text(BOX.replace('spacing = "1 1/2"', 'count = 9, start = "top"'), encoding="utf-8")
    joints = curvewright("settings", box, "--json").json["joints"]
    assert {one["fingers"]["first_is_finger"] for one in joints if one["part"] == "side"} == {True}


# -------------------------------------------------------------------- a hood

HOOD = """\
[carcass.hood]
depth = "9"
eaves = "15"
slopes = ["55 deg", "25 deg"]
break_height = "2"
flat = "3"
thickness = "3/8"
front_bottom = "12"
overhang = { eaves = "1/2", front = "1/2" }
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('depth = "9"', 'depth = "30"', "hood, depth: 30 in is deeper than the piece is long"),
        ('eaves = "15"', 'eaves = "9"', "hood, eaves: 9 in is no higher than the sides"),
        ('"25 deg"]', '"60 deg"]', "is no less than the lower one"),
        ('break_height = "2"', 'break_height = "14"', "the lower slopes meet"),
        ('break_height = "2"', 'break_height = "1/2"', "no wider than the sides are thick"),
        ('break_height = "2"\n', "", "hood, break_height: is missing"),
        ('flat = "3"', 'flat = "30"', "hood, flat: 30 in is as wide as what it covers"),
        ('flat = "3"', 'flat = "-3"', "must be more than 0"),
        ('["55 deg", "25 deg"]', '["86 deg", "25 deg"]', "or else the head board's edge is upright"),
        ('["55 deg", "25 deg"]', '["55 deg", "25 deg", "5 deg"]', "not 3"),
        ('front_bottom = "12"', 'front_bottom = "40"', "hood, front_bottom: 40 in is above the roof"),
        ('flat = "3"', 'flat = "3"\njoint = "lap"\nlap = "20"', "hood, lap: 20 in reaches past the ridge"),
        ('flat = "3"', 'flat = "3"\nlap = "1/8"', "the roof boards are mitred"),
        ('front_bottom = "12"', 'front_bottom = "12"\nfront = "leaning"', "front"),
    ],
)
def test_bad_hoods(curvewright: Command, box: Path, old: str, new: str, words: str) -> None:
    text = BOX + HOOD
    assert old in text
    box.write_text(text.replace(old, new), encoding="utf-8")
    result = curvewright("check", box)
    assert result.status == 1 and words in " ".join(result.err.split()), result.err


def test_a_glue_line_outside_or_through_a_hole(curvewright: Command, box: Path) -> None:
    for lines, words in (('glue_lines = ["60"]', "glue line 1"), ('biscuits = "3"', "there is no glue line")):
        box.write_text(BOX + f"[carcass.panels.sides]\n{lines}\n", encoding="utf-8")
        result = curvewright("check", box)
        assert result.status == 1 and words in result.err, result.err


def test_the_card_of_the_hooded_piece(curvewright: Command) -> None:
    text = " ".join(curvewright("settings", DEMO / "wren-hooded.toml", "--card").out.split())
    assert "1. Along the fence" in text and "turn it end for end" in text and "On edge, at a tall fence" in text
    assert "side, board 1, opposite hand" in text
    told = curvewright("settings", DEMO / "wren-hooded.toml", "--card", "--json").json
    keys = [(one["way"], one["blade_tilt_deg"], one["gauge_deg"]) for one in told["set_ups"]]
    assert len(keys) == len(set(keys)) and told["saw_tilts"] == "left"


def test_shop_aids_are_printed_remembered_and_refused_where_there_is_no_angle(
    curvewright: Command, box: Path, tmp_path: Path
) -> None:
    assert curvewright("sheets", box, "--shop-aids", "-o", tmp_path / "aids.pdf").status == 0
    again = curvewright("reprint", tmp_path / "aids.pdf", box, "-o", tmp_path / "new.pdf", "--dry-run")
    assert again.status == 0 and "nothing differs" in again.out and "bevel card" in again.out
    square = tmp_path / "square.toml"
    square.write_text(
        'curvewright = 1\ntitle = "A"\nunits = "mm"\n[[part]]\nname = "a"\nblank = { length = "90", width = "50" }\n'
    )
    refused = curvewright("sheets", square, "--shop-aids", "-o", tmp_path / "none.pdf")
    assert refused.status == 1 and "there is no angle to set" in refused.err


def test_a_glue_line_through_a_hole_is_warned_of(curvewright: Command, box: Path) -> None:
    hole = 'glue_lines = ["4"]\nhole = [{ name = "hand hole", elongated = { length = "3", width = "1" }, at = ["12", "4"] }]'
    box.write_text(BOX + f"[carcass.panels.sides]\n{hole}\n", encoding="utf-8")
    out = " ".join(curvewright("check", box).out.split())
    assert "glue line 1, 4, runs through hand hole" in out


def test_boards_whose_bevels_or_fingers_are_upside_down_are_not_alike(curvewright: Command, tmp_path: Path) -> None:
    """Both outlines are rectangles with a hole half way up, which half a turn brings to the other end; the bevels or the
    fingers of the boards it turns upside down."""
    path = tmp_path / "chest.toml"
    plain = BOX.replace('splay = { sides = "lean", ends = "5 deg" }', 'splay = { sides = "SIDES", ends = "0" }')
    plain += '\n[carcass.panels.sides]\nhole = [{ circle = "2", at = ["5", "MIDDLE"] }]\n'
    leaning = plain.replace("SIDES", "10 deg").replace("MIDDLE", "5 / cos(10)").replace('"finger"', '"butt"')
    leaning = leaning.replace('fingers = { spacing = "1 1/2" }\n', "")
    fingers = plain.replace("SIDES", "0").replace("MIDDLE", "5").replace('spacing = "1 1/2"', "count = 8")
    odd = fingers.replace("count = 8", "count = 7")
    for text, words in ((leaning, "turn over"), (fingers, "turn over"), (odd, "both hands are alike")):
        path.write_text(text, encoding="utf-8")
        side = curvewright("check", path).out.partition("end board")[0]
        assert words in " ".join(side.split()), text
        halved = curvewright("sheets", path, "-o", tmp_path / "half.pdf", "--half", "side", "--replace")
        assert halved.status == (0 if words == "both hands are alike" else 1)


def test_ends_that_meet_sides_of_different_thickness_are_two_parts(curvewright: Command, tmp_path: Path) -> None:
    """The left of the foot board meets the left side, and that of the head board the right side."""
    path = tmp_path / "chest.toml"
    thick = BOX.replace('thickness = "3/4"', 'thickness = { left_side = "1", right_side = "1/2", ends = "3/4" }')
    rabbets = thick.replace('"finger"', '"rabbet"\nlong_boards = "ends"\nrabbet = "1/4"')
    for text in (thick, rabbets.replace('fingers = { spacing = "1 1/2" }\n', "")):
        path.write_text(text, encoding="utf-8")
        out = curvewright("check", path).out
        assert "end board" not in out and "head board" in out and "foot board" in out


FREE = BOX.replace('corner_joint = "finger"\nfingers = { spacing = "1 1/2" }\n', "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (BOX.replace('"1 1/2" }', '"1 1/2", play = "1" }'), "fingers, play: 1 in leaves nothing to hold"),
        (BOX.replace('"1 1/2" }', '"1 1/2", proud = "6" }'), "fingers, proud: fingers would stand out 6 in"),
        (BOX.replace('"1 1/2" }', '"0.001" }'), "makes more than 400 fingers and gaps"),
        (FREE + 'height_from = "base"\n', "height_from: there is no base; add [carcass.base]"),
        (
            FREE + 'base = { thickness = "1/2" }\n[carcass.panels.base]\nbevels.top = "plumb"\n',
            "panels.base, bevels: only walls have them",
        ),
        (
            FREE + 'base = { thickness = "1/2" }\n[carcass.panels.base]\ncurves.top = "level"\n'
            'edges.top = { arch = "segmental", rise = "1", arch_to = "edge" }\n',
            "panels.base, curves.top: the board lies level",
        ),
        (
            FREE.replace('height = "10"', 'height = { sides = "10", head_board = "13" }')
            + '[carcass.panels.head_board]\nbevels.top = "left_side"\n',
            "its own height is 3 in off that plane",
        ),
        (
            FREE.replace('"lean"', '"-10 deg"') + '[carcass.panels.sides]\nbevels.bottom = "square"\n',
            "the bottom edge of the right side, as its bevel has it, would reach 1/8 in below",
        ),
        (
            FREE + '[carcass.panels.ends]\nbevels.bottom = "left_side"\n',
            "bevels.bottom: only a top edge is cut in the plane of another wall's",
        ),
    ],
)
def test_what_would_be_passed_over_in_silence_is_told(
    curvewright: Command, tmp_path: Path, text: str, words: str
) -> None:
    path = tmp_path / "chest.toml"
    path.write_text(text, encoding="utf-8")
    result = curvewright("check", path)
    assert result.status == 1 and words in " ".join(result.err.split()), result.err


def test_a_level_curve_leans_as_a_level_edge_does(curvewright: Command, tmp_path: Path) -> None:
    """The top of a wall that leans out, cut level: the outside face is the long one, whether straight or curved."""
    path = tmp_path / "chest.toml"
    tall = FREE.replace('height = "10"', 'height = { sides = "10", head_board = "12", foot_board = "12" }')
    arch = 'edges.top = { arch = "segmental", rise = "1", arch_to = "edge" }\ncurves.top = "level"\n'
    found = []
    for more in ("", f"[carcass.panels.ends]\n{arch}"):
        path.write_text(tall + more, encoding="utf-8")
        rows = curvewright("settings", path, "--json").json["settings"]
        top = next(one for one in rows if one["part"] == "end board" and one["edge"] == "top")
        found.append((top["blade_tilt_deg"], top["long_face"], top["curved"]))
    assert found[0][:2] == found[1][:2] == (pytest.approx(-5.0), "outside") and found[1][2]


def test_a_template_of_a_bevelled_panel_is_warned_of(curvewright: Command, box: Path, tmp_path: Path) -> None:
    made = curvewright("sheets", box, "-o", tmp_path / "t.pdf", "--template", "side")
    assert "a router cuts square, and these edges lean: bottom, right, top and left" in " ".join(made.err.split())


def test_the_wood_that_a_panel_needs_holds_both_faces(curvewright: Command, tmp_path: Path) -> None:
    """A butted stave is wider on the inside face: of a hexagon 10 in across its bottom is 0.72 in longer there."""
    path = tmp_path / "tub.toml"
    path.write_text(
        'curvewright = 1\ntitle = "Tub"\nunits = "in"\n[carcass]\nkind = "staved"\nsides = 6\nacross = "10"\n'
        'height = "8"\nsplay = "0"\nthickness = "5/8"\ncorner_joint = "butt"\n',
        encoding="utf-8",
    )
    row = curvewright("settings", path, "--json").json["settings"][0]
    assert row["length_inside_mm"] - row["length_outside_mm"] == pytest.approx(2 * 15.875 * math.tan(math.radians(30)))
    assert "of a board at least 5 25/32 in by 8 in" in curvewright("settings", path).out


def test_a_rabbet_is_drawn_where_the_neighbour_s_inside_face_meets_it(curvewright: Command, tmp_path: Path) -> None:
    """At the bottom the inside face of an end is t / cos(splay) further in than its outside face, and so is the shoulder."""
    path = tmp_path / "chest.toml"
    path.write_text(FREE + 'corner_joint = "rabbet"\nrabbet = "1/4"\n', encoding="utf-8")
    job = request.read(path, {}, None, [])
    side = next(pattern for pattern in job.patterns if pattern.part == "side")
    lines = {stroke.key: stroke.curve for stroke in side.strokes if stroke.key.startswith("rabbet.")}
    thick = 0.75 * 25.4 / math.cos(math.radians(5.0))
    for key, x in (("rabbet.left", thick), ("rabbet.right", 24 * 25.4 - thick)):
        low = min((lines[key].start, lines[key].end), key=lambda point: point[1])
        assert low[0] == pytest.approx(x, abs=1e-6)
    assert [label.text for label in side.labels].count("rabbet in the inside face, 3/4 in wide, 1/4 in deep") == 2


def test_what_is_said_of_both_sides_does_not_move_to_the_other_end(curvewright: Command, tmp_path: Path) -> None:
    """Sides that lean alike are mirror images, and a hole under ``sides`` is at the same end of both; sides that lean
    differently are two drawings, each from its own left."""
    path = tmp_path / "chest.toml"
    hole = '[carcass.panels.sides]\nhole = [{ circle = "2", at = ["5", "5"] }]\n'
    alike = BOX.replace('sides = "lean"', 'left_side = "8 deg", right_side = "lean"') + hole
    path.write_text(alike, encoding="utf-8")
    assert curvewright("check", path, "--size", "lean=8 deg").status == 0
    refused = curvewright("check", path, "--size", "lean=9 deg")
    assert refused.status == 1 and "describe left_side and right_side each by itself" in refused.err


def test_a_board_that_is_cut_before_glue_has_wood_for_its_bevel(curvewright: Command, tmp_path: Path) -> None:
    """At 20 degrees 3/4 in of thickness takes 0.273 in more below the outside arris of the bottom, and its straight edge is
    drawn there."""
    path = tmp_path / "chest.toml"
    text = BOX.replace('"lean"', '"20 deg"') + '[carcass.panels.sides]\nglue_lines = ["4"]\nshape = "before glue"\n'
    path.write_text(text, encoding="utf-8")
    job = request.read(path, {}, None)
    side = next(part for part in job.parts if part.name == "side")
    low, _ = side.boards[0].strip
    assert low == pytest.approx(-0.75 * 25.4 * math.tan(math.radians(20.0)), abs=1e-6)
    first = next(pattern for pattern in job.patterns if "board 1" in pattern.name)
    below = [s.curve for s in first.strokes if s.key == "reference[0]" and abs(s.curve.start[1] - low) < 1e-6]
    assert below and sum(curve.length for curve in below) > 500.0


def test_slants_alone_do_not_tell_which_way_a_wall_leans(curvewright: Command, tmp_path: Path) -> None:
    path = tmp_path / "measured.toml"
    readings = ("bottom length", "24"), ("bottom width", "12"), ("height", "10"), ("slant of sides", "10 1/8")
    rows = ", ".join(f'{{ of = "{of}", value = "{value}" }}' for of, value in (*readings, ("slant of ends", "10 1/16")))
    text = f'curvewright = 1\ntitle = "Old box"\nunits = "in"\n[carcass]\nthickness = "5/8"\nmeasured = [{rows}]\n'
    path.write_text(text, encoding="utf-8")
    said = " ".join(curvewright("check", path).out.split())
    assert "would be the same if the walls leaned in; outward is taken; measure the top, too" in said
    path.write_text(text.replace('"slant of ends", value', '"top width", value = "15"}, {of = "slant of ends", value'))
    said = " ".join(curvewright("check", path).out.split())
    assert "slant of ends would be the same" in said and "slant of sides and" not in said


def test_a_measured_box_may_have_boards_of_its_own_heights(curvewright: Command, tmp_path: Path) -> None:
    """The top was measured at 10 in, where the sides end; the head board goes on."""
    path = tmp_path / "measured.toml"
    rows = (
        '{ of = "bottom length", value = "24" }, { of = "bottom width", value = "12" }, { of = "height", value = "10" }'
    )
    tops = '{ of = "top length", value = "26" }, { of = "top width", value = "15" }'
    text = (
        f'curvewright = 1\ntitle = "Old box"\nunits = "in"\n[carcass]\nthickness = "5/8"\nmeasured = [{rows}, {tops}]\n'
    )
    path.write_text(text + 'height = { sides = "10", head_board = "14" }\n', encoding="utf-8")
    job = request.read(path, {}, None)
    box = job.piece.carcass.shape
    assert box.heights["head_board"] == pytest.approx((14 * 25.4, 14 * 25.4))
    assert math.tan(box.splays["left_side"]) == pytest.approx(0.15)
