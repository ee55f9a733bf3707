"""Layouts: never more sheets than the plain grid, everything needed shown, sheets that hang together."""

from __future__ import annotations

import math

import handmade
import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.errors import PatternError
from patterns.pattern import Pattern
from tiling import job
from tiling.deal import first_plan
from tiling.form import SheetForm
from tiling.layout import choose, score_of_layout, settled_count
from tiling.needed import joining_cells, needed_cells
from tiling.order import MOST_SHEETS
from tiling.paper import Paper, paper
from tiling.scoring import AxisScore, Keep, Sample, best_of, score_of
from tiling.segments import lines_of, map_to_drawing
from tiling.units import to_mm, to_units

LINE_MM = 0.3


def star(corners: list[tuple[float, float]], width: float, height: float) -> Pattern:
    """A closed outline about its middle: corners at (turn, reach), stretched to a width and a height."""
    angles = np.sort(np.array([turn for turn, _ in corners])) * 2 * math.pi
    reach = np.array([reach for _, reach in corners])
    points = np.stack([np.cos(angles), np.sin(angles)], axis=1) * reach[:, None]
    low, high = points.min(axis=0), points.max(axis=0)
    return handmade.outlined(Curve.polyline((points - low) / (high - low) * (width, height), closed=True))


def egg(width: float, height: float) -> Pattern:
    """An ellipse."""
    curve = Curve.circle((0, 0), 1.0).transformed(Affine.scaling(width / 2, height / 2))
    return handmade.outlined(curve)


def rectangle(width: float, height: float) -> Pattern:
    """A plain board."""
    corners = [(0, 0), (width, 0), (width, height), (0, height)]
    return handmade.outlined(Curve.polyline(corners, closed=True))


turns = st.lists(
    st.tuples(st.floats(0, 1), st.floats(0.25, 1)), min_size=5, max_size=12, unique_by=lambda c: round(c[0], 2)
)
sides = st.floats(20, 2500)
outlines = st.one_of(
    st.builds(star, turns, sides, sides),
    st.builds(egg, sides, sides),
    st.builds(
        lambda w, h: handmade.outlined(Curve.polyline([(0, 0), (w, 0), (w, h), (0, h)], closed=True)), sides, sides
    ),
)
papers = st.one_of(
    st.sampled_from([paper(name) for name in ("letter", "legal", "tabloid", "A5", "A4", "A3", "A2")]),
    st.tuples(st.floats(150, 900), st.floats(150, 900)).map(lambda s: Paper("some", min(s), max(s))),
)


def grid(extent: tuple[float, float], form: SheetForm) -> int:
    """Sheets of a plain grid over the drawing's box: a ceiling in each direction."""
    counts = []
    for size, window, step in zip(extent, form.window, form.step, strict=True):
        counts.append(max(1, math.ceil((size - to_mm(window)) / to_mm(step)) + 1))
    return counts[0] * counts[1]


def best_grid(pattern: Pattern, form: SheetForm) -> int:
    """The least over both ways of the paper and both turns of the part (which come to the same)."""
    x0, y0, x1, y1 = pattern.bounds
    ways = [SheetForm(form.paper, way, form.margin_mm, form.overlap_mm) for way in ("portrait", "landscape")]
    return min(grid((x1 - x0, y1 - y0), way) for way in ways)


@given(outlines, papers)
@settings(max_examples=60, deadline=None)
def test_a_count_that_is_known_without_a_layout_is_the_layouts(pattern: Pattern, sheet: Paper) -> None:
    form = SheetForm(sheet)
    count = settled_count(pattern.strokes, form)
    assert count in (None, len(first_plan(pattern, form).cells))


@pytest.mark.parametrize("windows", [1, 2, 4])
@pytest.mark.parametrize("beyond", [-9, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8, 12])
def test_a_count_is_known_of_a_rail_and_right_where_it_fills_its_sheets_to_a_hair(windows: int, beyond: int) -> None:
    """Longer or shorter by so many draw units than what so many windows show side by side."""
    form = SheetForm(paper("A4"), orientation="landscape")
    rail = rectangle(to_mm(form.window[0] + (windows - 1) * form.step[0] + beyond), 90)
    count, layout = settled_count(rail.strokes, form), first_plan(rail, form)
    assert count in (None, len(layout.cells))
    assert count is not None or 3 <= beyond <= 8


@settings(max_examples=100, deadline=None)
@given(outlines, papers, st.floats(0, 12), st.floats(5, 20))
@example(rectangle(460.0, 935.0), Paper("some", 180.0, 254.0), 0.0, 15.0)
def test_a_first_printing_never_takes_more_than_the_plain_grid(
    pattern: Pattern, sheet: Paper, margin: float, overlap: float
) -> None:
    form = SheetForm(sheet, margin_mm=margin, overlap_mm=overlap)
    planned = first_plan(pattern, form)
    assert len(planned.cells) <= best_grid(pattern, form)


