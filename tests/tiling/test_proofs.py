"""Proof distances: what a rule must read once the sheets are taped."""

from __future__ import annotations

import itertools
import math

import fromfile
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from patterns.affine import Affine
from patterns.curve import Curve
from patterns.display import Display
from patterns.outline import Outline
from patterns.pattern import Pattern
from tiling import cover, job
from tiling.coverfacts import PatternOnCover, SheetOnCover
from tiling.form import SheetForm
from tiling.lattice import Lattice, cell_of
from tiling.paper import Paper
from tiling.printer import Printer
from tiling.proofs import proof_distances, tolerance_mm
from tiling.units import UNITS_PER_MM, to_units

METRIC, INCH = Display("mm"), Display("in")
A4 = SheetForm(Paper("A4", 210.0, 297.0))
LETTER = SheetForm(Paper("letter", 215.9, 279.4), grid_mm=3.175)
TO_DRAWING = Affine.scaling(UNITS_PER_MM)
PROOF_POINT_MM = (12.0, 12.0)

cells_of_a_grid = st.sets(st.tuples(st.integers(-3, 8), st.integers(-3, 8)), min_size=1, max_size=25)


def _on_cover(cells, form=A4, to_drawing=TO_DRAWING, other=()):
    square = Curve.polyline([(0, 0), (50, 0), (50, 50), (0, 50)], closed=True)
    pattern = Pattern("panel", "panel", "panel", Outline(square), (), (), (), 0.0)
    sheets = [SheetOnCover(cell, "print", "word") for cell in cells]
    sheets += [SheetOnCover(cell, state) for cell, state in other]
    return PatternOnCover(pattern, Lattice(form, (0, 0)), to_drawing, tuple(sheets))


def _block(columns, rows):
    return list(itertools.product(range(columns), range(rows)))


def test_a_pattern_on_one_sheet_has_none():
    assert proof_distances(_on_cover([(0, 0)]), METRIC) == ()


def test_a_full_grid_is_proved_along_across_and_from_corner_to_corner():
    proofs = proof_distances(_on_cover(_block(4, 3)), METRIC)
    assert [(p.from_sheet, p.to_sheet, p.seams) for p in proofs] == [("A1", "A4", 3), ("A1", "C1", 2), ("A1", "C4", 5)]


def test_one_row_is_proved_along_its_length_only():
    (proof,) = proof_distances(_on_cover([(0, 0), (1, 0), (2, 0)]), METRIC)
    assert (proof.from_sheet, proof.to_sheet) == ("A1", "A3")


@pytest.mark.parametrize(("form", "display", "division_mm"), [(A4, METRIC, 1.0), (LETTER, INCH, 25.4 / 8)])
def test_distances_along_rows_and_columns_are_whole_divisions_of_a_rule(form, display, division_mm):
    """A maker reads 716 mm or 21 3/4 in, no odd fraction."""
    along, up, _ = proof_distances(_on_cover(_block(5, 4), form), display)
    for proof in (along, up):
        off = proof.distance_mm - round(proof.distance_mm / division_mm) * division_mm
        assert abs(off) < 0.005  # of rounding the step to whole draw units
        assert not proof.text.startswith("~")


def test_the_words_are_in_the_files_own_unit_first():
    (metric,) = proof_distances(_on_cover([(0, 0), (1, 0)]), METRIC)
    (inch,) = proof_distances(_on_cover([(0, 0), (1, 0)], LETTER), INCH)
    step_mm = round(A4.step[0] / UNITS_PER_MM)
    assert metric.text.startswith(f"{step_mm} mm (") and metric.text.endswith(" in)")
    assert inch.text.split(" (")[0].endswith(" in") and inch.text.endswith(" mm)")


def test_sheets_that_are_not_taped_prove_nothing():
    other = [((4, 0), "left out"), ((5, 0), "discard")]
    (proof,) = proof_distances(_on_cover([(0, 0), (1, 0)], other=other), METRIC)
    assert proof.to_sheet == "A2"
    (joined,) = proof_distances(_on_cover([(0, 0), (1, 0)], other=[((2, 0), "join")]), METRIC)
    assert joined.to_sheet == "A3"


