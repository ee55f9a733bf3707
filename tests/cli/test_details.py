"""That ``check`` reads back everything of a part, as it was understood, under the names that errors use."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

Command = Callable[..., Any]

SHELF = """\
curvewright = 1
title = "Wall shelf"
units = "in"

[[part]]
name = "back"
thickness = "¾"
grain = "90"
blank = { length = "106.7cm", width = "3' 6\\"" }
edges.top = [
    { points = [["0", "3"], ["4", "1"]], to = "4", mirror = true },
    { arch = "segmental", rise = "1", from = "4", to = "38" },
]
edges.bottom = { fit = true }
edges.left = { leave = "1/32", round_over = { radius = "1/4", faces = "outside", to = "20" } }
corners.bottom_left = { chamfer = "1 1/2" }
corners.bottom_right = { notch = ["2", "3"] }
glue_lines = ["9", "25"]
notes = ["Joint both edges first."]
cut = [{ from = ["left", "30"], to = ["top", "2"], points = [["1", "36"]], mirror = true, name = "ear" }]
mark = [{ centre = ["6", "7"] }, { line = [["0", "5"], ["30", "5"]] }, { note = "hang here", at = ["20", "30"] }]

[[part.hole]]
name = "peg"
circle = "1/2"
at = ["10", "20"]
mirror = true

[[part.hole]]
elongated = { length = "3", width = "1", angle = "30" }
at = ["20", "15"]
"""


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    path = tmp_path / "shelf.toml"
    path.write_text(SHELF.replace("grain", "# grain"), encoding="utf-8")
    return path


def told(result: Any) -> str:
    """The report on one line, whatever its width."""
    assert result.status == 0, result.err
    return re.sub(r"\s+", " ", result.out)


@pytest.mark.parametrize(
    "line",
    [
        "back: 3/4 in thick, grain along",
        "edges.bottom: leave 1/2 in longer than drawn, and fit to the piece (figure of the default shop)",
        "edges.left: leave 1/32 in outside the line",
        "edges.left: round over 1/4 in, outside face, to 20 in",
        "corners.bottom_left: chamfer 1 1/2 in",
        # going round counter-clockwise, the right edge follows the lower right corner
        "corners.bottom_right: notch, 2 in along right and 3 in along bottom",
        'cut 1 "ear": from left at 30 in to top at 2 in, through 1 point, and its reflection',
        'hole 1 "peg": circle, 1/2 in across, at 10 in, 20 in, and its reflection',
        "hole 2: elongated, 3 in by 1 in at 30°, at 20 in, 15 in",
        "mark 1: centre at 6 in, 7 in",
        "mark 2: line from 0 in, 5 in to 30 in, 5 in",
        'mark 3: "hang here" at 20 in, 30 in',
        "glue line 1: 9 in from the bottom",
        "glue line 2: 25 in from the bottom",
        "note: Joint both edges first.",
        'part "back", thickness: ¾ is 3/4 in = 19.05 mm',
        'part "back", blank, length: 106.7cm is 42.0079 in = 1067 mm',
        'part "back", blank, width: 3\' 6" is 42 in = 1066.8 mm',
    ],
)
def test_a_line_for_everything_that_was_given(curvewright: Command, shelf: Path, line: str) -> None:
    assert f" {line} " in told(curvewright("check", shelf))


def test_the_table_the_lines_and_the_errors_call_a_sweep_by_one_name(curvewright: Command, shelf: Path) -> None:
    out = told(curvewright("check", shelf))
    assert "edges.top, sweep 2 segmental" in out
    assert "edges.top, sweep 2: radius" in out
    assert "[1]" not in out
    shelf.write_text(shelf.read_text(encoding="utf-8").replace('rise = "1"', 'rise = "60"'), encoding="utf-8")
    assert "edges.top, sweep 2, rise: 60" in curvewright("check", shelf).err


def test_glue_lines_are_counted_from_the_left_where_the_grain_runs_across(curvewright: Command, shelf: Path) -> None:
    shelf.write_text(shelf.read_text(encoding="utf-8").replace("# grain", "grain"), encoding="utf-8")
    out = told(curvewright("check", shelf))
    assert "grain at 90°" in out
    assert "glue line 1: 9 in from the left" in out


def test_a_fitted_edge_names_the_shop_that_its_figure_is_from(
    curvewright: Command, shelf: Path, tmp_path: Path
) -> None:
    shop = tmp_path / "bench.toml"
    shop.write_text('[allowances]\nfit = "1"\n', encoding="utf-8")
    out = told(curvewright("check", shelf, "--shop", shop))
    assert "edges.bottom: leave 1 in longer than drawn, and fit to the piece (figure of bench.toml)" in out


def test_a_program_gets_the_same_in_millimetres_and_degrees(curvewright: Command, shelf: Path) -> None:
    part = curvewright("check", shelf, "--json").json["parts"][0]
    assert part["grain_deg"] == 0
    bottom, left = part["allowances"]
    assert (bottom["edge"], bottom["fit_mm"], bottom["leave_mm"]) == ("bottom", 12.7, None)
    assert left["round_over"] == {"radius_mm": 6.35, "faces": "outside", "from_mm": None, "to_mm": 508.0}
    assert part["corners"][1] == {"corner": "bottom_right", "form": "notch", "amounts_mm": [50.8, pytest.approx(76.2)]}
    peg, slot = part["holes"]
    assert (peg["diameter_mm"], peg["at_mm"], peg["mirrored"]) == (12.7, [254.0, 508.0], True)
    assert slot["angle_deg"] == pytest.approx(30)
    assert [mark["form"] for mark in part["marks"]] == ["centre", "line", "note"]
    assert part["glue_lines_mm"] == pytest.approx([228.6, 635])
    assert part["cuts"][0]["from"] == ["left", 762.0]
    assert part["notes"] == ["Joint both edges first."]


STEP = """\
curvewright = 1
title = "Gallery"
units = "mm"
[[part]]
name = "gallery"
blank = { length = "700", width = "120" }
edges.top = { measured = [{}], within = "0.5" }
"""


def gallery(tmp_path: Path, depths: list[float]) -> Path:
    rows = ", ".join(f'["{100 * k}", "{depth}"]' for k, depth in enumerate(depths))
    path = tmp_path / "gallery.toml"
    path.write_text(STEP.replace("{}", rows), encoding="utf-8")
    return path


def test_only_arches_that_come_near_are_told(curvewright: Command, tmp_path: Path) -> None:
    # the readings of a segmental arch of 700 mm span and 60 mm rise, to half a millimetre: R = c²/8h + h/2 = 1050.8 mm
    path = gallery(tmp_path, [60, 29.5, 10, 1, 1, 10, 29.5, 60])
    out = curvewright("check", path).out
    assert re.search(r"^ +segmental +700 mm", out, re.M)
    assert not re.search(r"^ +pointed ", out, re.M)
    assert "on average" in out


def test_of_a_curve_unlike_any_arch_none_is_told(curvewright: Command, tmp_path: Path) -> None:
    out = told(curvewright("check", gallery(tmp_path, [0, 80, 0, 80, 0, 80, 0, 80])))
    assert "no usual arch comes near it: the nearest," in out
    assert "off by at most" not in out