@pytest.mark.parametrize("spare_mm", [0.01, 0.02, 0.1, 0.3, 0.5, 0.69, 0.72, 1.0])
def test_nor_where_the_part_only_just_fits(spare_mm: float) -> None:
    """A rectangle with less than a millimetre to spare on three by two sheets."""
    form = SheetForm(paper("A4"))
    width, height = (to_mm(n * s + form.overlap) - spare_mm for n, s in zip((3, 2), form.step, strict=True))
    pattern = rectangle(width, height)
    assert len(first_plan(pattern, form).cells) <= best_grid(pattern, form) <= 6


@settings(max_examples=60, deadline=None)
@given(outlines, papers)
def test_every_line_is_shown_and_no_sheet_is_spare(pattern: Pattern, sheet: Paper) -> None:
    """Counted with shapely: the windows cover the outline, and take any sheet away and they no longer do.

    Within half the width of the line of a window's edge a line is not whole, and may ask for the next sheet.
    """
    planned = first_plan(pattern, SheetForm(sheet))
    lattice = planned.layout.lattice
    outline = shapely.LineString(planned.layout.to_drawing.apply(pattern.outline.boundary.flattened(0.01)))
    windows = {cell: shapely.box(*lattice.window(cell)) for cell in planned.needed}
    assert outline.difference(shapely.union_all(list(windows.values()))).length < 1
    for cell in planned.needed[:12]:
        others = shapely.union_all([window for other, window in windows.items() if other != cell])
        assert outline.difference(others.buffer(-to_units(LINE_MM / 2))).length > 1, cell


@settings(max_examples=60, deadline=None)
@given(outlines, papers)
def test_the_sheets_hang_together_by_their_edges(pattern: Pattern, sheet: Paper) -> None:
    planned = first_plan(pattern, SheetForm(sheet))
    assert connected(set(planned.cells))
    assert not set(planned.needed) & set(planned.joining)


def connected(cells: set[tuple[int, int]]) -> bool:
    seen, waiting = set(), [next(iter(cells))]
    while waiting:
        c, r = waiting.pop()
        if (c, r) in cells and (c, r) not in seen:
            seen.add((c, r))
            waiting += [(c + 1, r), (c - 1, r), (c, r + 1), (c, r - 1)]
    return seen == cells


cell_sets = st.sets(st.tuples(st.integers(-4, 4), st.integers(-4, 4)), min_size=1, max_size=10)


@settings(max_examples=100, deadline=None)
@given(cell_sets)
@example({(0, 0), (4, 4)})
@example({(0, 0), (1, 1), (2, 2)})
def test_joining_sheets_make_one_group(cells: set[tuple[int, int]]) -> None:
    extra = joining_cells(cells)
    assert not extra & cells
    assert connected(cells | extra)
    if connected(cells):
        assert not extra


def test_two_groups_are_joined_by_the_fewest_sheets() -> None:
    assert len(joining_cells({(0, 0), (3, 2)})) == 4
    assert joining_cells({(0, 0), (0, 3)}) == {(0, 1), (0, 2)}


def test_a_ring_leaves_its_middle_out() -> None:
    """A round table top of 1.2 m: the sheets that would show nothing are not printed."""
    pattern = egg(1200, 1200)
    planned = first_plan(pattern, SheetForm(paper("A4")))
    assert len(planned.cells) < best_grid(pattern, SheetForm(paper("A4")))


def test_holes_are_kept_off_the_seams_where_they_can_be() -> None:
    """A hole near the middle of a panel that is two sheets wide and has a lot of slack."""
    shape = handmade.arched_panel(300, 240, 30, hole=15)
    layout = first_plan(shape.pattern, SheetForm(paper("A4"))).layout
    x, y = layout.to_drawing.point(*shape.pattern.hole_centres[0])
    x0, y0, x1, y1 = layout.lattice.core(layout.lattice.cell_at(x, y))
    assert min(x - x0, x1 - x, y - y0, y1 - y) >= layout.lattice.form.overlap / 2


@pytest.mark.parametrize("field", ["hole_centres", "joints", "tight_places"])
@pytest.mark.parametrize("name", ["letter", "A4", "A5"])
def test_seams_keep_away_from_single_places_where_they_can(field: str, name: str) -> None:
    """A board two sheets long with slack to move its seam: wherever one place of it may be, the seam gives way."""
    form = SheetForm(paper(name))
    across = to_mm(form.step[1])
    length = 1.5 * across
    plain = handmade.outlined(Curve.polyline([(0, 0), (length, 0), (length, 70), (0, 70)], closed=True))
    for x in np.linspace(0.2, 0.8, 13) * length:
        pattern = replace(plain, **{field: ((float(x), 35.0),)})
        layout = first_plan(pattern, form).layout
        score = score_of_layout(layout, pattern)
        assert (score.holes_on_seams, score.joints_on_seams, score.tight_on_seams) == (0, 0, 0)
        at = layout.to_drawing.point(float(x), 35.0)
        off = [(at[axis] - layout.lattice.phase[axis]) / layout.lattice.form.step[axis] for axis in (0, 1)]
        apart = [abs(v - round(v)) * to_mm(step) for v, step in zip(off, layout.lattice.form.step, strict=True)]
        assert min(apart) >= 10.0