@settings(max_examples=80, deadline=None)
@given(cells_of_a_grid)
def test_each_distance_spans_as_many_seams_as_any_pair_of_sheets_can(cells):
    """Against every pair of sheets, one by one; of diagonals as long, it is one of those that are evenest both ways."""
    found = {"row": (0, 0), "column": (0, 0), "diagonal": (0, 0)}
    for (x0, y0), (x1, y1) in itertools.combinations(sorted(cells), 2):
        across, up = abs(x1 - x0), abs(y1 - y0)
        kind = "row" if up == 0 else "column" if across == 0 else "diagonal"
        found[kind] = max(found[kind], (across + up, min(across, up)))
    proofs = proof_distances(_on_cover(cells), METRIC)
    assert sorted(p.seams for p in proofs) == sorted(n for n, _ in found.values() if n)
    spans = [(cell_of(p.from_sheet), cell_of(p.to_sheet)) for p in proofs]
    assert max((min(abs(a - c), abs(b - d)) for (a, b), (c, d) in spans), default=0) == found["diagonal"][1]
    for proof in proofs:
        assert {cell_of(proof.from_sheet), cell_of(proof.to_sheet)} <= cells


@settings(max_examples=40, deadline=None)
@given(cells_of_a_grid, st.sampled_from([0.0, math.pi / 2]), st.floats(0.99, 1.01), st.floats(0.99, 1.01))
def test_a_distance_is_that_between_proof_points_on_the_part_whatever_the_turn_and_the_correction(cells, turn, sx, sy):
    to_drawing = Affine.scaling(UNITS_PER_MM) @ Affine.scaling(sx, sy) @ Affine.rotation(turn)
    on_cover = _on_cover(cells, to_drawing=to_drawing)
    back = to_drawing.inverse()
    for proof in proof_distances(on_cover, METRIC):
        points = []
        for name in (proof.from_sheet, proof.to_sheet):
            x, y, _, _ = on_cover.lattice.core(cell_of(name))
            points.append(back.point(x + to_units(PROOF_POINT_MM[0]), y + to_units(PROOF_POINT_MM[1])))
        assert proof.distance_mm == pytest.approx(math.dist(*points), abs=1e-6)


def test_the_tolerance_is_two_sigmas_in_whole_divisions() -> None:
    assert tolerance_mm(0.1, METRIC) == 0.5
    assert tolerance_mm(0.25, METRIC) == 0.5
    assert tolerance_mm(0.26, METRIC) == 1.0  # 0.52, rounded up
    assert tolerance_mm(0.39, INCH) == pytest.approx(25.4 / 32)  # 0.78 under 0.794
    assert tolerance_mm(0.41, INCH) == pytest.approx(25.4 / 16)


@given(st.floats(0.0, 50.0), st.sampled_from([METRIC, INCH, Display("in", inch_fraction=64), Display("cm")]))
def test_a_tolerance_is_never_finer_than_what_is_shown_and_never_tighter_than_two_sigmas(sigma, display):
    division = 25.4 / display.inch_fraction if display.units == "in" else display.metric_step_mm
    tolerance = tolerance_mm(sigma, display)
    assert tolerance >= division
    assert 2 * sigma - 1e-6 <= tolerance < max(2 * sigma + division, division * 1.001)
    assert not display.length(tolerance).startswith("~")


def test_a_measured_printer_makes_long_distances_surer() -> None:
    known = replace(A4, printer=Printer("study", scale_error=0.0004))
    (plain,), (corrected,) = (proof_distances(_on_cover(_block(8, 1), form), METRIC) for form in (A4, known))
    assert corrected.sigma_mm < plain.sigma_mm and corrected.tolerance_mm <= plain.tolerance_mm


def test_marks_that_had_to_give_way_are_reckoned_where_they_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    """On the cover of a job: the crest rail runs through the middle of its upright seams, so that their marks stand farther
    apart than usual and hold it straighter."""
    told, pages_of = [], cover.cover_pages
    monkeypatch.setattr(cover, "cover_pages", lambda facts: told.append(facts) or pages_of(facts))
    job.make_sheets(fromfile.demo_order("settle-crest.toml"), LETTER)
    (rail,) = told[0].patterns
    (known,), (blind,) = (proof_distances(one, INCH) for one in (rail, replace(rail, seams=None)))
    assert known.sigma_mm < blind.sigma_mm - 0.005
