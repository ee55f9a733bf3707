"""What stands on the seams: marks that meet, clear of lines, and ticks where the cut line crosses."""

from __future__ import annotations

from itertools import product

import handmade
import numpy as np
import pagereader
import pytest
import shapely

from tiling import job
from tiling.form import SheetForm
from tiling.lattice import cell_of
from tiling.paper import paper

RADIUS_MM, ARM_MM = 2.87, 4.0
SHAPES = [
    handmade.arched_panel(520, 610, 95),
    handmade.flowing_rail(820, (30.0, 75.0, 48.0, 96.0, 40.0, 12.0, 18.0), 60.0),
    handmade.arched_panel(185, 690, 90),
]
CASES = list(product(range(len(SHAPES)), ["letter", "A4"], [7.0, 10.0, 15.0]))


def printed(number: int, name: str, overlap_mm: float) -> job.Printed:
    form = SheetForm(paper(name), overlap_mm=overlap_mm)
    return job.make_sheets(handmade.order_of(SHAPES[number].pattern), form)


def circles(paths: list[pagereader.PaintedPath], radius_mm: float) -> np.ndarray:
    """Centres (points of the page) of the circles of this radius."""
    boxes = np.array([path.box for path in paths if path.closed and len(path.beziers) == 4]).reshape(-1, 4)
    round_ones = (
        np.abs(np.ptp(boxes.reshape(-1, 2, 2), axis=1) * pagereader.POINT_MM / 2 - radius_mm).max(axis=1) < 0.01
    )
    return boxes.reshape(-1, 2, 2).mean(axis=1)[round_ones]


def sheets(made: job.Printed) -> dict[tuple[int, int], tuple[list[pagereader.PaintedPath], dict]]:
    pages = pagereader.pages(made.data)
    return {cell_of(one["label"]): (pages[one["page"] - 1], one["parts"][0]) for one in made.to_json()["sheets"]}


def marks_of(paths: list[pagereader.PaintedPath], part: dict, overlap_mm: float) -> np.ndarray:
    """Centres of a sheet's registration marks in the part: circles on the seams, half an overlap inside the window."""
    radius = min(RADIUS_MM, min(ARM_MM, overlap_mm / 2 - 1.0) - 0.63)
    centres = pagereader.mapped(part["to_part"], circles(paths, radius))
    x0, y0, x1, y1 = part["window_mm"]
    off = np.min([centres[:, 0] - x0, x1 - centres[:, 0], centres[:, 1] - y0, y1 - centres[:, 1]], axis=0)
    return centres[np.abs(off - overlap_mm / 2) < 0.01]


@pytest.mark.parametrize(("number", "name", "overlap"), CASES)
def test_both_sheets_of_a_seam_show_the_same_marks(number: int, name: str, overlap: float) -> None:
    """In coordinates of the part, to a rounding of floats: two marks a seam, on all four sides of every sheet."""
    found = sheets(printed(number, name, overlap))
    seams = 0
    for (c, r), (paths, part) in found.items():
        mine = marks_of(paths, part, overlap)
        assert len(mine) == 8
        for beside in ((c + 1, r), (c, r + 1)):
            if beside not in found:
                continue
            theirs = marks_of(*found[beside], overlap)
            apart = np.hypot(*np.moveaxis(mine[:, None] - theirs[None], -1, 0))
            assert (apart.min(axis=1) < 1e-9).sum() == 2, ((c, r), beside)
            seams += 1
    assert seams >= 2


@pytest.mark.parametrize(("number", "name", "overlap"), CASES)
def test_marks_are_clear_of_every_line_or_as_clear_as_can_be(number: int, name: str, overlap: float) -> None:
    """No line of the pattern within 1 mm of a mark's arms on a seam that joins two sheets, but where one runs along it."""
    shape = SHAPES[number]
    lines = shapely.MultiLineString([points for _, points in handmade.flattened(shape.pattern)])
    arm = min(ARM_MM, overlap / 2 - 1.0)
    found = sheets(printed(number, name, overlap))
    every = np.concatenate([marks_of(*sheet, overlap) for sheet in found.values()])
    shared = np.array([mark for mark in every if (np.hypot(*(every - mark).T) < 1e-6).sum() == 2])
    round_about = shared[:, None] + [(0, 0), (0, 15), (0, -15), (15, 0), (-15, 0)]
    clear = shapely.distance(lines, shapely.points(round_about)) >= arm + 0.99
    along = ~clear[:, [1, 2]].any(axis=1) | ~clear[:, [3, 4]].any(axis=1)
    assert (clear[:, 0] | along).all(), shared[~(clear[:, 0] | along)]
    assert clear[:, 0].mean() > 0.7


@pytest.mark.parametrize(("number", "name", "overlap"), CASES)
def test_marks_of_a_seam_are_far_apart(number: int, name: str, overlap: float) -> None:
    """The farther, the better they hold the angle: at least a quarter of a seam."""
    found = sheets(printed(number, name, overlap))
    for (c, r), (paths, part) in found.items():
        x0, y0, x1, y1 = part["window_mm"]
        marks = marks_of(paths, part, overlap)
        for beside in ((c + 1, r), (c, r + 1)):
            if beside in found:
                theirs = marks_of(*found[beside], overlap)
                shared = [mark for mark in marks if np.hypot(*(theirs - mark).T).min() < 1e-6]
                assert np.ptp(shared, axis=0).max() > 0.25 * (min(x1 - x0, y1 - y0) - overlap)


def test_the_cut_line_has_a_tick_wherever_it_crosses_a_seam() -> None:
    """Counted with shapely from the exact outline."""
    shape = SHAPES[0]
    made = printed(0, "A4", 10.0)
    lattice, to_drawing = made.dealt[0].layout.lattice, made.dealt[0].layout.to_drawing
    outline = shapely.LineString(to_drawing.apply(shape.pattern.outline.boundary.flattened(0.001)))
    for cell, (paths, part) in sheets(made).items():
        x0, y0, x1, y1 = lattice.core(cell)
        back = to_drawing.inverse()
        ticks = [p for p in paths if len(p.beziers) == 1 and abs(length_mm(p) - 4.0) < 0.01]
        places = [tuple(pagereader.mapped(part["to_part"], p.beziers[0][[0, 3]].mean(axis=0))) for p in ticks]
        for seam in (((x0, y0), (x0, y1)), ((x1, y0), (x1, y1)), ((x0, y0), (x1, y0)), ((x0, y1), (x1, y1))):
            for crossing in shapely.get_parts(outline.intersection(shapely.LineString(seam))):
                if crossing.geom_type == "Point":
                    at = back.point(crossing.x, crossing.y)
                    assert min(np.hypot(at[0] - x, at[1] - y) for x, y in places) < 0.01, (cell, at)


def length_mm(path: pagereader.PaintedPath) -> float:
    return float(np.hypot(*(path.beziers[0, 3] - path.beziers[0, 0]))) * pagereader.POINT_MM


def test_hole_marks_and_proof_points_are_never_as_wide_as_a_registration_mark() -> None:
    for paths, part in sheets(printed(0, "A4", 10.0)).values():
        assert len(marks_of(paths, part, 10.0)) == 8
        assert len(circles(paths, 1.57)) == 1
