"""The cut line read back from a written PDF by a library that did not write it, against the exact curve."""

from __future__ import annotations

from functools import partial

import handmade
import numpy as np
import pagereader
import pytest
import shapely
from exact import all_points, distance
from msgspec.structs import replace

from patterns.affine import Affine
from tiling import job
from tiling.form import SheetForm
from tiling.paper import paper
from tiling.printer import NO_PRINTER, Printer

TOLERANCE_MM = 0.005

SHAPES = {
    "arched panel": handmade.arched_panel(520, 610, 95),
    "panel that is landscape": handmade.arched_panel(700, 260, 60),
    "tall panel": handmade.arched_panel(190, 700, 40),
    "flowing rail": handmade.flowing_rail(640, (22.0, 60.0, 35.0, 71.5, 44.0, 12.0, 18.0), 45.0),
    "12 m rail": handmade.flowing_rail(12_000, (22.0, 260.0, 35.0, 171.5, 44.0, 12.0, 118.0), 45.0),
}


def printed(shape: handmade.Handmade, paper_name: str, printer: Printer = NO_PRINTER) -> job.Printed:
    form = SheetForm(paper(paper_name), printer=printer)
    return job.make_sheets(handmade.order_of(shape.pattern), form)


def cut_lines(made: job.Printed) -> list[tuple[dict, list[pagereader.PaintedPath]]]:
    """For every sheet: its entry in ``sheets --json`` and its cut lines."""
    pages = pagereader.pages(made.data)
    return [(one, [p for p in pages[one["page"] - 1] if pagereader.is_cut(p)]) for one in made.to_json()["sheets"]]


@pytest.mark.parametrize("paper_name", ["letter", "A4"])
@pytest.mark.parametrize("name", SHAPES)
def test_every_cut_line_on_every_sheet_is_the_exact_curve(name: str, paper_name: str) -> None:
    shape = SHAPES[name]
    worst, drawn = 0.0, 0
    for entry, paths in cut_lines(printed(shape, paper_name)):
        to_part = entry["parts"][0]["to_part"]
        for path in paths:
            points = pagereader.mapped(to_part, pagereader.along(path.beziers, 17)).reshape(-1, 2)
            worst = max(worst, float(distance(shape.exact, points).max()))
            drawn += len(points)
    assert drawn > 300
    print(f"{name} on {paper_name}: {worst:.5f} mm from the exact curve at most, {drawn} points")
    assert worst < TOLERANCE_MM


@pytest.mark.parametrize("paper_name", ["letter", "A4"])
@pytest.mark.parametrize("name", SHAPES)
def test_every_point_of_the_exact_curve_is_shown_by_some_sheet(name: str, paper_name: str) -> None:
    shape = SHAPES[name]
    seen = []
    for entry, paths in cut_lines(printed(shape, paper_name)):
        to_part = entry["parts"][0]["to_part"]
        for path in paths:
            x0, y0, x1, y1 = path.clip
            half = path.width / 2 - 4 / 256  # a hair's breadth for a line flush with the window's edge
            lines = shapely.multilinestrings([shapely.linestrings(row) for row in pagereader.along(path.beziers, 65)])
            shown = shapely.get_parts(shapely.clip_by_rect(lines, x0 + half, y0 + half, x1 - half, y1 - half))
            on_part = partial(pagereader.mapped, to_part)
            seen += [shapely.transform(piece, on_part) for piece in shown]
    points = all_points(shape.exact, 0.5)
    tree = shapely.STRtree([line for line in seen if not line.is_empty])
    _, apart = tree.query_nearest(shapely.points(points), all_matches=False, return_distance=True)
    assert len(apart) == len(points)
    worst = int(apart.argmax())
    assert apart[worst] < TOLERANCE_MM, f"({points[worst][0]:.2f}, {points[worst][1]:.2f}) is on no sheet"


@pytest.mark.parametrize("turn", [0, 90])
def test_both_turns_read_back_alike(turn: int) -> None:
    shape = SHAPES["arched panel"]
    first = printed(shape, "A4").recipe
    record = first.patterns[0]
    turned = replace(first, patterns=(replace(record, layout=replace(record.layout, turn=turn), slots={}),))
    made = job.make_sheets(handmade.order_of(shape.pattern), SheetForm(paper("A4")), like=turned)
    assert made.dealt[0].layout.turn == turn
    checked = 0
    for entry, paths in cut_lines(made):
        part = entry["parts"][0]
        assert (abs(part["to_part"][0]) < 1e-12) == (turn == 90)
        for path in paths:
            points = pagereader.mapped(part["to_part"], pagereader.along(path.beziers, 9)).reshape(-1, 2)
            assert distance(shape.exact, points).max() < TOLERANCE_MM
            checked += len(points)
    assert checked > 300


def test_a_printer_correction_changes_the_paper_and_not_the_part() -> None:
    shape = SHAPES["arched panel"]
    plain = printed(shape, "A4")
    corrected = printed(shape, "A4", Printer("study", Affine.scaling(1.004, 0.997)))
    for made in (plain, corrected):
        for entry, paths in cut_lines(made):
            for path in paths:
                points = pagereader.mapped(entry["parts"][0]["to_part"], pagereader.along(path.beziers, 9))
                assert distance(shape.exact, points.reshape(-1, 2)).max() < TOLERANCE_MM
    across = cut_lines(corrected)[0][0]["parts"][0]["to_part"]
    upright = corrected.dealt[0].layout.lattice.form.orientation == "portrait"
    assert np.isclose(np.hypot(*across[:2]) * 72 / 25.4, 1 / (1.004 if upright else 0.997), atol=1e-9)


def test_the_page_shows_the_window_in_the_json_and_a_line_on_its_edge_whole() -> None:
    for entry, paths in cut_lines(printed(SHAPES["panel that is landscape"], "letter")):
        part = entry["parts"][0]
        for path in paths:
            corners = pagereader.mapped(part["to_part"], np.array(path.clip).reshape(2, 2))
            box = [*corners.min(axis=0), *corners.max(axis=0)]
            beyond = np.subtract(box, part["window_mm"]) * (-1, -1, 1, 1)
            assert (beyond > 0.15).all() and (beyond < 0.16).all()


def test_the_numbers_on_the_page_are_whole_draw_units() -> None:
    """What cairo gave back is what was sent: 1/256 pt and nothing between, a part of 12 m included."""
    made = printed(SHAPES["12 m rail"], "letter")
    for _, paths in cut_lines(made):
        for path in paths:
            units = path.beziers[:, [0, 3]] * 256
            assert np.abs(units - np.rint(units)).max() < 1e-6