def test_the_score_of_a_remembered_layout_is_that_of_the_choice() -> None:
    shape = handmade.arched_panel(700, 530, 40)
    form = SheetForm(paper("A4"))
    layout, lines = choose(shape.pattern, form)
    score = score_of_layout(layout, shape.pattern)
    assert score.sheets == len(first_plan(shape.pattern, form).cells)
    assert score.turned == layout.turn and len(lines.beziers)


@settings(max_examples=30, deadline=None)
@given(outlines, papers)
def test_the_best_phase_is_the_least_of_all_scores(pattern: Pattern, sheet: Paper) -> None:
    """The expected error is reckoned for few of them; that settles nothing else."""
    form = SheetForm(sheet)
    to_drawing = map_to_drawing(0, form.correction)
    sample, keep = Sample.of(lines_of(pattern.strokes, to_drawing)), Keep.of(pattern, to_drawing)
    low = sample.points.min(axis=0)
    columns, rows = (
        AxisScore.of(sample, keep, [int(low[axis]) - k * form.step[axis] // 4 for k in range(4)], form, axis)
        for axis in (0, 1)
    )
    every = [score_of(column, row, form, 0) for column in columns for row in rows]
    assert best_of(columns, rows, form, 0)[0] == min(every)


def test_of_layouts_alike_in_all_that_is_graver_the_surest_to_tape_is_chosen() -> None:
    """Four sheets in a block, or four that touch at corners only, however evenly their slack lies."""

    def axis(cells: list[int], uneven: float) -> AxisScore:
        return AxisScore(0, np.array(cells), 0, 0.0, 0, 0, 0, 0.0, uneven)

    flight, block, rows = axis([0, 1, 2, 3], 0.0), axis([0, 0, 1, 1], 50.0), axis([0, 1, 0, 1], 0.0)
    stairs = axis([0, 1, 2, 3], 0.0)
    score, column, _ = best_of([flight, block], [rows], SheetForm(paper("A4")), 0)
    assert column is block
    assert score.taping_error < score_of(flight, stairs, SheetForm(paper("A4")), 0).taping_error


def test_no_long_stretch_of_cut_line_runs_along_a_seam() -> None:
    shape = handmade.arched_panel(370, 530, 40)
    planned = first_plan(shape.pattern, SheetForm(paper("A4")))
    layout = planned.layout
    lines = lines_of(shape.pattern.strokes, layout.to_drawing)
    half = layout.lattice.form.overlap / 2
    for row in lines.beziers[lines.straight]:
        for axis in (0, 1):
            off = row[[0, 3], axis] - layout.lattice.phase[axis]
            near = np.abs(off - np.rint(off / layout.lattice.form.step[axis]) * layout.lattice.form.step[axis]) < half
            rim = min(planned.cells)[axis] if off[0] < layout.lattice.form.step[axis] / 2 else None
            level = np.ptp(row[:, axis]) < 1 and np.ptp(row[:, 1 - axis]) > 100
            assert not (level and near.all() and rim is None and shown_by_two(planned.cells, row, layout)), row


def shown_by_two(cells: list[tuple[int, int]], row: np.ndarray, layout: job.Layout) -> bool:
    middle = row.mean(axis=0)
    boxes = [layout.lattice.window(cell) for cell in cells]
    return sum(x0 < middle[0] < x1 and y0 < middle[1] < y1 for x0, y0, x1, y1 in boxes) > 1


def test_needed_cells_of_nothing_are_none() -> None:
    layout = first_plan(egg(100, 100), SheetForm(paper("A4"))).layout
    assert needed_cells(lines_of([], layout.to_drawing), layout.lattice) == set()


def test_a_job_of_more_than_2000_sheets_is_refused_with_the_count_unless_asked_for() -> None:
    pattern = handmade.outlined(
        Curve.polyline([(120.0 * k, 19_000.0 * (k % 2)) for k in range(40)], closed=True), "comb"
    )
    with pytest.raises(PatternError, match=r"would take \d,\d\d\d sheets.*--many"):
        job.make_sheets(handmade.order_of(pattern), SheetForm(paper("A5")))
    assert MOST_SHEETS == 2000
